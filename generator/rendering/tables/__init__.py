"""Tables for other programs: plain files that a spreadsheet or a calendar reads."""

from __future__ import annotations

from generator.model import Curriculum
from generator.rendering.tables.worth import worth_tables

__all__ = ["tables_of"]


def tables_of(curriculum: Curriculum) -> dict[str, bytes]:
    """The tables that the site offers, by path relative to it, such as `tables/worth-lab.csv`; UTF-8."""
    return {path: text.encode() for path, text in worth_tables(curriculum).items()}
