"""A technique that no rung of a ladder proves, under a step that says nothing an evaluator must see.

Why: neither the trainer nor a person would notice that it was wrong, and the learner would be cleared.

To put it right: write the step's `see`, or put a trainer on the ladder that answers to the technique.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.analysis.explain import message, remedy
from generator.analysis.feedback import proof
from generator.analysis.inventory import inventory_of
from generator.checks.support.feedback import where_it_rests
from generator.diagnostics import Problem
from generator.model import Curriculum

RULE = "proof"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each technique of a critical step that nothing and nobody proves."""
    inventory = inventory_of(curriculum)
    for skill in curriculum.skills.values():
        for finding in proof(curriculum, inventory, skill):
            yield Problem(
                location=where_it_rests(curriculum, finding),
                rule=RULE,
                message=message(curriculum, finding),
                remedy=remedy(curriculum, finding),
            )
