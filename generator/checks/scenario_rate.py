"""A vital sign that changes faster than readings.yaml calls plausible.

Why: a patient who recovers in a second teaches that treatment works in a second.

To put it right: let the state take longer with `over_seconds`, or choose a nearer value.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.analysis.scenario.flaws import readings_too_fast
from generator.diagnostics import Problem, Severity
from generator.model import Curriculum

RULE = "scenario-rate"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each such flaw, in the order of the files."""
    for scenario in curriculum.scenarios.values():
        for flaw in readings_too_fast(curriculum, scenario):
            yield Problem(
                location=curriculum.at("scenario", scenario.id, *flaw.path),
                rule=RULE,
                message=flaw.message,
                remedy=flaw.remedy,
                severity=Severity.WARNING,
            )
