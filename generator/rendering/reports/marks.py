"""The mark of each status: a letter in a shape of its own, so that it reads in grey and at a glance."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup, escape

from generator.analysis.readiness.results import Status
from generator.model import Curriculum


@dataclass(frozen=True, slots=True, kw_only=True)
class StatusMark:
    """How a status is shown."""

    id: str
    letter: str
    name: str
    tally: str
    """How many of a learner's skills have it."""
    about: str
    shape: str
    """Inside of an SVG symbol of 28 by 28."""


def _letter(letter: str, ink: str) -> str:
    return (
        f'<text x="14" y="19" text-anchor="middle" font-size="14" font-weight="800" fill="{ink}" '
        f'stroke="none">{letter}</text>'
    )


_INK, _PAPER = "var(--ink)", "var(--paper)"
MARKS: dict[Status, StatusMark] = {
    Status.NOT_STARTED: StatusMark(
        id="not-started",
        letter="–",
        name="Not started",
        tally="{count} not started",
        about="no attempt yet",
        shape=f'<path d="M9 14h10" stroke="{_INK}" stroke-width="2"/>',
    ),
    Status.PRACTISING: StatusMark(
        id="practising",
        letter="P",
        name="Practising",
        tally="{count} practising",
        about="on the ladder",
        shape=f'<circle cx="14" cy="14" r="12" fill="none" stroke="{_INK}" stroke-width="1.5" '
        f'stroke-dasharray="2 3"/>{_letter("P", _INK)}',
    ),
    Status.READY: StatusMark(
        id="ready-to-check",
        letter="R",
        name="Ready to check",
        tally="{count} ready to check",
        about="an instructor should look",
        shape=f'<path d="M14 1l13 13-13 13L1 14z" fill="{_PAPER}" stroke="{_INK}" stroke-width="2.5"/>'
        f"{_letter('R', _INK)}",
    ),
    Status.CLEARED: StatusMark(
        id="cleared",
        letter="C",
        name="Cleared",
        tally="{count} cleared",
        about="may do it on a patient under supervision",
        shape=f'<path d="M2.5 2.5h23v23h-23z" fill="{_INK}"/>{_letter("C", _PAPER)}',
    ),
    Status.REFRESH_DUE: StatusMark(
        id="refresh-due",
        letter="D",
        name="Refresh due",
        tally="{count} refresh due",
        about="was cleared; the time is over",
        shape=f'<path d="M3 3h22v22H3z" fill="{_PAPER}" stroke="{_INK}" stroke-width="2.5"/>{_letter("D", _INK)}',
    ),
    Status.ON_HOLD: StatusMark(
        id="on-hold",
        letter="H",
        name="On hold",
        tally="{count} on hold",
        about="failed a check; practice first",
        shape=f'<path d="M9 1h10l8 8v10l-8 8H9l-8-8V9z" fill="{_INK}"/>{_letter("H", _PAPER)}',
    ),
}


def symbols() -> Markup:
    """All shapes once, to be used by name on the same page."""
    parts = (f'<symbol id="m-{one.id}" viewBox="0 0 28 28">{one.shape}</symbol>' for one in MARKS.values())
    opening = '<svg width="0" height="0" class="store" aria-hidden="true" focusable="false">'
    return Markup(f"{opening}{''.join(parts)}</svg>")


def sign(status: Status, curriculum: Curriculum, *, worded: bool) -> Markup:
    """The mark of a status; its word beside it, or only for screen readers where a legend explains the letter."""
    one = MARKS[status]
    drawn = f'<svg class="sign" width="28" height="28" aria-hidden="true"><use href="#m-{one.id}"/></svg>'
    name = escape(curriculum.label(one.name))
    return Markup(f'{drawn}<span class="{"sign-word" if worded else "aloud"}">{name}</span>')
