"""A technique that a ladder meets first on a trainer that rewards it whatever the hands do.

Why: a learner who meets a permissive trainer first is rewarded for nothing and has to be untaught later (common
practice, no source).

To put it right: start on a trainer that the message offers, leave the step out of this rung's `steps`, or write in the
rung's `because` why it is met here; the page prints the reason.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.analysis.explain import message, remedy
from generator.analysis.feedback import honest_first
from generator.analysis.inventory import inventory_of
from generator.checks.support.feedback import where_it_rests
from generator.diagnostics import Problem, Related
from generator.model import Curriculum

RULE = "honest-first"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each technique of a critical step whose first meeting on a ladder is `given`, for which no reason was written."""
    inventory = inventory_of(curriculum)
    for skill in curriculum.skills.values():
        for finding in honest_first(curriculum, inventory, skill):
            if finding.is_excused or finding.rung is None or finding.trainer is None:
                continue
            given = curriculum.at("trainer", finding.trainer, "feedback", finding.technique or "", "worth")
            yield Problem(
                location=curriculum.at("skill", skill.id, "ladder", finding.rung, "trainer"),
                rule=RULE,
                message=message(curriculum, finding),
                remedy=remedy(curriculum, finding),
                related=(
                    Related(location=where_it_rests(curriculum, finding), message=f"`{finding.step}` rests on it here"),
                    Related(location=given, message="the trainer says `given` here"),
                ),
            )
