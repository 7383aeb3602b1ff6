"""Whom to check on which lab day."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta

from generator.analysis.readiness.results import LabList, Standing, Status, ToCheck
from generator.analysis.wear import labs_in_order
from generator.model import Curriculum, Lab

NO_LATER_LAB = timedelta(days=31)
"""With no later lab day for a skill, a clearance that ends within this time after the day is checked on it."""


def lab_lists(
    curriculum: Curriculum, standings: Mapping[tuple[str, str], Standing], *, on: date
) -> tuple[LabList, ...]:
    """For each lab day from `on` on, the learners to check there.

    A learner who is ready, or whose refresh is due, stands on the first day that has a station of the skill. A
    learner whose clearance will end before the next such day (or, with none planned, within a month after) stands on
    the last day that comes in time. Those on hold stand on the first day, after their clean attempts.
    """
    labs = [lab for lab in labs_in_order(curriculum) if lab.on >= on]
    days = {id: [lab for lab in labs if _stations(curriculum, lab, id)] for id in curriculum.skills}
    lists: dict[str, list[ToCheck]] = {lab.id: [] for lab in labs}
    order = {id: place for place, id in enumerate(curriculum.skills)}
    for standing in sorted(standings.values(), key=lambda one: order[one.skill]):
        mine = days[standing.skill]
        lab, why = _when(curriculum, standing, mine)
        if lab is not None:
            lists[lab.id].append(_check(curriculum, lab, standing, why))
    return tuple(LabList(lab=lab.id, on=lab.on, checks=tuple(lists[lab.id])) for lab in labs)


def due_said(curriculum: Curriculum, standing: Standing) -> str:
    """Why a learner who is ready, or whose clearance ended, is checked."""
    if standing.status is Status.READY:
        return curriculum.say("Ready to check.")
    return curriculum.say("The clearance ended on {day}.", day=standing.valid_until)


def _when(curriculum: Curriculum, standing: Standing, labs: list[Lab]) -> tuple[Lab | None, str]:
    if not labs:
        return None, ""
    if standing.status in (Status.READY, Status.REFRESH_DUE):
        return labs[0], due_said(curriculum, standing)
    if standing.status is Status.ON_HOLD:
        left = standing.needed_in_a_row - standing.clean_in_a_row
        return labs[0], curriculum.many(
            left,
            "On hold since {day}: {count} clean attempt first, then a new check.",
            "On hold since {day}: {count} clean attempts first, then a new check.",
            day=standing.failed_on,
        )
    if standing.status is Status.CLEARED and standing.valid_until:
        in_time = [lab for lab in labs if lab.on <= standing.valid_until]
        if in_time:
            lab = in_time[-1]
            is_last = len(in_time) == len(labs)
            if not is_last or standing.valid_until <= lab.on + NO_LATER_LAB:
                return lab, curriculum.say("The clearance ends on {day}.", day=standing.valid_until)
    return None, ""


def _stations(curriculum: Curriculum, lab: Lab, skill: str) -> list[str]:
    ids = [stop.station for stop in lab.stations if stop.station in curriculum.stations]
    return [id for id in dict.fromkeys(ids) if curriculum.stations[id].skill == skill]


def _check(curriculum: Curriculum, lab: Lab, standing: Standing, why: str) -> ToCheck:
    skill = curriculum.skills[standing.skill]
    plans = [plan for plan in skill.ladder if plan.rung == skill.clearance.rung]
    stations = _stations(curriculum, lab, skill.id)
    at_rung = [
        id
        for id in stations
        if curriculum.stations[id].rung == skill.clearance.rung
        and (not plans or curriculum.stations[id].trainer in {plan.trainer for plan in plans})
    ]
    trainer = curriculum.stations[at_rung[0]].trainer if at_rung else plans[0].trainer if plans else ""
    return ToCheck(
        learner=standing.learner,
        skill=skill.id,
        status=standing.status,
        why=why,
        rung=skill.clearance.rung,
        trainer=trainer,
        stations=(*at_rung, *(id for id in stations if id not in at_rung)),
        is_at_rung=bool(at_rung),
    )
