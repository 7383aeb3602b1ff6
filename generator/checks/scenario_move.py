"""A move of a scenario that lacks what its cause needs.

Why: the run page could not show it, and nobody could say when it happens.

To put it right: give a `time` or `omission` move its `after_seconds` and where it leads, an omission its step, and an
action neither.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.analysis.scenario.flaws import malformed_moves
from generator.diagnostics import Problem, Severity
from generator.model import Curriculum

RULE = "scenario-move"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each such flaw, in the order of the files."""
    for scenario in curriculum.scenarios.values():
        for flaw in malformed_moves(scenario):
            yield Problem(
                location=curriculum.at("scenario", scenario.id, *flaw.path),
                rule=RULE,
                message=flaw.message,
                remedy=flaw.remedy,
                severity=Severity.ERROR,
            )
