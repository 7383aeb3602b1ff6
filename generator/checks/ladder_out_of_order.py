"""A ladder whose rungs do not climb in the program's order.

Why: learners work down the list as it stands, so they would meet the harder rung first; what a trainer is worth to
them is also judged in this order.

To put it right: move the rung to its place. Two trainers on one rung are fine.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.checks.support.references import known
from generator.diagnostics import Problem, Related
from generator.model import Curriculum

RULE = "ladder-out-of-order"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each rung that stands after a higher one."""
    rungs = known(curriculum, "rung")
    order = {rung: curriculum.rung_order(rung) for rung in rungs}
    for skill in curriculum.skills.values():
        highest = -1
        highest_index = 0
        for index, plan in enumerate(skill.ladder):
            if plan.rung not in rungs:
                continue
            if order[plan.rung] >= highest:
                highest, highest_index = order[plan.rung], index
                continue
            above = skill.ladder[highest_index].rung
            yield Problem(
                location=curriculum.at("skill", skill.id, "ladder", index, "rung"),
                rule=RULE,
                message=f"The rung `{plan.rung}` stands after `{above}`, which is higher.",
                remedy="Move it to its place: the order is " + ", ".join(sorted(rungs, key=lambda r: order[r])) + ".",
                related=(
                    Related(
                        location=curriculum.at("skill", skill.id, "ladder", highest_index, "rung"),
                        message=f"`{above}` is here",
                    ),
                ),
            )
