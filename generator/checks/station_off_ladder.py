"""A station that runs a skill at a rung and on a trainer which the skill's ladder does not pair.

Why: learners would do in the lab what the skill's page does not show, on a trainer that no rule has looked at.

To put it right: use the ladder's trainer for that rung, or add this rung and trainer to the ladder.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.diagnostics import Problem, Related, Severity
from generator.model import Curriculum

RULE = "station-off-ladder"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each station whose rung and trainer are known but not a pair on the ladder."""
    for station in curriculum.stations.values():
        skill = curriculum.skills.get(station.skill)
        if skill is None or station.trainer not in curriculum.trainers:
            continue
        if any(plan.rung == station.rung and plan.trainer == station.trainer for plan in skill.ladder):
            continue
        here = [plan.trainer for plan in skill.ladder if plan.rung == station.rung]
        has = f"uses {', '.join(f'`{id}`' for id in here)}" if here else "is not on the ladder"
        yield Problem(
            location=curriculum.at("station", station.id, "trainer" if here else "rung"),
            rule=RULE,
            message=f"This station runs `{skill.id}` at `{station.rung}` on `{station.trainer}`, but that rung {has}.",
            remedy="Use the ladder's trainer for that rung, or add this rung and trainer to the ladder.",
            severity=Severity.WARNING,
            related=(Related(location=curriculum.at("skill", skill.id, "ladder"), message="the ladder is here"),),
        )
