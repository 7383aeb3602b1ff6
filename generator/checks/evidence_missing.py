"""A skill that cites nothing, or a caution or a number that claims a source and names none.

Why: a learner cannot tell teaching that rests on evidence from teaching that rests on habit.

To put it right: cite a source in `evidence` for the skill, a step or a caution, or give the number its `sources`. If
nothing was found, keep the number at `checked: memory`: it then prints as provisional; a caution says `basis: common
practice`.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.diagnostics import Problem, Severity
from generator.model import Curriculum, Skill

RULE = "evidence-missing"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Skills without evidence, cautions that claim some, and checked quantities without sources."""
    for skill in curriculum.skills.values():
        if not _cites(skill):
            yield Problem(
                location=curriculum.at("skill", skill.id),
                rule=RULE,
                message=f"The skill `{skill.id}` cites no evidence at all.",
                remedy="Cite a source in `evidence`, for the whole skill, a step or a caution.",
                severity=Severity.WARNING,
            )
        for index, caution in enumerate(skill.cautions):
            if caution.basis == "evidence" and not caution.evidence:
                yield Problem(
                    location=curriculum.at("skill", skill.id, "cautions", index, "basis"),
                    rule=RULE,
                    message="This caution is said to rest on evidence and cites none.",
                    remedy="Cite it in the caution's `evidence`, or write `basis: common practice`.",
                    severity=Severity.WARNING,
                )
    for id, quantity in curriculum.quantities.items():
        if quantity.checked != "memory" and not quantity.sources:
            yield Problem(
                location=curriculum.at("quantity", id, "checked"),
                rule=RULE,
                message=f"The quantity `{id}` is marked as seen in a {quantity.checked} source but names none.",
                remedy="Name it in `sources`, or write `checked: memory`.",
                severity=Severity.WARNING,
            )


def _cites(skill: Skill) -> bool:
    return bool(
        skill.evidence
        or any(step.evidence for step in skill.steps)
        or any(caution.evidence for caution in skill.cautions)
    )
