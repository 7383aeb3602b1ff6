"""A step in a scenario of a skill that the group does not bring, or that its level may not perform.

Why: a whole call is the last rung; a skill first met there is learnt under pressure and without its ladder.

To put it right: add the skill to the scenario's `skills`, or take the step out.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.analysis.scenario.flaws import uncleared_steps
from generator.diagnostics import Problem, Severity
from generator.model import Curriculum

RULE = "scenario-skill"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each such flaw, in the order of the files."""
    for scenario in curriculum.scenarios.values():
        for flaw in uncleared_steps(curriculum, scenario):
            yield Problem(
                location=curriculum.at("scenario", scenario.id, *flaw.path),
                rule=RULE,
                message=flaw.message,
                remedy=flaw.remedy,
                severity=Severity.WARNING,
            )
