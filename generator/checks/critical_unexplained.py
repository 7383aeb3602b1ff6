"""A critical step that does not say why missing it fails the attempt.

Why: learners accept a fail that has a reason, and faculty who cannot give one should not mark the step critical.

To put it right: write the reason in `critical_because`, or take `critical` out.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.diagnostics import Problem
from generator.model import Curriculum

RULE = "critical-unexplained"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each critical step without a reason, and each reason without a critical step."""
    for skill in curriculum.skills.values():
        for index, step in enumerate(skill.steps):
            if step.critical and step.critical_because is None:
                yield Problem(
                    location=curriculum.at("skill", skill.id, "steps", index, "critical"),
                    rule=RULE,
                    message=f"The critical step `{step.id}` does not say why it is critical.",
                    remedy="Write in `critical_because` why missing it fails the attempt, or take `critical` out.",
                )
            elif step.critical_because is not None and not step.critical:
                yield Problem(
                    location=curriculum.at("skill", skill.id, "steps", index, "critical_because"),
                    rule=RULE,
                    message=f"The step `{step.id}` says why it is critical but is not marked critical.",
                    remedy="Add `critical: true`, or move these words to `why`.",
                )
