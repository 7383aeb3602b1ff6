"""A timetable in rounds: as many groups as there are seats take their turn without a pause, and the next ones follow in
the same pattern. Where the last round is not full, a formula gives the end of the day (`by_formula`).

A seat is room for one group in each block (`bounds.seats_of`). A group that has a seat keeps it for all its visits, so
the seats alone say when everyone is done, and that is the least waiting there is. What is left to find is the pattern
of one round, in which the end of one round and the start of the next share each station. It is small however many
groups there are, so a solver finds it at once where a search over the whole day does not end.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import product
from typing import Any

from generator.analysis.rotation.bounds import earliest, seats_of
from generator.analysis.rotation.day import Day, Stop, Timetable, Visit

Var = Any
"""A variable of the solver, whose own types are not annotated."""
At = Mapping[tuple[int, str, int], Var]
"""Whether the group on a seat is at a station in a block."""


def takes_rounds(day: Day) -> bool:
    """Whether a day may go in rounds: two or more, all full, of groups that are alike, with no visit held in place."""
    seats = seats_of(day)
    rules = [frozenset((rule.first, rule.then) for rule in day.before if rule.group == group) for group in day.groups]
    return (
        bool(seats)
        and len(day.groups) % len(seats) == 0
        and len(day.groups) >= 2 * len(seats)
        and len(set(rules)) <= 1
        and not day.fixed
        and not day.plans_instructors
        and not any(stop.rest for stop in day.stops)
    )


def in_rounds(day: Day, solver: Any) -> Timetable | None:
    """A timetable in full rounds, of visits alone, or None when the solver found no pattern. Only if `takes_rounds`."""
    from ortools.sat.python import cp_model  # noqa: PLC0415 - half a second that only a search should pay

    seats, length = seats_of(day), day.visits_of_a_group
    model = cp_model.CpModel()
    at = _pattern(model, day, seats)
    _share(model, day, at, length)
    if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    pattern = [place for place, var in at.items() if solver.value(var)]
    rounds = len(day.groups) // len(seats)
    return Timetable(
        visits=tuple(
            sorted(
                Visit(block=block + turn * length, group=seat + turn * len(seats), stop=stop)
                for turn, (seat, stop, block) in product(range(rounds), pattern)
            )
        )
    )


def takes_formula(day: Day) -> bool:
    """Whether groups and stations are all that matters: as many groups as stations or more, each station for one group
    with a trainer of its own, and no order, set-up, rest or visit held in place.
    """
    trainers = {stop.trainer for stop in day.stops}
    return (
        len(day.groups) >= len(day.stops) > 0
        and len(trainers) == len(day.stops)
        and all(
            stop.units == stop.visits == 1
            and stop.ready_from == stop.rest == 0
            and stop.trainer_units <= day.trainers.get(stop.trainer, 0)
            for stop in day.stops
        )
        and not day.before
        and not day.fixed
        and not day.plans_instructors
    )


def by_formula(day: Day) -> Timetable:
    """A timetable with every station in use in every block, and as many groups as can be done after each round.

    With m stations and n = q m + r groups, all rounds but the last full one are cyclic Latin squares. The last m + r
    groups have m + r blocks. In the first m of them r early groups make all their visits on rows 0 to r - 1 of a cyclic
    Latin square, where row i is at station i + t in block t (mod m). Late group j, of m, takes the cells of rows
    i = r to m - 1 in the blocks j + f(i), so it is at the stations j + i + f(i). Both f and i + f(i) take no value
    twice: f(i) = i for odd m, and for even m the upper half is moved on by one, which meets row 0 alone, and that row
    is an early group's. The r stations that group j has not met are j + c for r fixed c, so in each of the last r
    blocks one c serves all m groups at different stations. Only if `takes_formula`.
    """
    ids = [stop.id for stop in day.stops]
    m = len(ids)
    full, r = divmod(len(day.groups), m)
    plain = full - (1 if r else 0)
    visits = [(turn * m + t, turn * m + i, i + t) for turn, i, t in product(range(plain), range(m), range(m))]
    if r:
        start, late = plain * m, plain * m + r
        shift = {i: i + (1 if m % 2 == 0 and i >= m // 2 else 0) for i in range(r, m)}
        unmet = sorted(set(range(m)) - {(i + f) % m for i, f in shift.items()})
        visits += [(start + t, start + i, i + t) for i, t in product(range(r), range(m))]
        visits += [(start + (j + f) % m, late + j, j + i + f) for j, (i, f) in product(range(m), shift.items())]
        visits += [(start + m + k, late + j, j + c) for j, (k, c) in product(range(m), enumerate(unmet))]
    return Timetable(visits=tuple(sorted(Visit(block=b, group=g, stop=ids[s % m]) for b, g, s in visits)))


def _pattern(model: Any, day: Day, seats: tuple[int, ...]) -> At:
    """One group a seat from the block in which the seat is there, at a station in each block, honest order kept."""
    length, first = day.visits_of_a_group, earliest(day)
    rules = [rule for rule in day.before if rule.group == 0]
    at: dict[tuple[int, str, int], Var] = {}
    for seat, start in enumerate(seats):
        blocks = range(start, start + length)
        for stop, block in product(day.stops, blocks):
            if block >= min(first[group][stop.id] for group in day.groups):
                at[seat, stop.id, block] = model.new_bool_var("")
        for block in blocks:
            model.add_exactly_one(at[seat, stop.id, block] for stop in day.stops if (seat, stop.id, block) in at)
        for stop in day.stops:
            model.add(sum(at[seat, stop.id, block] for block in blocks if (seat, stop.id, block) in at) == stop.visits)
        for rule, block in product(rules, blocks):
            if (seat, rule.then, block) in at:
                earlier = [at[seat, id, b] for id in rule.first for b in range(start, block) if (seat, id, b) in at]
                model.add_bool_or(earlier).only_enforce_if(at[seat, rule.then, block])
    return at


def _share(model: Any, day: Day, at: At, length: int) -> None:
    """Stations and trainers hold who is there, whichever round they are in: blocks a round apart are one."""
    for turn in range(length):
        here: dict[str, list[Var]] = {}
        for (_, id, block), var in at.items():
            if block % length == turn:
                here.setdefault(id, []).append(var)
        for stop in day.stops:
            model.add(sum(here.get(stop.id, [])) <= stop.units)
        for trainer, units in day.trainers.items():
            users: list[Stop] = [stop for stop in day.stops if stop.trainer == trainer]
            model.add(sum(stop.trainer_units * var for stop in users for var in here.get(stop.id, [])) <= units)
