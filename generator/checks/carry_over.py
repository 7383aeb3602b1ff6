"""A technique that a group meets in the labs first on a trainer that rewards it whatever the hands do.

Why: learners who met a permissive trainer first fail at the technique later, in whatever skill rests on it (common
practice, no source).

To put it right: make the swap that the message offers, or bring an honest station forward. It is an error when the
order was typed by hand, or when no order of the day mends it; otherwise a warning, for another rotation would do.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.analysis.course import CarryOver, course_of
from generator.analysis.explain import carry_message, carry_remedy
from generator.diagnostics import Location, Problem, Severity
from generator.model import Curriculum

RULE = "carry-over"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each technique, station and day at which groups are first misled, for which the ladder gives no reason."""
    for found in course_of(curriculum).findings:
        if found.because is None:
            yield Problem(
                location=_where(curriculum, found),
                rule=RULE,
                message=carry_message(curriculum, found),
                remedy=carry_remedy(curriculum, found),
                severity=Severity.WARNING if found.order_can_mend and not found.is_typed else Severity.ERROR,
            )


def _where(curriculum: Curriculum, found: CarryOver) -> Location:
    """The station in the hand-typed order of the first group concerned, or in the day's list."""
    lab = curriculum.labs[found.lab]
    for index, order in enumerate(lab.orders):
        if order.group == found.groups[0] and found.station in order.stations:
            return curriculum.at("lab", lab.id, "orders", index, "stations", order.stations.index(found.station))
    index = next((n for n, stop in enumerate(lab.stations) if stop.station == found.station), 0)
    return curriculum.at("lab", lab.id, "stations", index, "station")
