"""What a clearance rule lets through: the chance that it clears a learner who does it right with a given chance.

A rule asks for `r` clean attempts in a row. A learner whose every attempt is clean with chance `p` is cleared within
`m` attempts with a chance that follows exactly (Feller, vol. 1, ch. XIII.7; `statistics.runs`). The more attempts a
learner may take, the more a run happens by luck. Days apart and the window are left out: they change when attempts
are made, not the chance of each. It is assumed that attempts do not depend on each other; a learner who improves or
tires departs from that.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from generator.analysis.statistics.runs import attempts_needed, run_chance
from generator.model import Skill

WITHIN = (5, 10, 20)
"""Attempts allowed, for the curves."""
SHOWN = (0.5, 0.6, 0.7, 0.8, 0.9, 0.95)
"""True chances of a clean attempt, for the table."""
GRID = tuple(number / 50 for number in range(51))
"""True chances of a clean attempt, for the curves."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """Chance of clearance within some attempts, at each point of `GRID`."""

    within: int
    chances: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleWorth:
    """One rule of clean attempts in a row, the skills that use it, and what it lets through."""

    run: int
    skills: tuple[str, ...]
    curves: tuple[Curve, ...]
    table: tuple[tuple[float, tuple[float, ...]], ...]
    """For each true chance of `SHOWN`: the chance of clearance within each number of attempts."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """Clean attempts, none missed, that support a claim about a learner."""

    reliability: float
    confidence: float
    attempts: int


def rules_of(skills: Iterable[Skill]) -> tuple[RuleWorth, ...]:
    """The program's own clearance rules, shortest run first, each with the skills that use it."""
    users: dict[int, list[str]] = {}
    for skill in skills:
        if skill.clearance.clean_in_a_row >= 1:
            users.setdefault(skill.clearance.clean_in_a_row, []).append(skill.id)
    return tuple(_worth(run, tuple(ids)) for run, ids in sorted(users.items()))


def claims() -> tuple[Claim, ...]:
    """How many clean attempts in a row, with no miss, it takes to claim a chance with a confidence."""
    pairs = [(reliability, confidence) for reliability in (0.8, 0.9, 0.95) for confidence in (0.9, 0.95)]
    return tuple(
        Claim(reliability=r, confidence=c, attempts=attempts_needed(reliability=r, confidence=c).attempts)
        for r, c in pairs
    )


def _worth(run: int, skills: tuple[str, ...]) -> RuleWorth:
    within = tuple(dict.fromkeys(max(run, number) for number in WITHIN))

    def chances(success: float) -> tuple[float, ...]:
        by_attempt = run_chance(success=success, run=run, attempts=max(within)).by_attempt
        return tuple(by_attempt[number] for number in within)

    on_grid = [chances(success) for success in GRID]
    return RuleWorth(
        run=run,
        skills=skills,
        curves=tuple(
            Curve(within=number, chances=tuple(row[i] for row in on_grid)) for i, number in enumerate(within)
        ),
        table=tuple((success, chances(success)) for success in SHOWN),
    )
