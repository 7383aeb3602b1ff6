"""The least choice of places that meets every set: minimum weighted set cover, exact.

Least by price, then by number of places, then with the places that stand first. A small question is searched here;
what takes that search too long goes to CP-SAT, which loads for half a second and gives the same answer.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

Chosen = tuple[int, ...]

MOST_STEPS = 5_000
"""Steps of the search, some hundredths of a second, before the solver is asked instead."""
_CHUNK = 50
"""Places told apart in one go when ties are broken, one bit each: the solver counts in 64 bits."""


def least_cover(prices: Sequence[int], sets: Sequence[Chosen], not_all_of: Chosen | None) -> tuple[Chosen, bool] | None:
    """The least cover, and whether that was proved; None when there is none.

    Prices are whole and not negative. With `not_all_of`, a choice that holds all of these places does not count.
    """
    costs = [price * (len(prices) + 1) + 1 for price in prices]
    try:
        found = by_search(costs, sets, not_all_of)
    except TooLongError:
        return by_solver(costs, sets, not_all_of)
    return None if found is None else (found, True)


class TooLongError(Exception):
    """The search was given up."""


def by_search(costs: Sequence[int], sets: Sequence[Chosen], not_all_of: Chosen | None) -> Chosen | None:
    """The least cover, found by taking each place of the narrowest unmet set in turn. Costs are positive.

    TooLongError after `MOST_STEPS` choices.
    """
    # A set that holds another is met with it.
    needs = [set(one) for one in sets if not any(set(other) < set(one) for other in sets)]
    refused = None if not_all_of is None else set(not_all_of)
    best: tuple[int, list[int]] | None = None
    steps = 0

    def search(taken: set[int], barred: set[int], cost: int) -> None:
        nonlocal best, steps
        steps += 1
        if steps > MOST_STEPS:
            raise TooLongError
        unmet = [need - barred for need in needs if need.isdisjoint(taken)]
        if not unmet:
            # Of two choices that cost the same, the one that holds the first place in which they differ.
            reached = cost, [-(place in taken) for place in range(len(costs))]
            if (refused is None or not refused <= taken) and (best is None or reached < best):
                best = reached
            return
        narrowest = min(unmet, key=len)
        if not narrowest or (
            best is not None and cost + max(min(costs[place] for place in one) for one in unmet) > best[0]
        ):
            return
        now_barred = set(barred)
        for place in sorted(narrowest, key=lambda place: (costs[place], place)):
            search(taken | {place}, now_barred, cost + costs[place])
            now_barred.add(place)

    search(set(), set(), 0)
    return None if best is None else tuple(place for place, is_out in enumerate(best[1]) if is_out)


def by_solver(costs: Sequence[int], sets: Sequence[Chosen], not_all_of: Chosen | None) -> tuple[Chosen, bool] | None:
    """The least cover and whether that was proved, by CP-SAT with one worker and a fixed seed."""
    from ortools.sat.python import cp_model  # noqa: PLC0415 - takes half a second, and most labs never need it

    model: Any = cp_model.CpModel()
    takes = [model.new_bool_var("") for _ in costs]
    for places in sets:
        model.add_bool_or([takes[place] for place in places])
    if not_all_of is not None:
        model.add(sum(takes[place] for place in not_all_of) <= len(not_all_of) - 1)
    solver: Any = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.max_deterministic_time = 30.0
    aim = sum(cost * take for cost, take in zip(costs, takes, strict=True))
    model.minimize(aim)
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    chosen = [bool(solver.value(take)) for take in takes]
    if status != cp_model.OPTIMAL:
        return tuple(place for place, is_in in enumerate(chosen) if is_in), False
    # Among equals take the kinds that stand first: most of the earliest places, chunk by chunk, each held for the next.
    model.add(aim == sum(cost for cost, is_in in zip(costs, chosen, strict=True) if is_in))
    is_proved = True
    for start in range(0, len(takes), _CHUNK):
        chunk = takes[start : start + _CHUNK]
        model.maximize(sum(take * 2 ** (len(chunk) - 1 - place) for place, take in enumerate(chunk)))
        status = solver.solve(model)
        if status != cp_model.OPTIMAL:
            is_proved = False
            break
        chosen = [bool(solver.value(take)) for take in takes]
        for place, take in enumerate(chunk):
            model.add(take == int(chosen[start + place]))
    return tuple(place for place, is_in in enumerate(chosen) if is_in), is_proved
