"""The figures of the report in words: what the rules let through, peers beside instructors, steps, carry-over."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from generator.analysis.agreement_of_attempts import (
    FEWEST_FAILS,
    FEWEST_PAIRS,
    Agreement,
    Directions,
    Peers,
    StepAgreement,
)
from generator.analysis.readiness.results import CarryOverSeen, Readiness, RuleWorth, Side, StepMisses
from generator.analysis.rule_curves import GRID, rule_curves
from generator.analysis.statistics.result import Interval, Undefined
from generator.analysis.statistics.runs import run_chance
from generator.analysis.statistics.same_verdict import SameVerdict
from generator.model import Curriculum
from generator.rendering.reports.plots import Line, curves, difference_bar, interval_bar
from generator.rendering.reports.says import counted, often, percent, place, stepper, sure, sure_beyond

STEPS_SHOWN = 20
"""Rows of a long table that are shown; the rest is in the JSON."""
TRUE_CHANCES = (0.5, 0.6, 0.7, 0.8, 0.9, 0.95)
"""True chances of a clean attempt in the table of a rule."""
CLAIMED = 0.05
"""An exact McNemar test below this is called a lean. Common practice, no source."""


def rules_of(readiness: Readiness, curriculum: Curriculum) -> list[dict[str, Any]]:
    """Each clearance rule of the program: a sentence, a plot and the table beside it."""
    return [_rule(rule, curriculum) for rule in readiness.rules]


def _rule(rule: RuleWorth, curriculum: Curriculum) -> dict[str, Any]:
    run = rule.clean_in_a_row
    lines = rule_curves(run)
    name = "1 clean attempt" if run == 1 else f"{run} clean attempts in a row"
    most = lines[-1].within
    half = run_chance(success=0.5, run=run, attempts=most).chance
    able = run_chance(success=0.9, run=run, attempts=most).chance
    rows = []
    for success in TRUE_CHANCES:
        by_attempt = run_chance(success=success, run=run, attempts=most).by_attempt
        rows.append({"success": percent(success), "cells": [percent(by_attempt[line.within]) for line in lines]})
    return {
        "name": name,
        "skills": "; ".join(curriculum.skills[id].title for id in rule.skills if id in curriculum.skills),
        "count": counted(len(rule.skills), "skill", "skills"),
        "says": f"A learner who is right only half the time still passes within {most} attempts with a chance of "
        f"{percent(half)}; one who is right 9 times in 10, with {percent(able)}. {name[0].upper() + name[1:]}, with no "
        f"miss among them, support a true chance of at least {percent(rule.shows)} (95% sure).",
        "within": [line.within for line in lines],
        "rows": rows,
        "plot": curves(
            [
                Line(label=f"within {line.within}", points=tuple(zip(GRID, line.chances, strict=True)))
                for line in sorted(lines, key=lambda line: -line.within)
            ],
            title=f"Chance of clearance by {name}, for three numbers of attempts. The table holds the same numbers.",
            across="True chance of a clean attempt, %",
            up="Chance of clearance, %",
        ),
    }


def needed_of(readiness: Readiness) -> list[dict[str, str]]:
    """How many clean attempts it takes to claim a true chance."""
    return [
        {
            "attempts": str(one.attempts),
            "reliability": percent(one.reliability),
            "confidence": percent(one.confidence),
        }
        for one in readiness.needed
    ]


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
        "hurts": _share(found.peer_passed_instructor_failed, found.instructor_failed, agreement.passed_a_fail)
        | unworded,
        "harsher": _share(found.peer_failed_instructor_passed, found.instructor_passed, agreement.failed_a_pass)
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


def _share(events: int, trials: int, interval: Interval | Undefined) -> dict[str, Any]:
    if isinstance(interval, Undefined) or trials == 0:
        return {"often": often(events, trials), "number": f"{events} of {trials}", "sure": "", "bar": ""}
    return {
        "often": often(events, trials),
        "number": f"{events} of {trials} ({percent(events / trials)})",
        "sure": sure(interval),
        "bar": interval_bar(interval.low, events / trials, interval.high),
    }


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


def steps_of(readiness: Readiness, curriculum: Curriculum) -> dict[str, Any]:
    """Steps missed most, by rung and trainer."""
    name = stepper(curriculum)
    missed = [one for one in readiness.steps if one.missed]
    return {
        "rows": [_missed(one, curriculum, name(one.skill, one.step)) for one in missed[:STEPS_SHOWN]],
        "more": max(0, len(missed) - STEPS_SHOWN),
        "spare": _spare(readiness, curriculum),
    }


def _spare(readiness: Readiness, curriculum: Curriculum) -> list[str]:
    """Steps that are hardly ever missed on any rung, one line each, least missed first. Never a critical one."""
    name = stepper(curriculum)
    found: dict[tuple[str, str], list[StepMisses]] = {}
    for one in readiness.steps:
        if one.seen:
            found.setdefault((one.skill, one.step), []).append(one)
    lines = []
    for (skill, step), places in found.items():
        if all(one.may_go and not one.is_critical for one in places):
            missed, seen = sum(one.missed for one in places), sum(one.seen for one in places)
            title = curriculum.skills[skill].title
            lines.append((missed / seen, f"{title}, step {name(skill, step)} Missed in {missed} of {seen}."))
    return [line for _, line in sorted(lines)]


def _missed(one: StepMisses, curriculum: Curriculum, step: str) -> dict[str, Any]:
    return {
        "skill": curriculum.skills[one.skill].title if one.skill in curriculum.skills else one.skill,
        "step": step,
        "critical": one.is_critical,
        "where": place(curriculum, one.rung, one.trainer),
        "unseen": one.unseen,
        "share": _share(one.missed, one.seen, one.interval),
    }


def carry_over_of(carry_over: Sequence[CarryOverSeen], curriculum: Curriculum) -> dict[str, Any]:
    """Techniques missed by those who met false reassurance first and by the others, with the difference."""
    rows, not_compared = [], []
    for one in carry_over:
        technique = curriculum.techniques.get(one.technique)
        name = technique.name if technique else one.technique
        if one.difference is None or isinstance(one.interval, Undefined):
            not_compared.append(name)
            continue
        low, high = one.interval.low, one.interval.high
        rows.append(
            {
                "technique": name,
                "words": "Missed more often after false reassurance"
                if low > 0
                else "Missed less often after false reassurance"
                if high < 0
                else "No clear difference",
                "given": _side(one.given_first),
                "honest": _side(one.honest_first),
                "bar": difference_bar(low, one.difference, high),
                "difference": f"{_points(one.difference)} points, likely between {_points(low)} and {_points(high)}",
                "undecided": len(one.undecided),
            }
        )
    return {"rows": rows, "not_compared": "; ".join(not_compared)}


def _side(side: Side) -> str:
    if side.share is None:
        return "no learner"
    learners = counted(len(side.learners), "learner", "learners")
    return f"{learners}, {percent(side.share)} of attempts with a miss ({side.missed} of {side.attempts})"


def _points(difference: float) -> str:
    """A difference in percentage points, with its sign and never a lone nought with one."""
    points = round(max(-1.0, min(1.0, difference)) * 100)
    return f"{points:+d}" if points else "0"
