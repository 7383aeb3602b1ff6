"""The files of lab days: a table of each, a calendar of each, and calendars for each group and each instructor."""

from __future__ import annotations

from collections.abc import Mapping

from generator.analysis.rotation.plan import Clash, LabPlan
from generator.model import Curriculum
from generator.rendering.lab_day import LabDay, in_own_words, lab_day_of
from generator.rendering.tables.calendar import DayCalendar, calendar_bytes
from generator.rendering.tables.timetable import timetable_text


def timetable_csv(plan: LabPlan | Clash, curriculum: Curriculum) -> str:
    """A planned day as RFC 4180 text, one row a visit; only the header where there is no timetable."""
    return timetable_text(in_own_words(curriculum, lab_day_of(curriculum, plan)), curriculum)


def timetable_ics(
    plan: LabPlan | Clash, curriculum: Curriculum, *, group: int | None = None, instructor: str | None = None
) -> bytes:
    """A planned day as an iCalendar file (RFC 5545); of one group (from 1) or one instructor when they are named."""
    day = in_own_words(curriculum, lab_day_of(curriculum, plan))
    return calendar_bytes(day, curriculum, group=group, instructor=instructor)


def lab_tables(curriculum: Curriculum, days: Mapping[str, LabDay]) -> dict[str, bytes]:
    """Files by path, such as `tables/lab-1.csv` and `tables/lab-1-group-2.ics`; none for a day without a timetable."""
    files: dict[str, bytes] = {}
    for id, day in days.items():
        if not day.turns:
            continue
        calendar = DayCalendar(day, curriculum)
        files[f"tables/{id}.csv"] = timetable_text(day, curriculum).encode()
        files[f"tables/{id}.ics"] = calendar.of()
        for group in range(1, len(day.group_sizes) + 1):
            files[f"tables/{id}-group-{group}.ics"] = calendar.of(group=group)
        for one in day.lab.instructors:
            if any(one.id in turn.instructors for turn in day.turns):
                files[f"tables/{id}-{one.id}.ics"] = calendar.of(instructor=one.id)
    return files
