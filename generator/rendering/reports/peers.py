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
from generator.rendering.reports.says import counted, often, percent, stepper, sure, sure_beyond, unsaid, worded_share

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
        "pairs": counted(curriculum, peers.pairs, "{count} pair", "{count} pairs"),
        "none": peers.pairs == 0,
        "unlike": counted(
            curriculum,
            peers.unlike,
            "{count} pair is set apart, because the two rows name different rungs, trainers or revisions.",
            "{count} pairs are set apart, because the two rows name different rungs, trainers or revisions.",
        )
        if peers.unlike
        else "",
        "no_verdict": counted(
            curriculum,
            blind,
            "{count} pair has no verdict, because a side did not see a critical step.",
            "{count} pairs have no verdict, because a side did not see a critical step.",
        )
        if blind
        else "",
        "whole": agreement_words(curriculum, peers.attempts),
        "skills": [
            {"skill": curriculum.skills[id].title} | agreement_words(curriculum, found)
            for id, found in peers.by_skill.items()
        ],
        "steps": [_step_row(one, curriculum, name(one.skill, one.step)) for one in differing[:STEPS_SHOWN]],
        "more_steps": max(0, len(differing) - STEPS_SHOWN),
        "agreed_steps": counted(curriculum, len(peers.steps) - len(differing), "{count} step", "{count} steps"),
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
    } | agreement_words(curriculum, one.agreement)


def agreement_words(curriculum: Curriculum, agreement: Agreement) -> dict[str, Any]:
    """One agreement: what hurts first, then the other direction, then the coefficients or the plain warning."""
    found = agreement.directions
    unworded = {"often": ""} if found.is_too_few else {}
    return {
        "directions": found,
        "hurts": worded_share(
            curriculum, found.peer_passed_instructor_failed, found.instructor_failed, agreement.passed_a_fail
        )
        | unworded,
        "harsher": worded_share(
            curriculum, found.peer_failed_instructor_passed, found.instructor_passed, agreement.failed_a_pass
        )
        | unworded,
        "too_few": too_few(curriculum, found),
        "lean": _lean(curriculum, agreement),
        "fails": _same(curriculum, agreement.on_fails, curriculum.say("nobody gave a fail")),
        "passes": _same(curriculum, agreement.on_passes, curriculum.say("nobody gave a pass")),
        "kappa": "" if isinstance(agreement.kappa, Undefined) else f"{agreement.kappa.kappa:.2f}",
        "kappa_sure": unsaid(curriculum, agreement.kappa)
        if isinstance(agreement.kappa, Undefined)
        else sure_beyond(curriculum, agreement.kappa.interval),
        "ac1": "" if isinstance(agreement.ac1, Undefined) else f"{agreement.ac1.ac1:.2f}",
        "ac1_sure": unsaid(curriculum, agreement.ac1)
        if isinstance(agreement.ac1, Undefined)
        else sure_beyond(curriculum, agreement.ac1.interval),
    }


def too_few(curriculum: Curriculum, found: Directions) -> str:
    """The plain warning, or nothing where there is enough to speak."""
    if not found.is_too_few:
        return ""
    return curriculum.say(
        "Too few to say anything: {pairs}, {failed} failed by the instructor. Wait for at least {enough} pairs and "
        "{fails} fails.",
        pairs=counted(curriculum, found.pairs, "{count} pair", "{count} pairs"),
        failed=found.instructor_failed,
        enough=FEWEST_PAIRS,
        fails=FEWEST_FAILS,
    )


def _same(curriculum: Curriculum, found: SameVerdict | Undefined, nobody: str) -> dict[str, Any]:
    if isinstance(found, Undefined):
        return {"often": nobody, "number": "", "sure": "", "bar": ""}
    return {
        "often": often(curriculum, round(found.share * 1000), 1000),
        "number": percent(curriculum, found.share),
        "sure": sure(curriculum, found.interval),
        "bar": interval_bar(found.interval.low, found.share, found.interval.high),
    }


def _lean(curriculum: Curriculum, agreement: Agreement) -> str:
    say, lean = curriculum.say, agreement.lean
    if isinstance(lean, Undefined):
        return say("Peers and instructors never disagreed.")
    chance = say("exact McNemar p = {p}", p=f"{lean.p_value:.3f}") if lean.p_value >= 0.001 else say("p under 0.001")
    if lean.p_value >= CLAIMED:
        leans = "No clear lean to either side ({milder} milder, {harsher} harsher; {chance})."
    elif lean.only_first > lean.only_second:
        leans = "Peers are milder than instructors ({milder} milder, {harsher} harsher; {chance})."
    else:
        leans = "Peers are harsher than instructors ({milder} milder, {harsher} harsher; {chance})."
    return say(leans, milder=lean.only_first, harsher=lean.only_second, chance=chance)
