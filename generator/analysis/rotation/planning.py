"""How a plan is made: the day from the lab, its timetable, what honest order costs, the roles, and what is used up."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from decimal import Decimal
from time import monotonic

from generator.analysis.at_station import attempts_at
from generator.analysis.rotation.clashing import clash_in_words
from generator.analysis.rotation.clock import slots_of
from generator.analysis.rotation.day import Breach, Day, Timetable, bound
from generator.analysis.rotation.from_lab import day_of, typed_timetable, units_at_work, with_learners
from generator.analysis.rotation.plan import Clash, LabPlan, Load, Turn
from generator.analysis.rotation.price import price_of
from generator.analysis.rotation.roles import ALONE, Attempt, Duty, Task, share_out
from generator.analysis.rotation.rules import breaches
from generator.analysis.rotation.solve import Aim, Tell, rotate, staff
from generator.analysis.rotation.verdict import changes_in_words, verdict_of
from generator.diagnostics import Problem
from generator.model import Curriculum, Lab


def make_plan(
    curriculum: Curriculum,
    lab_id: str,
    *,
    without: tuple[str, ...],
    learners: int | None,
    seconds: float,
    tell: Tell | None,
    near: LabPlan | None,
) -> LabPlan | Clash:
    """See `plan_of`."""
    lab = with_learners(curriculum.labs[lab_id], learners)
    day = day_of(curriculum, lab, without=without)
    typed = typed_timetable(curriculum, lab) if near is None and not without and learners is None else None
    until = monotonic() + seconds
    price = None
    if typed is not None:
        aims, table = staff(day, typed, seconds=seconds)
        broken = breaches(day, table)
    else:
        found = rotate(day, seconds=seconds * 0.8, tell=tell, near=near.timetable if near else None)
        if found.timetable is None:
            return clash_in_words(
                curriculum, lab, day, found, without=without, seconds=max(1.0, until - monotonic())
            )
        aims, table, broken = found.aims, found.timetable, ()
        price = price_of(curriculum, lab, day, found, seconds=max(0.5, until - monotonic()))
    turns, duties = _turns(curriculum, lab, day, table)
    loads = _loads(curriculum, lab, day, turns)
    supplies: Counter[str] = Counter()
    for load in loads:
        supplies.update(dict(load.supplies))
    plan = LabPlan(
        lab=lab.id,
        group_sizes=day.group_sizes,
        slots=slots_of(lab, table.blocks),
        turns=turns,
        duties=duties,
        bound=bound(day),
        aims=aims,
        verdict=(),
        price=price,
        loads=loads,
        supplies=tuple(supplies.items()),
        breaches=broken,
        problems=typed_problems(curriculum, lab, broken),
        changed=(),
        is_typed=typed is not None,
        without=without,
        learners=lab.learners,
        day=day,
        timetable=table,
    )
    return replace(plan, verdict=verdict_of(plan), changed=changes_in_words(curriculum, near, plan) if near else ())
