"""Documents on paper: a learner's own letter, the instructor's list for a day, the cohort board."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from generator.analysis.readiness.results import Readiness, Standing, Status, ToCheck
from generator.analysis.wording import fill
from generator.model import Curriculum, Paper
from generator.rendering.reports.base import FOR_INSTRUCTORS, FOR_LEARNER, day_in_words, document_of
from generator.rendering.reports.cohort import begun_skills, ordered_skills
from generator.rendering.reports.marks import MARKS
from generator.rendering.reports.says import counted, listed, place, stepper
from generator.rendering.reports.typesetter import pdf_of

COLUMNS = 22
"""Skills on one page of the board: 9 mm a column on the narrower landscape page, ours."""
_DATE = re.compile(r"\b\d{4}-\d{2}-\d{2}\b")
COACHED = 3
"""Steps named for coaching at once; more than a few are not kept in mind (CAP 676: fewer than 4 items)."""


def letter(readiness: Readiness, learner: str, curriculum: Curriculum, *, paper: Paper | None = None) -> bytes:
    """A learner's own letter as PDF. It is made from that learner's standings alone.

    Errors: KeyError for a learner without a row.
    """
    return pdf_of(letter_data(readiness, learner, curriculum, paper=paper))


def day_list(
    readiness: Readiness,
    curriculum: Curriculum,
    *,
    lab: str | None = None,
    revisions: Mapping[str, str] | None = None,
    paper: Paper | None = None,
) -> bytes:
    """The instructor's list as PDF: whom to check on what, with which checklist.

    With a lab day, those whom that day can check; without one, everyone who is ready, on hold or due. `revisions`
    holds the revision of each skill's checklist, to be compared with the print in hand.
    Errors: KeyError for a lab day that readiness does not hold.
    """
    return pdf_of(day_data(readiness, curriculum, lab=lab, revisions=revisions or {}, paper=paper))


def board(readiness: Readiness, curriculum: Curriculum, *, paper: Paper | None = None) -> bytes:
    """The cohort board as PDF, landscape."""
    return pdf_of(board_data(readiness, curriculum, paper=paper))


def letter_data(
    readiness: Readiness, learner: str, curriculum: Curriculum, *, paper: Paper | None = None
) -> dict[str, Any]:
    """The letter as plain data."""
    own = {skill: readiness.standing(learner, skill) for skill in ordered_skills(readiness, curriculum)}
    by_status = {status: [one for one in own.values() if one.status is status] for status in Status}
    attempts = sum(one.attempts for one in own.values())
    begun = sum(one.attempts > 0 for one in own.values())
    cleared = len(by_status[Status.CLEARED])
    opening = [
        f"Learner {learner}. You have made {counted(attempts, 'attempt', 'attempts')} on "
        f"{counted(begun, 'skill', 'skills')}. Thank you for the work: each of them tells you what to do next.",
        f"{counted(cleared, 'skill is', 'skills are')} cleared."
        if cleared
        else "No skill is cleared yet. That comes with an instructor’s check, once practice is steady.",
    ]
    parts = [
        _part(curriculum, heading, about, by_status[status])
        for status, heading, about in _LETTER_PARTS
        if by_status[status]
    ]
    waiting = [curriculum.skills[one.skill].title for one in by_status[Status.NOT_STARTED]]
    document = document_of(
        curriculum,
        kind="letter",
        title=f"Your skills on {day_in_words(readiness.on)}",
        running=f"Your skills · {learner}",
        on=readiness.on,
        paper=paper,
        private=FOR_LEARNER,
        words=_CRITICAL,
    )
    closing = [f"Not started yet: {'; '.join(waiting)}."] if waiting else []
    closing.append("Does something here not match what you remember? Tell an instructor: rows can be wrong.")
    return document | {"opening": opening, "parts": parts, "closing": closing}


_CRITICAL = {"critical": "Critical:"}
_LETTER_PARTS = (
    (Status.CLEARED, "Cleared", "You may do these on a patient, supervised, as your level and local rules allow."),
    (
        Status.READY,
        "Ready: ask for your check",
        "Your practice is steady. An instructor’s check is what clears you; a peer’s ticks brought you here.",
    ),
    (
        Status.ON_HOLD,
        "Practice first, then a new check",
        "A check showed what to work on. That is what a check is for; it says nothing about how far you will get.",
    ),
    (Status.REFRESH_DUE, "Time for a refresh", "Hands forget. You were cleared, and the time has run out."),
    (Status.PRACTISING, "Keep practising", None),
)


def _part(curriculum: Curriculum, heading: str, about: str | None, standings: Sequence[Standing]) -> dict[str, Any]:
    return {"heading": heading, "about": about, "items": [_item(curriculum, one) for one in standings]}


def _item(curriculum: Curriculum, one: Standing) -> dict[str, Any]:
    skill, mark = curriculum.skills[one.skill], MARKS[one.status]
    lines = []
    if one.status is Status.CLEARED:
        dates = []
        if one.valid_until:
            dates.append(f"Until {day_in_words(one.valid_until)}.")
        if one.practise_by and one.practise_by != one.valid_until:
            dates.append(f"Make a clean attempt by {day_in_words(one.practise_by)} to stay in practice.")
        lines.append(" ".join(dates))
    elif one.next:
        lines.append(f"Next: {_sentence(one.next.what)}")
    if one.status is Status.ON_HOLD:
        lines.append(fill(skill.clearance.after_a_fail, curriculum.quantities))
    name = stepper(curriculum)
    coach = [] if one.status is Status.CLEARED else one.coach[:COACHED]
    return {
        "title": skill.title,
        "status": mark.id,
        "letter": mark.letter,
        "lines": lines,
        "coach_label": "Ask to be coached on:",
        "coach": [{"step": name(one.skill, step.step), "critical": step.is_critical} for step in coach],
    }


def day_data(
    readiness: Readiness,
    curriculum: Curriculum,
    *,
    lab: str | None = None,
    revisions: Mapping[str, str],
    paper: Paper | None = None,
) -> dict[str, Any]:
    """The instructor's list as plain data."""
    if lab is None:
        checks, on, where = _everyone(readiness, curriculum), readiness.on, "Checks that are due"
    else:
        found = next((one for one in readiness.labs if one.lab == lab), None)
        if found is None:
            raise KeyError(lab)
        checks, on, where = list(found.checks), found.on, curriculum.labs[lab].title
    skills = []
    for skill in dict.fromkeys(check.skill for check in checks):
        mine = [check for check in checks if check.skill == skill]
        skills.append(_day_skill(readiness, curriculum, skill, mine, revisions.get(skill), in_lab=lab is not None))
    document = document_of(
        curriculum,
        kind="day",
        title=f"{where}: {day_in_words(on)}",
        running=f"Instructor’s list · {where}",
        on=on,
        paper=paper,
        private=FOR_INSTRUCTORS,
        words={"learner": "Learner", "why": "Why", "watch": "Watch these steps", "outcome": "Checked", "done": "done"}
        | _CRITICAL
        | {"watch_all": "None stands out. Watch all of them."},
    )
    learners = len({check.learner for check in checks})
    opening = (
        [
            f"{counted(len(checks), 'check', 'checks')} for {counted(learners, 'learner', 'learners')} on "
            f"{counted(len(skills), 'skill', 'skills')}. Mark each on its checklist; the box here only says that it "
            "was done. No coaching during a check."
        ]
        if checks
        else ["Nobody is due for a check."]
    )
    return document | {"opening": opening, "skills": skills, "closing": []}


