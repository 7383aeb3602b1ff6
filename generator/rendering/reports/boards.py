"""The cohort board on paper, landscape."""

from __future__ import annotations

from typing import Any

from generator.analysis.readiness.results import Readiness
from generator.model import Curriculum, Paper
from generator.rendering.lab_day import day_said
from generator.rendering.reports.base import FOR_INSTRUCTORS, document_of
from generator.rendering.reports.cohort import begun_skills
from generator.rendering.reports.marks import MARKS
from generator.rendering.reports.typesetter import pdf_of

WORDS = {"learner": "Learner"}
COLUMNS = 22
"""Skills on one page of the board: 9 mm a column on the narrower landscape page, ours."""


def board(readiness: Readiness, curriculum: Curriculum, *, paper: Paper | None = None) -> bytes:
    """The cohort board as PDF, landscape."""
    return pdf_of(board_data(readiness, curriculum, paper=paper))


def board_data(readiness: Readiness, curriculum: Curriculum, *, paper: Paper | None = None) -> dict[str, Any]:
    """The board as plain data, a part for each set of columns that one page holds."""
    say = curriculum.say
    skills, untouched = begun_skills(readiness, curriculum)
    pages = max(1, -(-len(skills) // COLUMNS))
    width = max(1, -(-len(skills) // pages))
    parts = []
    for start in range(0, len(skills), width):
        chosen = skills[start : start + width]
        rows = []
        for learner in readiness.learners:
            marks = [MARKS[readiness.standing(learner, skill).status] for skill in chosen]
            rows.append({"learner": learner, "cells": [{"status": mark.id, "letter": mark.letter} for mark in marks]})
        parts.append({"skills": [curriculum.skills[skill].title for skill in chosen], "rows": rows})
    document = document_of(
        curriculum,
        kind="board",
        title=say("Cohort board: {day}", day=day_said(curriculum, readiness.on)),
        running=say("Cohort board"),
        on=readiness.on,
        paper=paper,
        private=FOR_INSTRUCTORS,
        words=WORDS,
    )
    statuses = [{"id": mark.id, "letter": mark.letter, "name": curriculum.label(mark.name)} for mark in MARKS.values()]
    titles = "; ".join(curriculum.skills[skill].title for skill in untouched)
    return document | {
        "statuses": statuses,
        "parts": parts,
        "untouched": say("Begun by nobody: {skills}.", skills=titles) if titles else "",
    }
