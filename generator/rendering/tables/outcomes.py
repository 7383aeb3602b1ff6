"""Outcomes against levels and skills, for a spreadsheet: one line for each skill that meets one at a level."""

from __future__ import annotations

from collections.abc import Iterator

from generator.analysis.outcomes import Coverage, coverage
from generator.analysis.wording import fill
from generator.model import Curriculum
from generator.rendering.tables.csv import csv_text

OUTCOMES_PATH = "tables/outcomes.csv"
HEADER = (
    "list id", "list", "source id", "edition", "number", "numbered by", "outcome id", "outcome", "level", "skill id",
    "skill", "covered", "not confirmed", "why not here",
)  # fmt: skip


def outcome_tables(curriculum: Curriculum) -> dict[str, str]:
    """The table by its path relative to the site; empty where the program follows no list."""
    return {OUTCOMES_PATH: outcomes_csv(curriculum)} if curriculum.standards else {}


def outcomes_csv(curriculum: Curriculum) -> str:
    """Every outcome of every list; an uncovered one has a line of its own with no skill."""
    return csv_text(HEADER, [line for found in coverage(curriculum) for line in _lines(curriculum, found)])


def _lines(curriculum: Curriculum, found: Coverage) -> Iterator[tuple[object, ...]]:
    standard, outcome = found.standard, found.outcome
    before = (
        standard.id, standard.title, standard.source, standard.edition, outcome.number, standard.numbered_by,
        outcome.id, fill(outcome.says, curriculum),
    )  # fmt: skip
    doubts = " ".join(fill(doubt, curriculum) for doubt in (standard.provisional, outcome.provisional) if doubt)
    reason = None if outcome.not_here is None else fill(outcome.not_here, curriculum)
    for cover in found.levels:
        for skill in cover.skills:
            yield (*before, cover.level, skill.id, skill.title, "yes", doubts, None)
        if not cover.skills:
            yield (*before, cover.level, None, None, "no", doubts, reason)
    if not found.levels:
        yield (*before, None, None, None, "no", doubts, reason)
