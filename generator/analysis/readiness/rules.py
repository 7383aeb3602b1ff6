"""What the program's own rules let through."""

from __future__ import annotations

from generator.analysis.readiness.results import RuleChance, RuleWorth
from generator.analysis.statistics.runs import AttemptsNeeded, attempts_needed, mean_wait, run_chance
from generator.model import Curriculum

SUCCESSES = (0.5, 0.6, 0.7, 0.8, 0.9, 0.95)
"""True chances of a clean attempt that a rule is shown for."""
ATTEMPTS = 12
"""Checks in a row that a rule is shown for."""
RELIABILITIES = (0.7, 0.8, 0.9, 0.95)
CONFIDENCE = 0.95


def rule_worths(curriculum: Curriculum) -> tuple[RuleWorth, ...]:
    """One for each number of clean checks in a row that some skill asks for, smallest first.

    Each check is taken to be clean with the same chance, whatever came before it.
    """
    skills: dict[int, list[str]] = {}
    for skill in curriculum.skills.values():
        skills.setdefault(max(1, skill.clearance.clean_in_a_row), []).append(skill.id)
    return tuple(
        RuleWorth(
            clean_in_a_row=run,
            skills=tuple(skills[run]),
            chances=tuple(
                RuleChance(
                    success=success,
                    by_attempt=run_chance(success=success, run=run, attempts=max(ATTEMPTS, run)).by_attempt,
                    mean_wait=mean_wait(success=success, run=run),
                )
                for success in SUCCESSES
            ),
            shows=(1 - CONFIDENCE) ** (1 / run),
        )
        for run in sorted(skills)
    )


def attempts_for() -> tuple[AttemptsNeeded, ...]:
    """Clean attempts that support each of the usual success chances."""
    return tuple(attempts_needed(reliability=one, confidence=CONFIDENCE) for one in RELIABILITIES)
