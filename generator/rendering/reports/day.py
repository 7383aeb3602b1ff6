"""The instructor's list for a day: whom to check on what, with which checklist."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from functools import partial
from typing import Any

from generator.analysis.phrases import either
from generator.analysis.readiness.labs import due_said
from generator.analysis.readiness.results import Readiness, Status, ToCheck
from generator.analysis.wording import fill
from generator.model import Curriculum, Paper
from generator.model.attempt import Attempt, KnownRevision
from generator.rendering.lab_day import day_said
from generator.rendering.reports.base import COACHED, CRITICAL, FOR_INSTRUCTORS, document_of
from generator.rendering.reports.cohort import ordered_skills
from generator.rendering.reports.marks import MARKS
from generator.rendering.reports.says import counted, place, stepper
from generator.rendering.reports.typesetter import pdf_of

WORDS = {
    "learner": "Learner",
    "why": "Why",
    "watch": "Watch these steps",
    "outcome": "Checked",
    "done": "done",
    **CRITICAL,
    "watch_all": "None stands out. Watch all of them.",
}
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
            curriculum.say("“{step}”", step=fill(step.do, curriculum).rstrip("."))
            for step in critical
            if step.id not in listed_then
        ]
        text = curriculum.many(
            len(mine),
            "{count} attempt was marked on an older print, the last on {day}.",
            "{count} attempts were marked on an older print, the last on {day}.",
            day=max(one.on for one in mine),
        )
        if unlisted:
            steps = either(unlisted, curriculum.say)
            unjudged = curriculum.say("It did not list {steps}: watch for that.", steps=steps)
            text = f"{text} {unjudged}"
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
    say = curriculum.say
    if lab is None:
        checks, on, where = _everyone(readiness, curriculum), readiness.on, say("Checks that are due")
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
        title=say("{what}: {day}", what=where, day=day_said(curriculum, on)),
        running=say("Instructor’s list · {what}", what=where),
        on=on,
        paper=paper,
        private=FOR_INSTRUCTORS,
        words=WORDS,
    )
    learners = len({check.learner for check in checks})
    opening = (
        [
            say(
                "{checks} for {learners} on {skills}. Mark each on its checklist; the box here only says that it was "
                "done. No coaching during a check.",
                checks=counted(curriculum, len(checks), "{count} check", "{count} checks"),
                learners=counted(curriculum, learners, "{count} learner", "{count} learners"),
                skills=counted(curriculum, len(skills), "{count} skill", "{count} skills"),
            )
        ]
        if checks
        else [say("Nobody is due for a check.")]
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
                        why=due_said(curriculum, one),
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
    say = curriculum.say
    where = place(curriculum, checks[0].rung, checks[0].trainer)
    lines = []
    if in_lab:
        stations = [curriculum.stations[id].title for id in checks[0].stations if id in curriculum.stations]
        if stations:
            lines.append(say("At the station {stations}.", stations=either(stations, say)))
        if not checks[0].is_at_rung:
            bring = "No station of this day is at the check’s rung: bring what it needs ({place})."
            lines.append(say(bring, place=where))
    rows = []
    for check in checks:
        standing, mark = readiness.standing(check.learner, skill), MARKS[check.status]
        watch = [{"step": name(skill, one.step), "critical": one.is_critical} for one in standing.coach[:COACHED]]
        rows.append(
            {
                "learner": check.learner,
                "status": mark.id,
                "letter": mark.letter,
                "why": _DATE.sub(partial(_in_words, curriculum), f"{check.why} {notes[check.learner]}".rstrip()),
                "watch": watch,
            }
        )
    marked_on = (
        say(
            "Checklist: {skill}, revision {revision}. Rung and trainer: {place}.",
            skill=found.title,
            revision=revision,
            place=where,
        )
        if revision
        else say("Checklist: {skill}. Rung and trainer: {place}.", skill=found.title, place=where)
    )
    return {"title": found.title, "checklist": marked_on, "lines": lines, "rows": rows}


def _in_words(curriculum: Curriculum, found: re.Match[str]) -> str:
    """A day in a sentence as `25 November 2026`; anything that is in no calendar stays as it is."""
    try:
        return day_said(curriculum, date.fromisoformat(found[0]))
    except ValueError:
        return found[0]
