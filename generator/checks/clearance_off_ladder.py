"""A clearance rule on a rung that the skill's ladder does not have.

Why: a learner would be checked under conditions that they have never practised in.

To put it right: add the rung to the ladder, or clear the skill on a rung that it has.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.checks.support.nearest import in_words
from generator.checks.support.references import known
from generator.diagnostics import Problem, Related, Severity
from generator.model import Curriculum

RULE = "clearance-off-ladder"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each clearance rung that the ladder lacks, where all of them are known."""
    for skill in curriculum.skills.values():
        rungs = tuple(dict.fromkeys(plan.rung for plan in skill.ladder))
        rung = skill.clearance.rung
        if rung not in rungs and known(curriculum, "rung") >= {rung, *rungs}:
            yield Problem(
                location=curriculum.at("skill", skill.id, "clearance", "rung"),
                rule=RULE,
                message=f"Learners are cleared on `{rung}`, but the ladder has only {in_words(rungs)}.",
                remedy="Add the rung to the ladder, or clear the skill on a rung that it has.",
                severity=Severity.WARNING,
                related=(Related(location=curriculum.at("skill", skill.id, "ladder"), message="the ladder is here"),),
            )
