"""A technique, a piece of equipment or a quantity that nothing uses.

Why: it is a leftover, or the place that should use it names another by mistake.

To put it right: use it, or take it out.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date

from generator.analysis.wording import mentioned
from generator.checks.support.prose import without_code
from generator.checks.support.references import used
from generator.diagnostics import Problem, Severity
from generator.model import Curriculum

RULE = "record-unused"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each record that nothing names. Silent while some record could not be read: that one may be the user."""
    if curriculum.unread:
        return
    in_prose = {id for text in curriculum.prose.values() for id in mentioned(without_code(text))}
    groups: tuple[tuple[str, Iterable[str], str], ...] = (
        ("technique", curriculum.techniques, "no step rests on it and no trainer gives feedback on it"),
        ("equipment", curriculum.equipment, "no skill lists it, no step uses it and no trainer accepts it"),
        ("quantity", curriculum.quantities, "no text and no pace names it"),
        ("reading", curriculum.readings, "no state of a scenario shows it"),
    )
    for kind, ids, reason in groups:
        names = used(curriculum).get(kind, frozenset())
        for id in ids:
            if id not in names and not (kind == "quantity" and id in in_prose):
                yield Problem(
                    location=curriculum.at(kind, id),
                    rule=RULE,
                    message=f"`{id}` is not used: {reason}.",
                    remedy="Use it, or take it out.",
                    severity=Severity.WARNING,
                )
