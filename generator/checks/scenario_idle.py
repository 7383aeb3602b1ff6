"""A call that never ends if nobody acts, or that cannot fit in its planned minutes.

Why: a group that freezes would be left waiting, and the lab day would run late.

To put it right: add a `time` or `omission` move, or plan other minutes.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.analysis.scenario.flaws import idle_and_long
from generator.diagnostics import Problem, Severity
from generator.model import Curriculum

RULE = "scenario-idle"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each such flaw, in the order of the files."""
    for scenario in curriculum.scenarios.values():
        for flaw in idle_and_long(scenario):
            yield Problem(
                location=curriculum.at("scenario", scenario.id, *flaw.path),
                rule=RULE,
                message=flaw.message,
                remedy=flaw.remedy,
                severity=Severity.WARNING,
            )
