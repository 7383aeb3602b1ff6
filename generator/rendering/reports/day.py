"""The instructor's list for a day: whom to check on what, with which checklist."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from generator.analysis.phrases import joined
from generator.analysis.readiness.results import Readiness, Status, ToCheck
from generator.analysis.wording import fill
from generator.model import Curriculum, Paper
from generator.model.attempt import Attempt, KnownRevision
from generator.rendering.reports.base import COACHED, CRITICAL, FOR_INSTRUCTORS, day_in_words, document_of
from generator.rendering.reports.cohort import ordered_skills
from generator.rendering.reports.marks import MARKS
from generator.rendering.reports.says import counted, place, stepper
from generator.rendering.reports.typesetter import pdf_of

_DATE = re.compile(r"\b\d{4}-\d{2}-\d{2}\b")


def day_list(
    readiness: Readiness,
    curriculum: Curriculum,
    *,
    lab: str | None = None,
    revisions: Mapping[str, str] | None = None,
    older: Mapping[tuple[str, str], str] | None = None,
    paper: Paper | None = None,
) -> bytes:
    """The instructor's list as PDF: whom to check on what, with which checklist.

    With a lab day, those whom that day can check; without one, everyone who is ready or due. `revisions`
    holds the revision of each skill's checklist, to be compared with the print in hand; `older` what to say about
    a (learner, skill) whose attempts were marked on an older print, from `older_prints`.
    Errors: KeyError for a lab day that readiness does not hold.
    """
    return pdf_of(day_data(readiness, curriculum, lab=lab, revisions=revisions or {}, older=older, paper=paper))


def older_prints(
    curriculum: Curriculum, attempts: Iterable[Attempt], known: Mapping[str, KnownRevision], *, on: date
) -> dict[tuple[str, str], str]:
    """What to say about each (learner, skill) with attempts up to `on` that were marked on an older print.

    A critical step of today that no older print listed was never judged on it, so it is named.
    """
    found: dict[tuple[str, str], list[Attempt]] = {}
    for attempt in attempts:
        print_ = known.get(attempt.revision)
        if print_ and not print_.is_current and attempt.on <= on and attempt.skill in curriculum.skills:
            found.setdefault((attempt.learner, attempt.skill), []).append(attempt)
    said = {}
    for (learner, skill), mine in found.items():
        listed_then = {step for one in mine for step in known[one.revision].steps}
        critical = curriculum.skills[skill].critical_steps
        unlisted = [
            f"“{fill(step.do, curriculum.quantities).rstrip('.')}”" for step in critical if step.id not in listed_then
        ]
        were = "attempt was" if len(mine) == 1 else "attempts were"
        text = f"{len(mine)} {were} marked on an older print, the last on {max(one.on for one in mine)}."
        if unlisted:
            text += f" It did not list {joined(unlisted, 'or')}: watch for that."
        said[learner, skill] = text
    return said


def day_data(
    readiness: Readiness,
    curriculum: Curriculum,
    *,
    lab: str | None = None,
    revisions: Mapping[str, str],
    older: Mapping[tuple[str, str], str] | None = None,
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
        notes = {check.learner: (older or {}).get((check.learner, skill), "") for check in mine}
        skills.append(
            _day_skill(readiness, curriculum, skill, mine, revisions.get(skill), notes=notes, in_lab=lab is not None)
        )
    document = document_of(
        curriculum,
        kind="day",
        title=f"{where}: {day_in_words(on)}",
        running=f"Instructor’s list · {where}",
        on=on,
        paper=paper,
        private=FOR_INSTRUCTORS,
        words={"learner": "Learner", "why": "Why", "watch": "Watch these steps", "outcome": "Checked", "done": "done"}
        | CRITICAL
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
    notes: Mapping[str, str],
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
            lines.append(f"At the station {joined(stations, 'or')}.")
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
                "why": _DATE.sub(_in_words, f"{check.why} {notes[check.learner]}".rstrip()),
                "watch": watch,
            }
        )
    return {"title": found.title, "checklist": f"{print_of}. Rung and trainer: {where}.", "lines": lines, "rows": rows}


def _in_words(found: re.Match[str]) -> str:
    """A day in a sentence as `25 November 2026`; anything that is in no calendar stays as it is."""
    try:
        return day_in_words(date.fromisoformat(found[0]))
    except ValueError:
        return found[0]
