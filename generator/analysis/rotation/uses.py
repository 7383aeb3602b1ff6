"""A closer bound on waiting where groups queue for one trainer: by when each of a group's last uses must be over."""

from __future__ import annotations

from itertools import combinations
from typing import Any

from generator.analysis.rotation.bounds import followers
from generator.analysis.rotation.day import Day

MOST = 8
"""Stations of one trainer that are looked at; the argument holds for any of them, and all choices are tried."""


def least_idle_by_uses(day: Day, blocks: int, solver: Any) -> int:
    """Group-blocks of waiting that any timetable of so many blocks has, by the uses of each trainer; at least 0.

    Let a group visit k stations of a trainer, each once. Take its last j visits there: whichever they are, after the
    first of them come the other j - 1 and all that must follow any of them. So that visit is followed by a number of
    the group's visits that is known (`_behind`), each in a block of its own. A group that is done after block c has
    therefore made its visits by c - 1 - behind(j) (j = 1 to k), and visits that are due by a block must all fit into
    the units of the trainer up to it. With F(c) the groups that are done after c blocks this says, for every block d,
    that the sum over j of F(d + behind(j)) is at most units times d. The identities of the groups are gone, so the
    least sum of finishing blocks is a small count, which the solver bounds. A search that is cut short still bounds it.
    """
    from ortools.sat.python import cp_model  # noqa: PLC0415 - half a second that only a search should pay

    groups, visits = len(day.group_sizes), day.visits_of_a_group
    model = cp_model.CpModel()
    done = [model.new_int_var(0, groups if c >= visits else 0, "") for c in range(blocks)]
    done.append(model.new_constant(groups))
    for c in range(blocks):
        model.add(done[c] <= done[c + 1])
    asks = False
    for trainer, units in day.trainers.items():
        behind = _behind(day, trainer)
        if len(behind) > 1:
            asks = True
            for d in range(blocks):
                model.add(sum(done[min(blocks, d + late)] for late in behind) <= units * d)
    if not asks:
        return 0
    # A group that is done after c blocks is busy in blocks 0 to c - 1.
    model.minimize(groups * blocks - sum(done[:blocks]))
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return 0
    busy: int = round(solver.best_objective_bound)
    return max(0, busy - groups * visits)


def _behind(day: Day, trainer: str) -> tuple[int, ...]:
    """For j = 1, 2, ...: how many of its visits a group has still to make after the last but j - 1 use of a trainer.

    The least over all groups and over all choices of j of the trainer's stations. Stations of several visits are left
    out; their uses are more, so the bound stays a bound.
    """
    stops = {stop.id: stop for stop in day.stops}
    users = [stop.id for stop in day.stops if stop.trainer == trainer and stop.visits == 1 and stop.trainer_units >= 1]
    users = users[:MOST]
    after = followers(day)
    return tuple(
        min(
            sum(stops[id].visits for id in set(last).union(*(after[group][id] for id in last))) - 1
            for group in day.groups for last in combinations(users, j)
        )
        for j in range(1, len(users) + 1)
    )  # fmt: skip
