"""A state that no run enters, or a move that can never happen.

Why: whoever wrote it expects a group to meet it, and no group will.

To put it right: lead a move to the state; make the move sooner, or the one that leaves first later.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.analysis.scenario.flaws import unreachable
from generator.diagnostics import Problem, Severity
from generator.model import Curriculum

RULE = "scenario-unreachable"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each such flaw, in the order of the files."""
    for scenario in curriculum.scenarios.values():
        for flaw in unreachable(scenario):
            yield Problem(
                location=curriculum.at("scenario", scenario.id, *flaw.path),
                rule=RULE,
                message=flaw.message,
                remedy=flaw.remedy,
                severity=Severity.WARNING,
            )
