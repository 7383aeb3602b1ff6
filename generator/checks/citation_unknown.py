"""A source id that is not in sources.yaml.

Why: the claim it stands beside would print with no reference behind it.

To put it right: take the nearest id that the message offers, or add the source to sources.yaml.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.checks.support.nearest import did_you_mean
from generator.checks.support.references import known, references
from generator.diagnostics import Problem
from generator.model import Curriculum

RULE = "citation-unknown"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each citation of an unknown source."""
    ids = known(curriculum, "source")
    for reference in references(curriculum):
        if reference.wanted == "source" and reference.id not in ids:
            yield Problem(
                location=reference.at(curriculum),
                rule=RULE,
                message=f"No source is called `{reference.id}`.",
                remedy=did_you_mean(reference.id, ids, otherwise="Add it to sources.yaml, or cite another."),
            )
