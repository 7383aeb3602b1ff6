"""An outcome of a published list that no skill covers at a level that the list asks it of.

Why: a program that promises a list should know what it does not teach, before its learners find out.

To put it right: name in the outcome's `skills` the one that meets it, write that skill, or say in `not_here` why this
handbook leaves it out; the page of outcomes prints the reason.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.analysis.outcomes import coverage
from generator.checks.support.nearest import in_words
from generator.checks.support.references import known
from generator.diagnostics import Problem, Severity
from generator.model import Curriculum

RULE = "outcome-uncovered"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each uncovered outcome without a reason. A name that nobody knows is told elsewhere: one slip, one problem."""
    levels = known(curriculum, "level")
    for found in coverage(curriculum):
        outcome, standard = found.outcome, found.standard
        missing = [level for level in found.missing if level in levels]
        if outcome.not_here is not None or len(found.skills) < len(outcome.skills) or (found.skills and not missing):
            continue
        index = standard.outcomes.index(outcome)
        at_levels = f" for {in_words(missing)}" if found.skills else ""
        yield Problem(
            location=curriculum.at("standard", standard.id, "outcomes", index),
            rule=RULE,
            message=f"No skill covers the outcome `{outcome.id}`{at_levels}.",
            remedy="Name the skill that meets it in `skills`, or say in `not_here` why it is left out.",
            severity=Severity.NOTE,
        )
