"""An id that names a strand, level, rung, trainer, step or other record that does not exist.

Why: a page cannot link to it and a sheet cannot print it; most often it is a slip of one letter.

To put it right: take the nearest name that the message offers, or add the record that was meant.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.checks.support.nearest import did_you_mean
from generator.checks.support.references import known, references
from generator.diagnostics import Problem
from generator.model import Curriculum

RULE = "reference-unknown"

HOMES = {
    "level": "the `levels` of program.yaml",
    "rung": "the `rungs` of program.yaml",
    "strand": "the `strands` of program.yaml",
    "population": "the `populations` of program.yaml",
    "technique": "techniques.yaml",
    "equipment": "equipment.yaml",
    "trainer": "the folder trainers",
    "skill": "the folder skills",
    "station": "the folder stations",
    "reading": "readings.yaml",
    "step": "the steps of",
    "role": "the `roles` of",
    "stop": "the stations of lab day",
    "state": "the states of",
    "move": "the moves of",
}
"""Where records of each kind stand. Sources and quantities have rules of their own."""

NAMES = {"stop": "station", "equipment": "piece of equipment", "role": "team role"}


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each use of an unknown id."""
    for reference in references(curriculum):
        home = HOMES.get(reference.wanted)
        if home is None:
            continue
        ids = known(curriculum, reference.wanted, reference.within)
        if reference.id in ids:
            continue
        where = f"{home} `{reference.within}`" if reference.within else home
        choices = f"They are: {', '.join(sorted(ids))}." if 0 < len(ids) <= 8 else ""
        yield Problem(
            location=reference.at(curriculum),
            rule=RULE,
            message=f"No {NAMES.get(reference.wanted, reference.wanted)} is called `{reference.id}` in {where}.",
            remedy=did_you_mean(reference.id, ids, otherwise=f"Name one that is there, or add it. {choices}".strip()),
        )
