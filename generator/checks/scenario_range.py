"""A vital sign outside the range that readings.yaml calls plausible.

Why: most often a slip of typing, and learners remember what they were shown.

To put it right: correct the value, or widen the range with its source.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.analysis.scenario.flaws import readings_out_of_range
from generator.diagnostics import Problem, Severity
from generator.model import Curriculum

RULE = "scenario-range"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each such flaw, in the order of the files."""
    for scenario in curriculum.scenarios.values():
        for flaw in readings_out_of_range(curriculum, scenario):
            yield Problem(
                location=curriculum.at("scenario", scenario.id, *flaw.path),
                rule=RULE,
                message=flaw.message,
                remedy=flaw.remedy,
                severity=Severity.ERROR,
            )
