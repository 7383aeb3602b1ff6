"""A learner's own letter: what is cleared, what comes next, what to be coached on. Nobody else is in it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from generator.analysis.readiness.results import Readiness, Standing, Status
from generator.analysis.wording import fill
from generator.model import Curriculum, Paper
from generator.rendering.lab_day import day_said
from generator.rendering.reports.base import COACHED, CRITICAL, FOR_LEARNER, document_of
from generator.rendering.reports.cohort import ordered_skills
from generator.rendering.reports.marks import MARKS
from generator.rendering.reports.says import counted, stepper
from generator.rendering.reports.typesetter import pdf_of

LETTER_PARTS = (
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


def letter(readiness: Readiness, learner: str, curriculum: Curriculum, *, paper: Paper | None = None) -> bytes:
    """A learner's own letter as PDF. It is made from that learner's standings alone.

    Errors: KeyError for a learner without a row.
    """
    return pdf_of(letter_data(readiness, learner, curriculum, paper=paper))


def letter_data(
    readiness: Readiness, learner: str, curriculum: Curriculum, *, paper: Paper | None = None
) -> dict[str, Any]:
    """The letter as plain data."""
    say = curriculum.say
    own = {skill: readiness.standing(learner, skill) for skill in ordered_skills(readiness, curriculum)}
    by_status = {status: [one for one in own.values() if one.status is status] for status in Status}
    attempts = sum(one.attempts for one in own.values())
    begun = sum(one.attempts > 0 for one in own.values())
    cleared = len(by_status[Status.CLEARED])
    opening = [
        say(
            "Learner {learner}. You have made {attempts} on {skills}. Thank you for the work: each of them tells you "
            "what to do next.",
            learner=learner,
            attempts=counted(curriculum, attempts, "{count} attempt", "{count} attempts"),
            skills=counted(curriculum, begun, "{count} skill", "{count} skills"),
        ),
        counted(curriculum, cleared, "{count} skill is cleared.", "{count} skills are cleared.")
        if cleared
        else say("No skill is cleared yet. That comes with an instructor’s check, once practice is steady."),
    ]
    parts = [
        _part(curriculum, heading, about, by_status[status])
        for status, heading, about in LETTER_PARTS
        if by_status[status]
    ]
    waiting = [curriculum.skills[one.skill].title for one in by_status[Status.NOT_STARTED]]
    document = document_of(
        curriculum,
        kind="letter",
        title=say("Your skills on {day}", day=day_said(curriculum, readiness.on)),
        running=say("Your skills · {learner}", learner=learner),
        on=readiness.on,
        paper=paper,
        private=FOR_LEARNER,
        words=CRITICAL,
    )
    closing = [say("Not started yet: {skills}.", skills="; ".join(waiting))] if waiting else []
    closing.append(say("Does something here not match what you remember? Tell an instructor: rows can be wrong."))
    return document | {"opening": opening, "parts": parts, "closing": closing}


def _part(curriculum: Curriculum, heading: str, about: str | None, standings: Sequence[Standing]) -> dict[str, Any]:
    label = curriculum.label
    return {
        "heading": label(heading),
        "about": about and label(about),
        "items": [_item(curriculum, one) for one in standings],
    }


def _item(curriculum: Curriculum, one: Standing) -> dict[str, Any]:
    skill, mark = curriculum.skills[one.skill], MARKS[one.status]
    say = curriculum.say
    lines = []
    if one.status is Status.CLEARED:
        dates = []
        if one.valid_until:
            dates.append(say("Until {day}.", day=day_said(curriculum, one.valid_until)))
        if one.practise_by and one.practise_by != one.valid_until:
            by = day_said(curriculum, one.practise_by)
            dates.append(say("Make a clean attempt by {day} to stay in practice.", day=by))
        lines.append(" ".join(dates))
    elif one.next:
        lines.append(say("Next: {what}", what=_sentence(one.next.what)))
    if one.status is Status.ON_HOLD:
        lines.append(fill(skill.clearance.after_a_fail, curriculum))
    name = stepper(curriculum)
    coach = [] if one.status is Status.CLEARED else one.coach[:COACHED]
    return {
        "title": skill.title,
        "status": mark.id,
        "letter": mark.letter,
        "lines": lines,
        "coach_label": say("Ask to be coached on:"),
        "coach": [{"step": name(one.skill, step.step), "critical": step.is_critical} for step in coach],
    }


def _sentence(text: str) -> str:
    return text if text.endswith((".", "!", "?")) else f"{text}."
