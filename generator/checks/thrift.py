"""A ladder that wears out dear trainers for what cheaper ones would teach.

Why: the costliest trainer lasts longest when it is met last, after every technique has been earned on something cheaper
(common practice, no source).

To put it right: put the cheaper trainer lower, earn the technique first on one that the message offers, or write in the
rung's `because` why not; the page prints the reason.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.analysis.explain import message, remedy
from generator.analysis.feedback import thrift
from generator.analysis.inventory import inventory_of
from generator.diagnostics import Problem, Severity
from generator.model import Curriculum

RULE = "thrift"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each rung where wear falls, and each technique earned first on the costliest trainer without need."""
    inventory = inventory_of(curriculum)
    for skill in curriculum.skills.values():
        for finding in thrift(curriculum, inventory, skill):
            if finding.is_excused or finding.rung is None:
                continue
            yield Problem(
                location=curriculum.at("skill", skill.id, "ladder", finding.rung, "trainer"),
                rule=RULE,
                message=message(curriculum, finding),
                remedy=remedy(curriculum, finding),
                severity=Severity.WARNING,
            )
