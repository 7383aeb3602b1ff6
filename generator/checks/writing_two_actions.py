"""A step that asks for two actions.

Why: an evaluator has one box to tick. When half is done, two evaluators tick differently.

To put it right: make two steps, each with its own `see`. If it is one movement, say one action with the other as its
manner: `Press the mask onto the face with the jaw lifted`, `Squeeze the bag until the chest rises`.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.checks.support.verbs import second_action
from generator.diagnostics import Problem, Severity
from generator.model import Curriculum

RULE = "writing-two-actions"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each step whose `do` holds a second action."""
    for skill in curriculum.skills.values():
        for index, step in enumerate(skill.steps):
            second = second_action(step.do)
            if second:
                yield Problem(
                    location=curriculum.at("skill", skill.id, "steps", index, "do"),
                    rule=RULE,
                    message=f"The step `{step.id}` asks for a second action: “{second}”.",
                    remedy="Make it a step of its own, or say it as the manner of the first: with …, while …, until ….",
                    severity=Severity.WARNING,
                )