def _everyone(readiness: Readiness, curriculum: Curriculum) -> list[ToCheck]:
    checks = []
    for skill in ordered_skills(readiness, curriculum):
        clearance = curriculum.skills[skill].clearance
        trainer = next((plan.trainer for plan in curriculum.skills[skill].ladder if plan.rung == clearance.rung), "")
        for learner in readiness.learners:
            one = readiness.standing(learner, skill)
            if one.status in (Status.READY, Status.REFRESH_DUE):
                checks.append(
                    ToCheck(
                        learner=learner,
                        skill=skill,
                        status=one.status,
                        why="Ready to check."
                        if one.status is Status.READY
                        else f"The clearance ended on {one.valid_until}.",
                        rung=clearance.rung,
                        trainer=trainer,
                        stations=(),
                        is_at_rung=True,
                    )
                )
    return checks


def _day_skill(
    readiness: Readiness,
    curriculum: Curriculum,
    skill: str,
    checks: Sequence[ToCheck],
    revision: str | None,
    *,
    in_lab: bool,
) -> dict[str, Any]:
    found = curriculum.skills[skill]
    name = stepper(curriculum)
    print_of = f"Checklist: {found.title}" + (f", revision {revision}" if revision else "")
    where = place(curriculum, checks[0].rung, checks[0].trainer)
    lines = []
    if in_lab:
        stations = [curriculum.stations[id].title for id in checks[0].stations if id in curriculum.stations]
        if stations:
            lines.append(f"At the station {listed(stations, 'or')}.")
        if not checks[0].is_at_rung:
            lines.append(f"No station of this day is at the check’s rung: bring what it needs ({where}).")
    rows = []
    for check in checks:
        standing, mark = readiness.standing(check.learner, skill), MARKS[check.status]
        watch = [{"step": name(skill, one.step), "critical": one.is_critical} for one in standing.coach[:COACHED]]
        rows.append(
            {
                "learner": check.learner,
                "status": mark.id,
                "letter": mark.letter,
                "why": _DATE.sub(_in_words, check.why),
                "watch": watch,
            }
        )
    return {"title": found.title, "checklist": f"{print_of}. Rung and trainer: {where}.", "lines": lines, "rows": rows}


def board_data(readiness: Readiness, curriculum: Curriculum, *, paper: Paper | None = None) -> dict[str, Any]:
    """The board as plain data, a part for each set of columns that one page holds."""
    skills, untouched = begun_skills(readiness, curriculum)
    pages = max(1, -(-len(skills) // COLUMNS))
    width = max(1, -(-len(skills) // pages))
    parts = []
    for start in range(0, len(skills), width):
        chosen = skills[start : start + width]
        rows = []
        for learner in readiness.learners:
            marks = [MARKS[readiness.standing(learner, skill).status] for skill in chosen]
            rows.append({"learner": learner, "cells": [{"status": mark.id, "letter": mark.letter} for mark in marks]})
        parts.append({"skills": [curriculum.skills[skill].title for skill in chosen], "rows": rows})
    document = document_of(
        curriculum,
        kind="board",
        title=f"Cohort board: {day_in_words(readiness.on)}",
        running="Cohort board",
        on=readiness.on,
        paper=paper,
        private=FOR_INSTRUCTORS,
        words={"learner": "Learner"},
    )
    statuses = [{"id": mark.id, "letter": mark.letter, "name": mark.name} for mark in MARKS.values()]
    titles = "; ".join(curriculum.skills[skill].title for skill in untouched)
    return document | {
        "statuses": statuses,
        "parts": parts,
        "untouched": f"Begun by nobody: {titles}." if titles else "",
    }


def _sentence(text: str) -> str:
    return text if text.endswith((".", "!", "?")) else f"{text}."


def _in_words(found: re.Match[str]) -> str:
    """A day in a sentence as `25 November 2026`; anything that is in no calendar stays as it is."""
    try:
        return day_in_words(date.fromisoformat(found[0]))
    except ValueError:
        return found[0]
