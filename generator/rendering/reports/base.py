"""What every private document carries: its program, its day, who may read it, and the line that defers."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from typing import Any

from generator.analysis.wording import fill
from generator.model import Curriculum, Paper
from generator.rendering.lab_day import day_said

FOR_INSTRUCTORS = "Private: learner records. Keep it with the instructors, off the handbook and out of its repository."
FOR_LEARNER = "Private: this letter holds one learner’s own record and nobody else’s."
PAGE_OF = {"page_of": "Page {page} of {pages}"}
CRITICAL = {"critical": "Critical:"}
COACHED = 3
"""Steps named for coaching at once; more than a few are not kept in mind (CAP 676: fewer than 4 items)."""
STARTER = "Starter content: no medical director has approved the skills yet."


def document_of(
    curriculum: Curriculum,
    *,
    kind: str,
    title: str,
    running: str,
    on: date | None,
    paper: Paper | None,
    private: str,
    words: Mapping[str, str],
) -> dict[str, Any]:
    """The frame of a document as plain data. `running` stands at the head of each page.

    `private` and `words` are fixed texts; what else is given is in the program's own words already.
    """
    program = curriculum.program
    tag = re.fullmatch(r"([a-z]{2,3})(?:-([A-Za-z]{2}))?", program.language)
    deferral = fill(program.medical_direction, curriculum)
    return {
        "kind": kind,
        "title": title,
        "running": running,
        "program": program.name,
        "on": day_said(curriculum, on) if on else "",
        "paper": paper or program.paper,
        "lang": tag[1] if tag else "en",
        "region": tag[2].upper() if tag and tag[2] else None,
        "deferral": deferral if program.approval else f"{deferral} {curriculum.label(STARTER)}",
        "private": curriculum.label(private),
        "words": {id: curriculum.label(text) for id, text in (PAGE_OF | dict(words)).items()},
    }
