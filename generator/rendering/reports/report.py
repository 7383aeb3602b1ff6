"""The private report: one HTML file that needs nothing else, no script and no request."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from generator.analysis.agreement_of_attempts import Peers, peers_beside_instructors
from generator.analysis.readiness.results import Readiness, Status
from generator.analysis.wording import fill
from generator.model import Curriculum
from generator.model.attempt import Attempt, KnownRevision, SetAside
from generator.rendering.reports.base import FOR_INSTRUCTORS, STARTER, day_in_words
from generator.rendering.reports.cohort import board_of, calls, learners_of, refreshes_of
from generator.rendering.reports.figures import carry_over_of, needed_of, rules_of, steps_of
from generator.rendering.reports.marks import MARKS, sign, symbols
from generator.rendering.reports.peers import peers_of
from generator.rendering.reports.says import counted

_FOLDER = Path(__file__).parent
ROWS_SHOWN = 500
"""Rows set aside that are listed one by one; their reasons are counted over all."""
_UNSEEN = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ufeff]")


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
    return (
        _environment()
        .get_template("report.html.j2")
        .render(
            css=_css(),
            lang=program.language,
            program=program.name,
            on=day_in_words(readiness.on),
            file_name=file_name,
            private=FOR_INSTRUCTORS,
            deferral=fill(program.medical_direction, curriculum.quantities),
            starter="" if program.approval else curriculum.label(STARTER),
            counts=_counts(readiness, set_aside),
            symbols=symbols(),
            legend=[
                {"sign": sign(status, worded=True), "about": curriculum.label(MARKS[status].about)} for status in Status
            ],
            calls=calls(readiness, curriculum),
            board=board_of(readiness, curriculum),
            learners=learners_of(readiness, curriculum),
            refreshes=refreshes_of(readiness, curriculum),
            rules=rules_of(readiness, curriculum),
            needed=needed_of(readiness),
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
    )


def _counts(readiness: Readiness, set_aside: Sequence[SetAside]) -> str:
    return (
        f"{counted(readiness.rows + len(set_aside), 'row', 'rows')} read: {readiness.rows:,} judged, "
        f"{len(set_aside):,} set aside. {counted(len(readiness.learners), 'learner', 'learners')}, "
        f"{counted(readiness.attempts, 'attempt', 'attempts')}, {counted(len(readiness.skills), 'skill', 'skills')}."
    )


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
def _environment() -> Environment:
    return Environment(
        loader=FileSystemLoader(_FOLDER),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_shown,
    )


def _shown(value: Any) -> Any:
    """What a person typed may hold characters that hide or turn text about; they go before it is escaped."""
    return _UNSEEN.sub("", value) if isinstance(value, str) and not isinstance(value, Markup) else value


@cache
def _css() -> Markup:
    return Markup((_FOLDER / "report.css").read_text(encoding="utf-8"))
