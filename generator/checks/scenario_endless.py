"""A state of a scenario from which no run can end.

Why: the group would be stuck in front of a patient for whom nothing changes, and the facilitator with them.

To put it right: lead a move towards an exit, or say with `exit` how the scenario ends there.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.analysis.scenario.flaws import endless_states
from generator.diagnostics import Problem, Severity
from generator.model import Curriculum

RULE = "scenario-endless"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each such flaw, in the order of the files."""
    for scenario in curriculum.scenarios.values():
        for flaw in endless_states(scenario):
            yield Problem(
                location=curriculum.at("scenario", scenario.id, *flaw.path),
                rule=RULE,
                message=flaw.message,
                remedy=flaw.remedy,
                severity=Severity.ERROR,
            )
