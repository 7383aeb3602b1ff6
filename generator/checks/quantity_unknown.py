"""A `{quantity}` in a text, or a `pace`, that is not in quantities.yaml.

Why: the sheet would print the braces instead of the number, in the hands of someone who needs the number.

To put it right: take the nearest id that the message offers, or add the quantity with its source.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.analysis.wording import MENTION
from generator.checks.support.nearest import did_you_mean
from generator.checks.support.prose import without_code
from generator.checks.support.references import known, references
from generator.checks.support.texts import prose_at
from generator.diagnostics import Location, Problem
from generator.model import Curriculum

RULE = "quantity-unknown"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each mention of an unknown quantity, in records and in prose pages."""
    ids = known(curriculum, "quantity")
    for reference in references(curriculum):
        if reference.wanted == "quantity" and reference.id not in ids:
            yield _problem(reference.at(curriculum), reference.id, curriculum)
    for path, text in curriculum.prose.items():
        for match in MENTION.finditer(without_code(text)):
            if match[1] not in ids:
                yield _problem(prose_at(curriculum, path, match.start()), match[1], curriculum)


def _problem(location: Location, id: str, curriculum: Curriculum) -> Problem:
    return Problem(
        location=location,
        rule=RULE,
        message=f"No quantity is called `{id}`.",
        remedy=did_you_mean(id, known(curriculum, "quantity"), otherwise="Add it to quantities.yaml, with its source."),
    )
