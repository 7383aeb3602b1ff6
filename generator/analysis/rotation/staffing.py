"""Instructors: whether they suffice for the stations of a block, who can stay where they are all day, and who goes
where for a timetable of visits.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from generator.analysis.rotation.day import Breach, Day, Post, Stop, Timetable


def needed_at(day: Day, stop: Stop, learners: int) -> int:
    """Instructors that a station needs while so many learners are there."""
    ratio = day.learners_per_instructor
    return max(stop.instructors, -(-learners // ratio) if ratio else 0)


def most_needed(day: Day, stop: Stop) -> int:
    """Instructors that a station needs when its places are taken by the largest groups."""
    return needed_at(day, stop, sum(sorted(day.group_sizes, reverse=True)[: stop.units]))


def standing(day: Day) -> Mapping[str, tuple[str, ...]] | None:
    """Instructors by station who can stay there all day, enough for the largest groups; None when they do not suffice.

    With them the instructors put no limit on the visits, and nobody ever moves.
    """
    needs = {stop.id: most_needed(day, stop) for stop in day.stops if stop.visits}
    found = _match(day, needs)
    return None if found is None else {stop: tuple(sorted(names)) for stop, names in found.items()}


def staffer(day: Day) -> Callable[[Sequence[str]], bool] | None:
    """Whether instructors suffice for stations that are used in one block; None when the day plans none."""
    if not day.plans_instructors:
        return None
    needs = {stop.id: most_needed(day, stop) for stop in day.stops}
    known: dict[tuple[str, ...], bool] = {}

    def suffices(stops: Sequence[str]) -> bool:
        key = tuple(stops)
        if key not in known:
            known[key] = _match(day, {stop: needs[stop] for stop in key}) is not None
        return known[key]

    return suffices


def _match(day: Day, needs: Mapping[str, int], stays: Mapping[str, str] | None = None) -> dict[str, set[str]] | None:
    """Instructors for stations, each at one, by augmenting paths (Kuhn's method); None when a need stays unmet.

    `stays`: where instructors stand now, which they leave only for the sake of the others.
    """
    place: dict[str, str] = {}
    for name, stop in (stays or {}).items():
        if list(place.values()).count(stop) < needs.get(stop, 0):
            place[name] = stop
    able = {stop: [name for name, runs in day.instructors.items() if stop in runs] for stop in needs}

    def find(stop: str, tried: set[str]) -> bool:
        for name in able[stop]:
            if name not in tried:
                tried.add(name)
                if name not in place or find(place[name], tried):
                    place[name] = stop
                    return True
        return False

    for stop, many in needs.items():
        for _ in range(many - list(place.values()).count(stop)):
            if not find(stop, set()):
                return None
    found: dict[str, set[str]] = {stop: set() for stop in needs}
    for name, stop in place.items():
        found[stop].add(name)
    return found


def stand(day: Day, table: Timetable, places: Mapping[str, tuple[str, ...]]) -> Timetable:
    """The timetable with instructors who stay at their stations while these are in use."""
    stops = {stop.id: stop for stop in day.stops}
    learners: dict[tuple[int, str], int] = {}
    for visit in table.visits:
        key = (visit.block, visit.stop)
        learners[key] = learners.get(key, 0) + day.group_sizes[visit.group]
    posts = [
        Post(block=block, instructor=name, stop=stop)
        for (block, stop), many in learners.items()
        for name in places[stop][: needed_at(day, stops[stop], many)]
    ]
    return replace(table, posts=tuple(sorted(posts)))


def post_in_turn(day: Day, table: Timetable) -> Timetable:
    """The visits of a timetable with instructors, block by block: whoever can stay stays, and others step in.

    Every post is filled wherever the instructors suffice in each block; the moves are few but not the fewest.
    """
    stops = {stop.id: stop for stop in day.stops}
    places: dict[str, str] = {}
    posts: list[Post] = []
    for block in range(table.blocks):
        learners: dict[str, int] = {}
        for visit in table.visits:
            if visit.block == block and visit.stop in stops and visit.group in day.groups:
                learners[visit.stop] = learners.get(visit.stop, 0) + day.group_sizes[visit.group]
        needs = {stop: needed_at(day, stops[stop], many) for stop, many in learners.items()}
        chosen = _match(day, needs, places) or {}
        for stop, names in chosen.items():
            for name in names:
                places[name] = stop
                posts.append(Post(block=block, instructor=name, stop=stop))
    return replace(table, posts=tuple(sorted(posts)))


def moves_in(model: Any, day: Day, there: Mapping[tuple[str, str, int], Any], blocks: int) -> list[Any]:
    """One variable for each change of station that an instructor can make between their posts `there`."""
    moves = []
    for name, runs in day.instructors.items():
        places = sorted(stop for stop in runs if any((name, stop, block) in there for block in range(blocks)))
        # `stay` is where the instructor stands or last stood, so that a free block in between hides no move.
        stay = {(s, b): model.new_bool_var(f"stay {name} {s} {b}") for s in places for b in range(blocks)}
        for block in range(blocks) if places else ():
            model.add_exactly_one(stay[s, block] for s in places)
            for s in places:
                if (name, s, block) in there:
                    model.add_implication(there[name, s, block], stay[s, block])
                if block:
                    arrival = model.new_bool_var(f"arrive {name} {s} {block}")
                    model.add(stay[s, block] - stay[s, block - 1] <= arrival)
                    moves.append(arrival)
    return moves


def post(day: Day, table: Timetable, *, solver: Any, near: Timetable | None = None) -> tuple[Timetable, int, int]:
    """The visits of a timetable with instructors so that as few posts as can be stay empty, then with fewest moves.

    Among those, as many posts of an earlier timetable as can be are kept. Gives the timetable, its moves, and a bound
    on the moves.
    """
    from ortools.sat.python import cp_model  # noqa: PLC0415 - half a second that only a search should pay

    learners: dict[tuple[int, str], int] = {}
    for visit in table.visits:
        key = (visit.block, visit.stop)
        sizes = day.group_sizes
        learners[key] = learners.get(key, 0) + (sizes[visit.group] if visit.group < len(sizes) else 0)
    stops = {stop.id: stop for stop in day.stops}
    model = cp_model.CpModel()
    there = {
        (name, stop, block): model.new_bool_var(f"post {name} {stop} {block}")
        for name, runs in day.instructors.items()
        for block, stop in sorted(learners)
        if stop in runs
    }
    short = []
    for (block, stop), many in sorted(learners.items()):
        if stop in stops:
            need = needed_at(day, stops[stop], many)
            lacks = model.new_int_var(0, max(need, 0), f"short {stop} {block}")
            here = [there[name, stop, block] for name in day.instructors if (name, stop, block) in there]
            # Exactly as many as needed: a spare instructor is free, not posted.
            model.add(sum(here) + lacks == need)
            short.append(lacks)
    moves = moves_in(model, day, there, table.blocks)
    kept = []
    if near:
        kept = [there[p.instructor, p.stop, p.block] for p in near.posts if (p.instructor, p.stop, p.block) in there]
    posted = {(p.instructor, p.stop, p.block) for p in table.posts}
    for place, var in there.items() if posted else ():
        model.add_hint(var, place in posted)
    scale = len(kept) + 1
    model.minimize((sum(short) * (len(moves) + 1) + sum(moves)) * scale - sum(kept))
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return table, 0, 0
    posts = [Post(block=b, instructor=i, stop=s) for (i, s, b), var in there.items() if solver.value(var)]
    count = sum(solver.value(move) for move in moves)
    bound = count
    if status != cp_model.OPTIMAL:
        missing = sum(solver.value(lacks) for lacks in short) * (len(moves) + 1)
        bound = max(0, min(count, -(-int(solver.best_objective_bound) // scale) - missing))
    return replace(table, posts=tuple(sorted(posts))), count, bound


def unstaffed(day: Day, table: Timetable) -> tuple[Breach, ...]:
    """Blocks of a timetable for whose stations the instructors do not suffice, whoever goes where."""
    if not day.plans_instructors:
        return ()
    stops = {stop.id: stop for stop in day.stops}
    found = []
    for block in range(table.blocks):
        learners: dict[str, int] = {}
        for visit in table.visits:
            if visit.block == block and visit.stop in stops and visit.group in day.groups:
                learners[visit.stop] = learners.get(visit.stop, 0) + day.group_sizes[visit.group]
        needs = {stop: needed_at(day, stops[stop], many) for stop, many in learners.items()}
        if _match(day, needs) is None:
            what = f"the instructors who may run {', '.join(needs)} do not suffice in block {block + 1}"
            found.append(Breach(rule="instructor-present", what=what, block=block))
    return tuple(found)
