"""A `pace` whose quantity cannot set a beat.

Why: the pacer on the page needs a steady interval to count.

To put it right: name a quantity with one `value`, or `low` and `high`, whose unit is `seconds` (from one action to the
next) or `per minute`.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.analysis.wording import beat_of, says
from generator.diagnostics import Problem, Related
from generator.model import Curriculum

RULE = "pace-without-beat"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each pace that names a known quantity without a beat."""
    for skill in curriculum.skills.values():
        for index, step in enumerate(skill.steps):
            quantity = curriculum.quantities.get(step.pace or "")
            if step.pace is None or quantity is None or beat_of(quantity) is not None:
                continue
            if says(quantity) == quantity.name:
                continue  # it has no number at all, which is told where it stands
            yield Problem(
                location=curriculum.at("skill", skill.id, "steps", index, "pace"),
                rule=RULE,
                message=f"`{step.pace}` cannot set a beat: it says `{says(quantity)}`.",
                remedy="Name a quantity with a `value`, or `low` and `high`, in `seconds` or `per minute`.",
                related=(Related(location=curriculum.at("quantity", step.pace), message="the quantity is here"),),
            )
