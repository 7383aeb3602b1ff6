"""The cohort in the report: who needs an instructor, the board, each learner's next steps, refresh dates."""

from __future__ import annotations

from typing import Any

from generator.analysis.readiness.results import Readiness, Standing, Status
from generator.analysis.statistics.result import Interval
from generator.model import Curriculum
from generator.rendering.lab_day import day_said
from generator.rendering.reports.marks import MARKS, sign
from generator.rendering.reports.plots import interval_bar
from generator.rendering.reports.says import grouped, place, stepper, sure

CALLS = (Status.READY, Status.ON_HOLD, Status.REFRESH_DUE)
"""What needs an instructor, in the order of the columns."""

URGENT_FIRST = (Status.ON_HOLD, Status.READY, Status.REFRESH_DUE, Status.PRACTISING, Status.CLEARED)
"""A learner's skills in the order in which somebody must act."""


def ordered_skills(readiness: Readiness, curriculum: Curriculum) -> tuple[str, ...]:
    """Skills strand by strand, in the program's order of strands; skills of unknown strands last."""
    strands = [strand.id for strand in curriculum.program.strands]

    def key(skill: str) -> int:
        strand = curriculum.skills[skill].strand
        return strands.index(strand) if strand in strands else len(strands)

    return tuple(sorted(readiness.skills, key=key))


def begun_skills(readiness: Readiness, curriculum: Curriculum) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Skills that somebody has begun, and skills that nobody has, each strand by strand."""
    begun = {skill for (_, skill), one in readiness.standings.items() if one.status is not Status.NOT_STARTED}
    skills = ordered_skills(readiness, curriculum)
    return tuple(id for id in skills if id in begun), tuple(id for id in skills if id not in begun)


def calls(readiness: Readiness, curriculum: Curriculum) -> list[dict[str, Any]]:
    """Skills in which somebody is ready, on hold or due, with the codes."""
    rows = []
    for skill in ordered_skills(readiness, curriculum):
        found: dict[Status, list[str]] = {status: [] for status in CALLS}
        for learner in readiness.learners:
            status = readiness.standing(learner, skill).status
            if status in found:
                found[status].append(learner)
        if any(found.values()):
            rows.append(
                {
                    "skill": curriculum.skills[skill].title,
                    "cells": [
                        {"label": curriculum.label(MARKS[status].name), "codes": found[status]} for status in CALLS
                    ],
                }
            )
    return rows


def board_of(readiness: Readiness, curriculum: Curriculum) -> dict[str, Any]:
    """The board as rows of ready cells."""
    skills, untouched = begun_skills(readiness, curriculum)
    cells = {status: sign(status, curriculum, worded=False) for status in Status}
    strands: list[dict[str, Any]] = []
    for skill in skills:
        strand = curriculum.skills[skill].strand
        if not strands or strands[-1]["id"] != strand:
            name = next((s.short or s.name for s in curriculum.program.strands if s.id == strand), strand)
            strands.append({"id": strand, "name": name, "span": 0})
        strands[-1]["span"] += 1
    starts = {sum(strand["span"] for strand in strands[:number]) for number in range(len(strands))}
    return {
        "strands": strands,
        "starts": starts,
        "skills": [curriculum.skills[skill].title for skill in skills],
        "untouched": "; ".join(curriculum.skills[skill].title for skill in untouched),
        "rows": [
            {
                "learner": learner,
                "cells": [cells[readiness.standing(learner, skill).status] for skill in skills],
                "cleared": sum(readiness.standing(learner, skill).status is Status.CLEARED for skill in skills),
            }
            for learner in readiness.learners
        ],
        "totals": [
            sum(readiness.standing(learner, skill).status is Status.CLEARED for learner in readiness.learners)
            for skill in skills
        ],
    }


def learners_of(readiness: Readiness, curriculum: Curriculum) -> list[dict[str, Any]]:
    """Each learner with every skill that was begun: status, why, what next, what to coach, how sure."""
    name = stepper(curriculum)
    found = []
    for learner in readiness.learners:
        standings = [readiness.standing(learner, skill) for skill in ordered_skills(readiness, curriculum)]
        begun = sorted(
            (one for one in standings if one.status in URGENT_FIRST), key=lambda one: URGENT_FIRST.index(one.status)
        )
        tally = [
            curriculum.say(MARKS[status].tally, count=grouped(curriculum, count))
            for status in Status
            if status is not Status.NOT_STARTED and (count := sum(one.status is status for one in begun))
        ]
        waiting = [curriculum.skills[one.skill].title for one in standings if one.status is Status.NOT_STARTED]
        found.append(
            {
                "learner": learner,
                "tally": ", ".join(tally) or curriculum.say("nothing begun yet"),
                "rows": [_row(one, curriculum, name) for one in begun],
                "waiting": "; ".join(waiting),
            }
        )
    return found


def _row(one: Standing, curriculum: Curriculum, name: Any) -> dict[str, Any]:
    interval = one.interval
    return {
        "skill": curriculum.skills[one.skill].title,
        "sign": sign(one.status, curriculum, worded=True),
        "reasons": list(one.reasons),
        "next": one.next.what if one.next else "",
        "where": place(curriculum, one.next.rung, one.next.trainer) if one.next else "",
        "coach": [
            {
                "step": name(one.skill, coach.step),
                "missed": curriculum.many(
                    coach.attempts,
                    "missed in {missed} of the last {count} attempt",
                    "missed in {missed} of the last {count} attempts",
                    missed=coach.missed,
                ),
                "critical": coach.is_critical,
            }
            for coach in one.coach
        ],
        "clean": curriculum.say(
            "{clean} of {attempts} clean on this rung; the true share is {sure}",
            clean=one.share_clean,
            attempts=one.share_of,
            sure=sure(curriculum, interval),
        )
        if one.share_of
        else "",
        "bar": interval_bar(interval.low, one.share_clean / one.share_of, interval.high)
        if isinstance(interval, Interval) and one.share_of
        else "",
        "until": day_said(curriculum, one.valid_until) if one.valid_until else "",
    }


def refreshes_of(readiness: Readiness, curriculum: Curriculum) -> list[dict[str, Any]]:
    """Clearances in the order in which they end."""
    return [
        {
            "learner": one.learner,
            "skill": curriculum.skills[one.skill].title,
            "until": day_said(curriculum, one.valid_until),
            "over": one.is_over,
            "last": day_said(curriculum, one.last_success) if one.last_success else "",
            "by": day_said(curriculum, one.practise_by) if one.practise_by else "",
        }
        for one in readiness.refreshes
    ]
