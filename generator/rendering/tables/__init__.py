"""Tables for other programs: plain files that a spreadsheet or a calendar reads."""

from __future__ import annotations

from collections.abc import Mapping

from generator.model import Curriculum
from generator.rendering.lab_day import LabDay
from generator.rendering.tables.labs import lab_tables, timetable_csv, timetable_ics
from generator.rendering.tables.outcomes import outcome_tables
from generator.rendering.tables.worth import worth_tables

__all__ = ["tables_of", "timetable_csv", "timetable_ics"]


def tables_of(curriculum: Curriculum, *, days: Mapping[str, LabDay] | None = None) -> dict[str, bytes]:
    """The tables that the site offers, by path relative to it, such as `tables/worth-lab.csv`; UTF-8."""
    texts = worth_tables(curriculum) | outcome_tables(curriculum)
    return {path: text.encode() for path, text in texts.items()} | lab_tables(curriculum, days or {})
