"""A first timetable, built block by block without a search: in each block the most pressing visits that fit together.

How pressing a visit is, is the room that is left: for the group, the blocks until it should be done less its visits
still to make; for the station, the blocks left less the visits still to be made at it and what must follow them. A
group or a station without room must be served in this block. The visits of a block are a cheapest flow from groups
through stations and trainers, so that as many groups as possible are served and the most pressing ones first.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from time import monotonic
from typing import NamedTuple

from generator.analysis.rotation.bounds import done_in_turn, followers, least_idle, most_finished
from generator.analysis.rotation.day import Before, Day, Stop, Timetable, Visit
from generator.analysis.rotation.measure import idle_blocks

PLANS = 3
"""Plans of when groups should be done, which the first tries take in turn."""
LOOKS = 9
"""Tries after which only the best plan goes on."""


def first_timetable(
    day: Day,
    blocks: int,
    *,
    until: float,
    staffed: Callable[[Sequence[str]], bool] | None = None,
    may_open: Callable[[str, int], bool] | None = None,
) -> Timetable | None:
    """A timetable of visits in so many blocks that keeps every rule about visits; None when no try got there.

    The one with least waiting of a number of tries that depends on the day's size, the first without chance.
    `staffed`: whether instructors suffice for these stations in one block. `may_open`: the blocks in which a station
    may be used.
    """
    if day.fixed:
        return None
    best: Timetable | None = None
    least, best_idle = least_idle(day, blocks), 0
    best_plan = 0
    # A search is better at small days, and cannot do much for large ones.
    size = len(day.group_sizes) * len(day.stops) * blocks
    for turn in range(min(300, max(24, size // 30))):
        if turn and monotonic() > until:
            break
        if turn >= LOOKS and best is None:
            break
        number = turn if turn < LOOKS else PLANS * (turn - LOOKS) + LOOKS + best_plan
        table = _build(day, blocks, random.Random(number), jitter=number, staffed=staffed, may_open=may_open)
        if table is None:
            continue
        idle = idle_blocks(day, table)
        if best is None or idle < best_idle:
            best, best_idle, best_plan = table, idle, number % PLANS
        if idle <= least:
            break
    return best


def _deadlines(day: Day, blocks: int) -> list[int]:
    """The block by which each group should be done: as many early as can be."""
    finished = most_finished(day, blocks)
    deadlines: list[int] = []
    for block, count in enumerate(finished, 1):
        deadlines += [block] * (count - len(deadlines))
    return deadlines[: len(day.group_sizes)] + [blocks] * (len(day.group_sizes) - len(deadlines))


def _build(
    day: Day,
    blocks: int,
    rng: random.Random,
    *,
    jitter: int,
    staffed: Callable[[Sequence[str]], bool] | None,
    may_open: Callable[[str, int], bool] | None,
) -> Timetable | None:
    stops = {stop.id: stop for stop in day.stops if stop.visits}
    after = followers(day)
    left = {group: {id: stop.visits for id, stop in stops.items()} for group in day.groups}
    need = {id: stop.visits * len(day.group_sizes) for id, stop in stops.items()}
    owed = {group: sum(mine.values()) for group, mine in left.items()}
    rules = {group: [rule for rule in day.before if rule.group == group] for group in day.groups}
    seen: dict[int, set[str]] = {group: set() for group in day.groups}
    deadlines = _deadlines(day, blocks)
    # Three plans take turns: as many done early as can be, in turn by as many as there are seats, and no hurry.
    if jitter % PLANS == 1:
        deadlines = [min(blocks, block) for block in done_in_turn(day)] or deadlines
    elif jitter % PLANS == 2:
        deadlines = [blocks] * len(deadlines)
    busy_with = {id: [s for s in stops.values() if s.trainer == stop.trainer] for id, stop in stops.items()}
    last_use = dict.fromkeys(stops, -(10**9))
    noise = {(g, s): rng.random() * 5 * min(jitter // PLANS, 4) for g in day.groups for s in stops}
    visits: list[Visit] = []
    for block in range(blocks):
        can_open = [
            stop for id, stop in stops.items()
            if need[id] and block >= stop.ready_from and block - last_use[id] > stop.rest
            and (may_open is None or may_open(id, block))
        ]  # fmt: skip
        edges: dict[tuple[int, str], float] = {}
        waves = _waves(left, deadlines)
        for stop in can_open:
            uses = -(-need[stop.id] // stop.units)
            shared = sum(need[other.id] * other.trainer_units for other in busy_with[stop.id])
            uses_of_trainer = -(-shared // max(1, day.trainers.get(stop.trainer, 1)))
            for group in day.groups:
                if not left[group][stop.id] or not _may(rules[group], stop.id, seen[group]):
                    continue
                behind = sum(left[group][s] for s in after[group][stop.id])
                room_group = deadlines[group] - block - owed[group]
                room_late = blocks - block - owed[group]
                room_stop = blocks - block - max(uses + (uses - 1) * stop.rest, uses_of_trainer) - behind
                room_wave = deadlines[group] - block - -(-waves[stop.id, deadlines[group]] // stop.units) - behind
                edges[group, stop.id] = (
                    2 * _press(room_group) + 4 * (_press(room_late) + _press(room_stop) + _press(room_wave))
                    + 10 * behind + noise[group, stop.id]
                )  # fmt: skip
        chosen = _flow(day, can_open, edges, staffed)
        for group, id in chosen:
            visits.append(Visit(block=block, group=group, stop=id))
            left[group][id] -= 1
            need[id] -= 1
            owed[group] -= 1
            last_use[id] = block
        for group, id in chosen:
            seen[group].add(id)
        if any(owed[group] > blocks - block - 1 for group in day.groups):
            return None
    return Timetable(visits=tuple(sorted(visits))) if not any(owed.values()) else None


def _waves(left: Mapping[int, Mapping[str, int]], deadlines: Sequence[int]) -> Counter[tuple[str, int]]:
    """Visits still to be made at each station by the groups that should be done by each deadline."""
    found: Counter[tuple[str, int]] = Counter()
    for deadline in set(deadlines):
        for group, mine in left.items():
            if deadlines[group] <= deadline:
                for stop, count in mine.items():
                    found[stop, deadline] += count
    return found


def _press(room: int) -> float:
    """How pressing it is to be served with so many blocks of room."""
    return 1000.0 if room <= 0 else 100.0 / (1 + room)


def _may(rules: Sequence[Before], stop: str, seen: set[str]) -> bool:
    return all(rule.then != stop or rule.first & seen for rule in rules)


def _flow(
    day: Day,
    can_open: Sequence[Stop],
    edges: Mapping[tuple[int, str], float],
    staffed: Callable[[Sequence[str]], bool] | None,
) -> list[tuple[int, str]]:
    """Visits of one block of the greatest worth in all, by cheapest augmenting paths (Bellman and Ford's)."""
    chosen: dict[int, str] = {}
    stops = {stop.id: stop for stop in can_open}
    load: Counter[str] = Counter()
    used: Counter[str] = Counter()
    at: dict[int, list[tuple[str, float]]] = {}
    queue: dict[str, list[int]] = {}
    for (group, id), worth in edges.items():
        at.setdefault(group, []).append((id, worth))
        queue.setdefault(id, []).append(group)
    for id, groups in queue.items():
        groups.sort(key=lambda group: edges[group, id])
    closed: set[str] = set()
    scene = _Block(day, stops, at, edges, queue)
    while True:
        path = _best_path(scene, chosen, load, used, closed)
        if path is None:
            return sorted(chosen.items())
        before = dict(chosen)
        chosen.update(path)
        load, used = _loads(stops, chosen)
        if staffed is not None and not staffed(sorted(load)):
            # Instructors do not reach: the station at the end of the path stays shut in this block.
            closed.add(path[-1][1])
            chosen = before
            load, used = _loads(stops, chosen)


def _loads(stops: Mapping[str, Stop], chosen: Mapping[int, str]) -> tuple[Counter[str], Counter[str]]:
    """Groups by station and units in use by trainer."""
    load, used = Counter(chosen.values()), Counter[str]()
    for id, many in load.items():
        used[stops[id].trainer] += many * stops[id].trainer_units
    return load, used


class _Block(NamedTuple):
    """What can be visited in a block: `at` lists (station, worth) by group, `queue` groups by station, best last."""

    day: Day
    stops: Mapping[str, Stop]
    at: Mapping[int, Sequence[tuple[str, float]]]
    worth: Mapping[tuple[int, str], float]
    queue: Mapping[str, list[int]]


def _best_path(
    scene: _Block, chosen: Mapping[int, str], load: Counter[str], used: Counter[str], closed: set[str]
) -> list[tuple[int, str]] | None:
    """The augmenting path of greatest worth from a group without a place to a station with room.

    Along it, each group takes the place of the next one, who moves on. The last station has room of its own and on
    its trainer; a station whose trainer is full may be reached only by taking a place at a station of that trainer.
    """
    day, stops, at, worth, queue = scene
    best: dict[str, float] = {}
    way: dict[str, tuple[int, str | None]] = {}
    here: dict[str, list[int]] = {}
    for group, id in chosen.items():
        here.setdefault(id, []).append(group)
    for id, waiting in queue.items():
        # Who has a place keeps one, so the front of the queue only ever moves on.
        while waiting and waiting[-1] in chosen:
            waiting.pop()
        if waiting:
            best[id], way[id] = worth[waiting[-1], id], (waiting[-1], None)
    todo = list(best)
    for _ in range(len(stops) + 1):
        again: list[str] = []
        for id in dict.fromkeys(todo):
            for group in here.get(id, ()):
                for other, value in at[group]:
                    gain = best[id] + value - worth[group, id]
                    if other != id and gain > best.get(other, -1e18) + 1e-9 and not _on_way(way, id, other, group):
                        best[other], way[other] = gain, (group, id)
                        again.append(other)
        if not again:
            break
        todo = again
    ends = [id for id in best if _has_room(day, stops[id], load, used) and id not in closed]
    if not ends:
        return None
    end = max(ends, key=lambda id: (best[id], id))
    path: list[tuple[int, str]] = []
    spot: str | None = end
    while spot is not None:
        group, source = way[spot]
        path.append((group, spot))
        spot = source
    return path[::-1]


def _on_way(way: Mapping[str, tuple[int, str | None]], spot: str | None, target: str, group: int) -> bool:
    """Whether the way to a station passes the target or moves the group already."""
    while spot is not None:
        if spot == target or way[spot][0] == group:
            return True
        spot = way[spot][1]
    return False


def _has_room(day: Day, stop: Stop, load: Counter[str], used: Counter[str]) -> bool:
    return load[stop.id] < stop.units and used[stop.trainer] + stop.trainer_units <= day.trainers.get(stop.trainer, 0)
