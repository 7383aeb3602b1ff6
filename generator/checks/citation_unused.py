"""A source that nothing cites.

Why: a list of references that nobody leans on looks like evidence and is none.

To put it right: cite it where it supports a claim, or take it out.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.checks.support.prose import names_source
from generator.checks.support.references import used
from generator.diagnostics import Problem, Severity
from generator.model import Curriculum

RULE = "citation-unused"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each source without a use. Silent while some record could not be read: that one may cite it."""
    if curriculum.unread:
        return
    cited = used(curriculum).get("source", frozenset())
    for id in curriculum.sources:
        if id not in cited and not any(names_source(text, id) for text in curriculum.prose.values()):
            yield Problem(
                location=curriculum.at("source", id),
                rule=RULE,
                message=f"Nothing cites the source `{id}`.",
                remedy="Cite it where it supports a claim, or take it out.",
                severity=Severity.WARNING,
            )
