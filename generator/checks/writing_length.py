"""A step longer than 25 words.

Why: a step is read between two movements. Twenty-five words is the most that one sentence should have in plain
English; the limit is common practice.

To put it right: move reasons to `why`, what is observed to `see`, and a second action to a step of its own.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.analysis.wording import fill
from generator.diagnostics import Problem, Severity
from generator.model import Curriculum

RULE = "writing-length"

MOST_WORDS = 25


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each step whose `do`, as it is printed, has more words."""
    for skill in curriculum.skills.values():
        for index, step in enumerate(skill.steps):
            if len(step.do) < 2 * MOST_WORDS:
                continue
            words = sum(any(letter.isalnum() for letter in word) for word in fill(step.do, curriculum).split())
            if words > MOST_WORDS:
                yield Problem(
                    location=curriculum.at("skill", skill.id, "steps", index, "do"),
                    rule=RULE,
                    message=f"The step `{step.id}` has {words} words; {MOST_WORDS} is the most.",
                    remedy="Move reasons to `why`, what is observed to `see`, a second action to its own step.",
                    severity=Severity.WARNING,
                )
