"""A skill whose last review is further back than the program allows.

Why: skills fade and so do handbooks; a date that has passed is the only sign that nobody has looked.

To put it right: read the skill against its sources, then write the day and the role in `reviewed`.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.analysis.currency import is_review_overdue, review_due
from generator.diagnostics import Problem, Severity
from generator.model import Curriculum

RULE = "review-overdue"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each skill whose review was due before today."""
    months = curriculum.program.review_every_months
    for skill in curriculum.skills.values():
        if is_review_overdue(skill.reviewed.on, every_months=months, today=today):
            due = review_due(skill.reviewed.on, every_months=months)
            yield Problem(
                location=curriculum.at("skill", skill.id, "reviewed", "on"),
                rule=RULE,
                message=f"The review of `{skill.id}` was due on {due}.",
                remedy="Read it against its sources, then write the day and the role in `reviewed`.",
                severity=Severity.WARNING,
            )
