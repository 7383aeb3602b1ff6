"""Peers beside instructors in words: what hurts first, then how far they agree, or the plain warning."""

from __future__ import annotations

from typing import Any

from generator.analysis.agreement_of_attempts import (
    FEWEST_FAILS,
    FEWEST_PAIRS,
    Agreement,
    Directions,
    Peers,
    StepAgreement,
)
from generator.analysis.statistics.result import Undefined
from generator.analysis.statistics.same_verdict import SameVerdict
from generator.model import Curriculum
from generator.rendering.reports.plots import interval_bar
from generator.rendering.reports.says import counted, often, percent, stepper, sure, sure_beyond, worded_share

STEPS_SHOWN = 20
"""Rows of a long table that are shown; the rest is counted."""
CLAIMED = 0.05
"""An exact McNemar test below this is called a lean. Common practice, no source."""


def peers_of(peers: Peers, curriculum: Curriculum) -> dict[str, Any]:
    """Peers beside instructors: whole attempts first, then skills, then steps with something to show."""
    name = stepper(curriculum)
    blind = peers.pairs - peers.attempts.directions.pairs
    differing = [one for one in peers.steps if one.agreement.directions.disagreed]
    return {
        "pairs": counted(peers.pairs, "pair", "pairs"),
        "none": peers.pairs == 0,
        "unlike": counted(peers.unlike, "pair is", "pairs are") if peers.unlike else "",
        "no_verdict": counted(blind, "pair has", "pairs have") if blind else "",
        "whole": agreement_words(peers.attempts),
        "skills": [
            {"skill": curriculum.skills[id].title} | agreement_words(found) for id, found in peers.by_skill.items()
        ],
        "steps": [_step_row(one, curriculum, name(one.skill, one.step)) for one in differing[:STEPS_SHOWN]],
        "more_steps": max(0, len(differing) - STEPS_SHOWN),
        "agreed_steps": counted(len(peers.steps) - len(differing), "step", "steps"),
    }


def _step_row(one: StepAgreement, curriculum: Curriculum, step: str) -> dict[str, Any]:
    found = one.agreement.directions
    return {
        "skill": curriculum.skills[one.skill].title,
        "step": step,
        "critical": one.critical,
        "let_through": found.peer_passed_instructor_failed,
        "failed": found.instructor_failed,
        "harsher": found.peer_failed_instructor_passed,
        "passed": found.instructor_passed,
        "unseen": one.unseen,
    } | agreement_words(one.agreement)


def agreement_words(agreement: Agreement) -> dict[str, Any]:
    """One agreement: what hurts first, then the other direction, then the coefficients or the plain warning."""
    found = agreement.directions
    unworded = {"often": ""} if found.is_too_few else {}
    return {
        "directions": found,
        "hurts": worded_share(found.peer_passed_instructor_failed, found.instructor_failed, agreement.passed_a_fail)
        | unworded,
        "harsher": worded_share(found.peer_failed_instructor_passed, found.instructor_passed, agreement.failed_a_pass)
        | unworded,
        "too_few": too_few(found),
        "lean": _lean(agreement),
        "fails": _same(agreement.on_fails, "fail"),
        "passes": _same(agreement.on_passes, "pass"),
        "kappa": "" if isinstance(agreement.kappa, Undefined) else f"{agreement.kappa.kappa:.2f}",
        "kappa_sure": f"cannot be said: {agreement.kappa.why}"
        if isinstance(agreement.kappa, Undefined)
        else sure_beyond(agreement.kappa.interval),
        "ac1": "" if isinstance(agreement.ac1, Undefined) else f"{agreement.ac1.ac1:.2f}",
        "ac1_sure": f"cannot be said: {agreement.ac1.why}"
        if isinstance(agreement.ac1, Undefined)
        else sure_beyond(agreement.ac1.interval),
    }


def too_few(found: Directions) -> str:
    """The plain warning, or nothing where there is enough to speak."""
    if not found.is_too_few:
        return ""
    pairs = counted(found.pairs, "pair", "pairs")
    return (
        f"Too few to say anything: {pairs}, {found.instructor_failed} failed by the instructor. Wait for at least "
        f"{FEWEST_PAIRS} pairs and {FEWEST_FAILS} fails."
    )


def _same(found: SameVerdict | Undefined, verdict: str) -> dict[str, Any]:
    if isinstance(found, Undefined):
        return {"often": f"nobody gave a {verdict}", "number": "", "sure": "", "bar": ""}
    return {
        "often": often(round(found.share * 1000), 1000),
        "number": percent(found.share),
        "sure": sure(found.interval),
        "bar": interval_bar(found.interval.low, found.share, found.interval.high),
    }


def _lean(agreement: Agreement) -> str:
    if isinstance(agreement.lean, Undefined):
        return "Peers and instructors never disagreed."
    milder, harsher = agreement.lean.only_first, agreement.lean.only_second
    p = f"exact McNemar p = {agreement.lean.p_value:.3f}" if agreement.lean.p_value >= 0.001 else "p under 0.001"
    if agreement.lean.p_value >= CLAIMED:
        return f"No clear lean to either side ({milder} milder, {harsher} harsher; {p})."
    side = "milder" if milder > harsher else "harsher"
    return f"Peers are {side} than instructors ({milder} milder, {harsher} harsher; {p})."
