"""Two moves of a state between which nobody could choose.

Why: two facilitators would run two different calls, and their logs could not be compared.

To put it right: keep one of them, or make them happen at different moments.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.analysis.scenario.flaws import clashes
from generator.diagnostics import Problem, Severity
from generator.model import Curriculum

RULE = "scenario-clash"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each such flaw, in the order of the files."""
    for scenario in curriculum.scenarios.values():
        for flaw in clashes(scenario):
            yield Problem(
                location=curriculum.at("scenario", scenario.id, *flaw.path),
                rule=RULE,
                message=flaw.message,
                remedy=flaw.remedy,
                severity=Severity.ERROR,
            )
