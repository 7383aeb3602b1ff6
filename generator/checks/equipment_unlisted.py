"""A step that uses something which the skill's own equipment list leaves out.

Why: the list is what an instructor lays out before the lab opens; what it leaves out is missing on the table.

To put it right: add it to the skill's `equipment`.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.diagnostics import Problem, Related, Severity
from generator.model import Curriculum

RULE = "equipment-unlisted"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each piece of equipment once a skill, at the first step that uses it."""
    for skill in curriculum.skills.values():
        listed = set(skill.equipment)
        for number, step in enumerate(skill.steps):
            for index, item in enumerate(step.uses):
                if item in listed or item not in curriculum.equipment:
                    continue
                listed.add(item)
                yield Problem(
                    location=curriculum.at("skill", skill.id, "steps", number, "uses", index),
                    rule=RULE,
                    message=f"The step `{step.id}` uses `{item}`, which the skill's equipment list leaves out.",
                    remedy=f"Add `{item}` to the skill's `equipment`.",
                    severity=Severity.WARNING,
                    related=(
                        Related(location=curriculum.at("skill", skill.id, "equipment"), message="the list is here"),
                    ),
                )
