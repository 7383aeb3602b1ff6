"""A review, approval, revision or source dated after today.

Why: nobody can have done it yet, so the date is a slip, and it would hide an overdue review for as long as it lies
ahead.

To put it right: write the day on which it was done.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.diagnostics import Location, Problem
from generator.model import Curriculum

RULE = "date-in-future"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each day after today. A source may be dated next year: journals print ahead."""
    for what, day, location in _days(curriculum):
        if day > today:
            yield Problem(
                location=location,
                rule=RULE,
                message=f"{what} is dated {day}, which is after today, {today}.",
                remedy="Write the day on which it was done.",
            )
    for id, source in curriculum.sources.items():
        year = source.issued.year if source.issued else None
        if year is not None and year > today.year + 1:
            yield Problem(
                location=curriculum.at("source", id, "issued"),
                rule=RULE,
                message=f"`{id}` is said to be issued in {year}, which is more than a year ahead.",
                remedy="Write the year that stands on it.",
            )


def _days(curriculum: Curriculum) -> Iterator[tuple[str, date, Location]]:
    approval = curriculum.program.approval
    if approval is not None:
        yield "The approval", approval.on, curriculum.at("program", "program", "approval", "on")
    for skill in curriculum.skills.values():
        yield "The review", skill.reviewed.on, curriculum.at("skill", skill.id, "reviewed", "on")
        for index, revision in enumerate(skill.revisions):
            yield "This revision", revision.on, curriculum.at("skill", skill.id, "revisions", index, "on")
    for id, source in curriculum.sources.items():
        if source.custom.reviewed is not None:
            yield "The review", source.custom.reviewed, curriculum.at("source", id, "custom", "reviewed")
