"""A critical step that does not say what an evaluator must `see`.

Why: a step that fails an attempt must be judged by everyone in the same way; essential items cannot be offset by
others, so they have to be observable (Yudkowsky and others, 2014, on passing scores for checklists with essential
items).

To put it right: write in `see` what an evaluator sees, hears or reads when the step is done.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.diagnostics import Problem
from generator.model import Curriculum

RULE = "critical-unseen"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each critical step without `see`."""
    for skill in curriculum.skills.values():
        for index, step in enumerate(skill.steps):
            if step.critical and step.see is None:
                yield Problem(
                    location=curriculum.at("skill", skill.id, "steps", index, "critical"),
                    rule=RULE,
                    message=f"The critical step `{step.id}` has no `see`, so nobody can observe it.",
                    remedy="Write in `see` what an evaluator sees, hears or reads when it is done.",
                )
