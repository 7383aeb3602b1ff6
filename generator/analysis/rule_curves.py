"""Curves of what a rule lets through: the chance of clearance against the true chance of a clean attempt.

Exact for attempts that do not depend on each other (Feller, vol. 1, ch. XIII.7; see `statistics.runs`). Days apart and
the window of a rule are left out: they change when attempts are made, not the chance of each.
"""

from __future__ import annotations

from dataclasses import dataclass

from generator.analysis.statistics.runs import run_chance

GRID = tuple(number / 50 for number in range(51))
"""True chances of a clean attempt."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleCurve:
    """Chance of clearance within some attempts, at each point of `GRID`."""

    within: int
    chances: tuple[float, ...]


def rule_curves(run: int, within: tuple[int, ...] = (5, 10, 20)) -> tuple[RuleCurve, ...]:
    """The curves of a rule of `run` clean attempts in a row; a limit that is shorter than the run is raised to it.

    Errors: ValueError for a run below 1.
    """
    limits = tuple(dict.fromkeys(max(run, limit) for limit in within))
    rows = [run_chance(success=success, run=run, attempts=max(limits)).by_attempt for success in GRID]
    return tuple(RuleCurve(within=limit, chances=tuple(row[limit] for row in rows)) for limit in limits)
