"""The fixed words of reports that a program may rename."""

from __future__ import annotations

from generator.rendering.reports.base import STARTER
from generator.rendering.reports.letters import LETTER_PARTS
from generator.rendering.reports.marks import MARKS
from generator.rendering.reports.standard import QUESTION


def report_label_ids() -> tuple[str, ...]:
    """Labels of letters, the cut-score sheet and the meaning of each status, sorted. Other report text is fixed."""
    letters = {text for _, heading, about in LETTER_PARTS for text in (heading, about) if text}
    return tuple(sorted({STARTER, QUESTION, *letters, *(mark.about for mark in MARKS.values())}))
