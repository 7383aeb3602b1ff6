"""Where few instructors run many stations: first who stands where in which block, then the visits.

The groups are left out of the first question, which makes it small. So its fewest moves are a bound for the whole
day, and a timetable of visits that fits what it answers has the fewest moves there can be.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from generator.analysis.rotation.bounds import most_finished
from generator.analysis.rotation.day import Day, Post
from generator.analysis.rotation.staffing import moves_in, needed_at


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """Posts of a day, the (station, block) pairs that they let open, and a bound on the moves of any timetable."""

    posts: tuple[Post, ...]
    open: frozenset[tuple[str, int]]
    moves: int
    least_moves: int


Keyed = Mapping[tuple[str, int], Any]
"""Variables by station and block."""
Shares = tuple[tuple[str, str], ...]
"""Pairs of instructor and station: who ever runs what."""


def shares_of(day: Day, blocks: int, solver: Any) -> tuple[Shares, int]:
    """The fewest pairs of instructor and station that can carry the day's work, and a bound on moves.

    Blocks of work are shared out without saying when. An instructor who runs k stations moves k - 1 times at least.
    """
    from ortools.sat.python import cp_model  # noqa: PLC0415

    model = cp_model.CpModel()
    groups = len(day.group_sizes)
    smallest = min(day.group_sizes, default=0)
    pairs, work = {}, {}
    for stop in day.stops:
        for name, runs in day.instructors.items():
            if stop.id in runs and stop.visits:
                pairs[name, stop.id] = model.new_bool_var(f"runs {name} {stop.id}")
                work[name, stop.id] = model.new_int_var(0, blocks, f"work {name} {stop.id}")
                model.add(work[name, stop.id] <= blocks * pairs[name, stop.id])
                model.add(work[name, stop.id] >= pairs[name, stop.id])
        if stop.visits and stop.units:
            need = needed_at(day, stop, smallest) * -(-groups * stop.visits // stop.units)
            model.add(sum(w for (_, s), w in work.items() if s == stop.id) >= need)
    idle = []
    alike: dict[frozenset[str], list[Any]] = {}
    for name, runs in day.instructors.items():
        own = [pair for (i, _), pair in pairs.items() if i == name]
        model.add(sum(w for (i, _), w in work.items() if i == name) <= blocks)
        free = model.new_bool_var(f"free {name}")
        model.add(sum(own) + free >= 1)
        idle.append(free)
        alike.setdefault(runs, []).append(sum(own))
    for same in alike.values():
        for one, other in pairwise(same):
            model.add(one >= other)
    # Each component of stations and instructors that share work has one pair less than it has members.
    model.minimize(sum(pairs.values()) + sum(idle))
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return (), 0
    chosen = tuple(key for key, pair in pairs.items() if solver.value(pair))
    return chosen, max(0, round(solver.best_objective_bound) - len(day.instructors))


def pattern_of(
    day: Day, blocks: int, solver: Any, *, is_hurried: bool, shares: Shares = (), least: int = 0
) -> Pattern | None:
    """A pattern with fewest moves; None when there is none or none was found.

    `is_hurried`: also leave room for groups to finish as early as can be. `shares`: nobody stands elsewhere. Only
    without both are the fewest moves a bound for every timetable. `least`: a bound on the moves that is known.
    """
    from ortools.sat.python import cp_model  # noqa: PLC0415

    model = cp_model.CpModel()
    groups = len(day.group_sizes)
    stops = [stop for stop in day.stops if stop.visits]
    many = {
        (s.id, b): model.new_int_var(0, min(s.units, groups), f"many {s.id} {b}") for s in stops for b in range(blocks)
    }
    on = {(s.id, b): model.new_bool_var(f"on {s.id} {b}") for s in stops for b in range(blocks)}
    there = {
        (name, stop, block): model.new_bool_var(f"post {name} {stop} {block}")
        for name, runs in day.instructors.items() for stop in sorted(runs) for block in range(blocks)
        if not shares or (name, stop) in shares
    }  # fmt: skip
    _state_stations(model, day, many, on, there)
    finished = most_finished(day, blocks)
    for block in range(blocks):
        most = groups - (finished[block - 1] if block and is_hurried else 0)
        model.add(sum(many[stop.id, block] for stop in stops) <= most)
        for trainer, units in day.trainers.items():
            users = [stop for stop in stops if stop.trainer == trainer]
            if users:
                model.add(sum(stop.trainer_units * many[stop.id, block] for stop in users) <= units)
        for name, runs in day.instructors.items():
            here = [there[key] for stop in sorted(runs) if (key := (name, stop, block)) in there]
            if here:
                model.add(sum(here) <= 1)
    moves = moves_in(model, day, there, blocks)
    if moves:
        model.add(sum(moves) >= least)
    model.minimize(sum(moves) if moves else 0)
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    is_open = frozenset(key for key, var in on.items() if solver.value(var))
    posts = tuple(
        sorted(Post(block=b, instructor=i, stop=s) for (i, s, b), var in there.items()
               if solver.value(var) and (s, b) in is_open)
    )  # fmt: skip
    least_moves = max(0, round(solver.best_objective_bound))
    return Pattern(posts=posts, open=is_open, moves=round(solver.objective_value), least_moves=least_moves)


def _state_stations(model: Any, day: Day, many: Keyed, on: Keyed, there: Mapping[tuple[str, str, int], Any]) -> None:
    """All visits are made, where a station is ready and staffed."""
    groups, blocks = len(day.group_sizes), 1 + max(block for _, block in on)
    stops = [stop for stop in day.stops if stop.visits]
    smallest = min(day.group_sizes, default=0)
    for stop in stops:
        model.add(sum(many[stop.id, block] for block in range(blocks)) == groups * stop.visits)
        for block in range(blocks):
            used = on[stop.id, block]
            model.add(many[stop.id, block] <= stop.units * used)
            model.add(many[stop.id, block] >= used)
            if block < stop.ready_from:
                model.add(used == 0)
            for later in range(block + 1, min(block + 1 + stop.rest, blocks)):
                model.add(used + on[stop.id, later] <= 1)
            here = sum(there[name, stop.id, block] for name in day.instructors if (name, stop.id, block) in there)
            model.add(here >= max(stop.instructors, needed_at(day, stop, smallest)) * used)
            if day.learners_per_instructor:
                model.add(day.learners_per_instructor * here >= smallest * many[stop.id, block])
