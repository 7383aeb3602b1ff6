"""The private report: one HTML file that needs nothing else, no script and no request."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Any

from markupsafe import Markup

from generator.analysis.agreement_of_attempts import Peers, peers_beside_instructors
from generator.analysis.readiness.results import Readiness
from generator.analysis.wording import fill
from generator.model import Curriculum
from generator.model.attempt import Attempt, KnownRevision, SetAside
from generator.rendering.directions import direction_of_language
from generator.rendering.lab_day import day_said
from generator.rendering.reports.base import FOR_INSTRUCTORS, STARTER
from generator.rendering.reports.cohort import board_of, calls, learners_of, refreshes_of
from generator.rendering.reports.figures import carry_over_of, needed_of, rules_of, steps_of
from generator.rendering.reports.marks import MARKS, sign, symbols
from generator.rendering.reports.own_words import FOLDER, page_of
from generator.rendering.reports.peers import peers_of
from generator.rendering.reports.says import counted, grouped

ROWS_SHOWN = 500
"""Rows set aside that are listed one by one; their reasons are counted over all."""


def report_html(
    readiness: Readiness,
    curriculum: Curriculum,
    *,
    attempts: Sequence[Attempt],
    set_aside: Sequence[SetAside] = (),
    known: Sequence[KnownRevision] = (),
    file_name: str = "",
) -> str:
    """The report on a file of attempts, for instructors only.

    `attempts` are the rows that `readiness` judged, `set_aside` the rows that were not, `known` the sheets whose steps
    are known. The same input gives the same text.
    """
    peers = peers_beside_instructors(attempts, curriculum.skills, known)
    return report_of(readiness, curriculum, peers=peers, set_aside=set_aside, file_name=file_name)


def report_of(
    readiness: Readiness,
    curriculum: Curriculum,
    *,
    peers: Peers,
    set_aside: Sequence[SetAside] = (),
    file_name: str = "",
) -> str:
    """The same where the pairs have been counted already."""
    program = curriculum.program
    return page_of(
        "report.html.j2",
        curriculum,
        css=_css(),
        lang=program.language,
        direction=direction_of_language(program.language),
        program=program.name,
        on=day_said(curriculum, readiness.on),
        file_name=file_name,
        private=curriculum.label(FOR_INSTRUCTORS),
        deferral=fill(program.medical_direction, curriculum),
        starter="" if program.approval else curriculum.label(STARTER),
        counts=_counts(curriculum, readiness, set_aside),
        symbols=symbols(),
        legend=[
            {"sign": sign(status, curriculum, worded=True), "about": curriculum.label(mark.about)}
            for status, mark in MARKS.items()
        ],
        calls=calls(readiness, curriculum),
        board=board_of(readiness, curriculum),
        learners=learners_of(readiness, curriculum),
        refreshes=refreshes_of(readiness, curriculum),
        rules=rules_of(readiness, curriculum),
        needed=needed_of(readiness, curriculum),
        peers=peers_of(peers, curriculum),
        steps=steps_of(readiness, curriculum),
        carry_over=carry_over_of(readiness.carry_over, curriculum),
        aside=_aside(set_aside),
        flagged=[
            {"line": one.line, "learner": one.learner, "skill": one.skill, "why": one.why}
            for one in readiness.flagged[:ROWS_SHOWN]
        ],
        more_flagged=max(0, len(readiness.flagged) - ROWS_SHOWN),
    )


def _counts(curriculum: Curriculum, readiness: Readiness, set_aside: Sequence[SetAside]) -> str:
    read = curriculum.say(
        "{rows} read: {judged} judged, {aside} set aside.",
        rows=counted(curriculum, readiness.rows + len(set_aside), "{count} row", "{count} rows"),
        judged=grouped(curriculum, readiness.rows),
        aside=grouped(curriculum, len(set_aside)),
    )
    held = curriculum.say(
        "{learners}, {attempts}, {skills}.",
        learners=counted(curriculum, len(readiness.learners), "{count} learner", "{count} learners"),
        attempts=counted(curriculum, readiness.attempts, "{count} attempt", "{count} attempts"),
        skills=counted(curriculum, len(readiness.skills), "{count} skill", "{count} skills"),
    )
    return f"{read} {held}"


def _aside(set_aside: Sequence[SetAside]) -> dict[str, Any]:
    tally: dict[str, int] = {}
    for one in set_aside:
        tally[one.rule] = tally.get(one.rule, 0) + 1
    return {
        "tally": sorted(tally.items(), key=lambda pair: (-pair[1], pair[0])),
        "rows": [
            {"line": one.line, "reason": one.reason, "remedy": one.remedy, "text": one.text[:300]}
            for one in sorted(set_aside, key=lambda one: one.line)[:ROWS_SHOWN]
        ],
        "more": max(0, len(set_aside) - ROWS_SHOWN),
    }


@cache
def _css() -> Markup:
    return Markup((FOLDER / "report.css").read_text(encoding="utf-8"))
