"""The fixed words of reports that a program may rename: read from the templates and the code, never a list by hand."""

from __future__ import annotations

from functools import cache
from importlib import resources

from generator.analysis.statistics.result import Why
from generator.rendering.reports import base, boards, day, standard
from generator.rendering.reports.confirm import CHOICES, HELD, SCRIPT
from generator.rendering.reports.letters import LETTER_PARTS
from generator.rendering.reports.marks import MARKS
from generator.rendering.reports.own_words import template_labels
from generator.rendering.reports.says import OFTEN
from generator.rendering.said import said_in_code
from generator.rendering.scripts import script_in_own_words


@cache
def report_label_ids() -> tuple[str, ...]:
    """Every fixed word and sentence of the reports about learners, sorted."""
    found = {*said_in_code(), *template_labels(), *map(str, Why), *HELD.values(), *CHOICES.values()}
    found.update(text for _, text in OFTEN)
    found.update(text for _, *texts in LETTER_PARTS for text in texts if text)
    found.update(text for mark in MARKS.values() for text in (mark.name, mark.tally, mark.about))
    for module in (base, boards, day, standard):
        for name, value in vars(module).items():
            if name.isupper():
                texts = value.values() if isinstance(value, dict) else (value,)
                found.update(text for text in texts if isinstance(text, str))

    def note(words: str) -> str:
        found.add(words)
        return words

    script_in_own_words((resources.files("generator.rendering.reports") / SCRIPT).read_text(encoding="utf-8"), note)
    return tuple(sorted(found))
