"""A scenario that takes a rung for granted which no lab day teaches.

Why: a group meets that rung for the first time in the whole call, without the ladder that leads there.

To put it right: put a station of that skill on this rung, or on a higher one, into a lab day. A curriculum without lab
days is not asked.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.analysis.scenario.prerequisites import prerequisites
from generator.diagnostics import Problem, Severity
from generator.model import Curriculum

RULE = "scenario-untaught"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """One problem for each scenario, with all that is taught on no lab day."""
    if not curriculum.labs:
        return
    for scenario in curriculum.scenarios.values():
        lacking = [f"`{one.skill}` on the rung `{one.rung}`" for one in prerequisites(curriculum, scenario).untaught]
        if lacking:
            yield Problem(
                location=curriculum.at("scenario", scenario.id, "skills"),
                rule=RULE,
                message=f"No lab day teaches what this scenario takes for granted: {', '.join(lacking)}.",
                remedy="Put a station on that rung or a higher one into a lab day.",
                severity=Severity.NOTE,
            )
