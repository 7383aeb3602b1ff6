"""What no timetable of a day can beat, worked out without a search: blocks, waiting, the costliest trainer's blocks.

A timetable that meets these is proved best, whoever found it.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from heapq import heapify, heapreplace
from itertools import accumulate

from generator.analysis.rotation.day import Day, bound


def least_blocks(day: Day) -> int:
    """`bound`, and the precedence: what must come before and after a station for every group stretches the day.

    A station cannot open before the first group may come, and after its last group leaves, that group still has to
    visit what must follow.
    """
    least = [bound(day)]
    for work in _works(day):
        if work.per_block:
            uses = -(-work.need * len(day.group_sizes) // work.per_block)
            least.append(work.head + uses + (uses - 1) * work.rest + work.tail)
    return max(least)


def least_idle(day: Day, blocks: int) -> int:
    """Group-blocks of waiting that any timetable of so many blocks has.

    After b blocks no more groups can have finished than the visits made by then allow: each station, trainer and the
    instructors together have made at most b blocks' worth of them, and each finished group needed its share. What is
    left of the visits must fit into the blocks that are left, one visit for each group that is still busy.
    """
    groups, visits = len(day.group_sizes), day.visits_of_a_group
    busy = groups * blocks - sum(most_finished(day, blocks)[:-1])
    return max(0, busy - groups * visits, sum(done_in_turn(day)) - groups * visits)


def done_in_turn(day: Day) -> tuple[int, ...]:
    """When the groups are done at the earliest, all of them together, if each takes a seat and keeps it until then.

    For groups with equally many visits this has the smallest sum: an interruption does not help on equal machines
    (McNaughton 1959), also when some start late (Sanlaville and Schmidt 1998; both from memory).
    """
    if not day.group_sizes:
        return ()
    seats = list(seats_of(day))
    if not seats:
        return ()
    heapify(seats)
    done = []
    for _ in day.groups:
        done.append(seats[0] + day.visits_of_a_group)
        heapreplace(seats, done[-1])
    return tuple(done)


def seats_of(day: Day) -> tuple[int, ...]:
    """The first block of each seat, the earliest first.

    A seat is room for one group in each block; there are more of them once stations are ready and techniques earned.
    """
    if not day.group_sizes:
        return ()
    before = earliest(day)
    heads = {stop.id: min(before[group][stop.id] for group in day.groups) for stop in day.stops}
    seats: list[int] = []
    for block in range(max(heads.values(), default=0) + 1):
        usable = replace(day, stops=tuple(stop for stop in day.stops if heads[stop.id] <= block))
        seats += [block] * (_most_at_once(usable) - len(seats))
    return tuple(seats)


def least_costly(day: Day, blocks: int) -> int:
    """Blocks in which the costliest trainer is switched on, at least, in a day of so many blocks.

    Its own visits need so many; and in the other blocks only so many groups can be at work as the rest holds.
    """
    stops = [stop for stop in day.stops if stop.trainer == day.costliest and stop.visits]
    groups = len(day.group_sizes)
    if not stops or not groups:
        return 0
    least = [-(-groups * stop.visits // max(stop.units, 1)) for stop in stops]
    units = day.trainers.get(day.costliest or "", 0)
    if units:
        least.append(-(-sum(groups * stop.visits * stop.trainer_units for stop in stops) // units))
    rest = replace(day, stops=tuple(stop for stop in day.stops if stop not in stops))
    on, off = _most_at_once(day), _most_at_once(rest)
    over = groups * day.visits_of_a_group - blocks * off
    if on > off and over > 0:
        least.append(-(-over // (on - off)))
    return min(blocks, max(least))


def most_finished(day: Day, blocks: int) -> tuple[int, ...]:
    """How many groups may have finished after each block, by the same reasoning as `least_idle`."""
    groups, visits = len(day.group_sizes), day.visits_of_a_group
    everywhere, works = _most_at_once(day), _works(day)
    found: list[int] = []
    for block in range(1, blocks + 1):
        finished = groups if block >= visits else 0
        for work in works:
            finished = min(finished, work.per_block * max(0, block - work.head - work.tail) // work.need)
        left = groups * visits - everywhere * block
        if left > 0 and block < blocks:
            finished = min(finished, groups + left // -(blocks - block))
        found.append(max(0, finished))
    # No more can have finished by one block than by a later one.
    return tuple(reversed(list(accumulate(reversed(found), min))))


def _visits(day: Day, stop: str) -> int:
    return next((one.visits for one in day.stops if one.id == stop), 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Work:
    """Something that every group needs: how much of it a group needs and how much there is in a block.

    `head`: blocks before its first use. `tail`: blocks that a group still has to work after its last use. `rest`:
    blocks without it after each use.
    """

    need: int
    per_block: int
    head: int = 0
    tail: int = 0
    rest: int = 0


def _works(day: Day) -> list[_Work]:
    """Each station, each trainer, and the instructors together."""
    if not day.group_sizes:
        return []
    before, after = earliest(day), followers(day)
    heads = {stop.id: min(before[group][stop.id] for group in day.groups) for stop in day.stops}
    # Only the first of several visits must come before what follows, so the last of them may be a group's last.
    tails = {stop.id: min(sum(_visits(day, s) for s in after[group][stop.id]) for group in day.groups)
             if stop.visits == 1 else 0 for stop in day.stops}  # fmt: skip
    found = []
    for stop in day.stops:
        if stop.visits:
            head, tail = heads[stop.id], tails[stop.id]
            found.append(_Work(need=stop.visits, per_block=stop.units, head=head, tail=tail, rest=stop.rest))
    for trainer, units in day.trainers.items():
        users = [stop for stop in day.stops if stop.trainer == trainer and stop.visits]
        need = sum(stop.visits * stop.trainer_units for stop in users)
        if need:
            head, tail = min(heads[stop.id] for stop in users), min(tails[stop.id] for stop in users)
            found.append(_Work(need=need, per_block=units, head=head, tail=tail))
    if day.plans_instructors and day.visits_of_a_group:
        found.append(_Work(need=day.visits_of_a_group, per_block=_most_staffed(day)))
    return found


def _most_staffed(day: Day) -> int:
    """Groups that the instructors can serve in one block."""
    left, groups = len(day.instructors), 0
    used = [stop for stop in day.stops if stop.visits]
    for stop in sorted(used, key=lambda stop: stop.instructors / max(stop.units, 1)):
        if stop.instructors <= left:
            left -= stop.instructors
            groups += stop.units
        else:
            # A part of a station counts whole, so that this never promises too little.
            return groups + (stop.units if left else 0)
    return groups


def _most_at_once(day: Day) -> int:
    """Groups that can be at work in one block."""
    seats = sum(stop.units for stop in day.stops if stop.visits)
    per_trainer = 0
    for trainer, units in day.trainers.items():
        users = [stop for stop in day.stops if stop.trainer == trainer and stop.visits]
        if users:
            each = max(1, min(stop.trainer_units for stop in users))
            per_trainer += min(units // each, sum(stop.units for stop in users))
    most = min(len(day.group_sizes), seats, per_trainer)
    return min(most, _most_staffed(day)) if day.plans_instructors else most


def earliest(day: Day) -> Mapping[int, Mapping[str, int]]:
    """The first block in which each group may visit each station, by what must come before it."""
    found: dict[int, dict[str, int]] = {}
    for group in day.groups:
        mine = [rule for rule in day.before if rule.group == group]
        times = {stop.id: stop.ready_from for stop in day.stops}
        for _ in day.stops:
            for rule in mine:
                first = min((times[stop] for stop in rule.first if stop in times), default=0)
                if rule.then in times:
                    times[rule.then] = max(times[rule.then], first + 1)
        found[group] = times
    return found


def followers(day: Day) -> Mapping[int, Mapping[str, frozenset[str]]]:
    """The stations that each group can visit only after each station."""
    found: dict[int, dict[str, frozenset[str]]] = {}
    known = {stop.id for stop in day.stops}
    for group in day.groups:
        next_up: dict[str, set[str]] = {stop: set() for stop in known}
        for rule in day.before:
            if rule.group == group and len(rule.first) == 1 and rule.then in known:
                (first,) = rule.first
                if first in known:
                    next_up[first].add(rule.then)

        found[group] = {stop: _reachable(next_up, stop) for stop in known}
    return found


def _reachable(next_up: Mapping[str, Collection[str]], start: str) -> frozenset[str]:
    seen: set[str] = set()
    todo = list(next_up[start])
    while todo:
        stop = todo.pop()
        if stop not in seen:
            seen.add(stop)
            todo += next_up[stop]
    return frozenset(seen - {start})
