"""A hand-typed timetable that breaks what its lab day asks: a place taken twice, a trainer missing, a late end.

Why: the computed timetables keep these rules, and the same rules judge a timetable that was typed (`orders`). One that
breaks them stops in the middle of the day, with two groups before one station.

To put it right: change the typed order where the message points, give the station or its trainer more units, or take
`orders` out and let `rungbook rotate` work the day out.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.analysis.rotation.from_lab import day_of, typed_timetable
from generator.analysis.rotation.planning import TYPED, typed_problems
from generator.analysis.rotation.rules import breaches
from generator.analysis.rotation.staffing import unstaffed
from generator.diagnostics import Problem
from generator.model import Curriculum, Lab

RULE = TYPED
ABOUT_INSTRUCTORS = ("instructor-present", "instructor-ratio", "instructor-qualified", "instructor-place")
"""Orders say nothing about instructors; whether they suffice is judged block by block instead."""


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each rule that a typed timetable breaks, where it was typed."""
    for lab in curriculum.labs.values():
        table = typed_timetable(curriculum, lab)
        if table is None or not _is_known(lab):
            continue
        day = day_of(curriculum, lab)
        # An order that misleads is reported by the rule `carry-over`, which also says what mends it.
        broken = [b for b in breaches(day, table) if b.rule not in (*ABOUT_INSTRUCTORS, "honest-first")]
        yield from typed_problems(curriculum, lab, broken)
        yield from typed_problems(curriculum, lab, unstaffed(day, table))


def _is_known(lab: Lab) -> bool:
    """Whether the order and the fixed visits name stations of the day only; `reference-unknown` reports the others."""
    known = {stop.station for stop in lab.stations}
    return all(known.issuperset(order.stations) for order in lab.orders) and all(
        fixed.station in known for fixed in lab.fixed
    )
