"""The figures of the report in words: what the rules let through, steps missed, carry-over."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from generator.analysis.readiness.results import CarryOverSeen, Readiness, RuleWorth, Side, StepMisses
from generator.analysis.rule_curves import GRID, rule_curves
from generator.analysis.statistics.result import Undefined
from generator.analysis.statistics.runs import run_chance
from generator.model import Curriculum
from generator.rendering.reports.plots import Line, curves, difference_bar
from generator.rendering.reports.says import counted, percent, place, stepper, worded_share

STEPS_SHOWN = 20
"""Rows of a long table that are shown; the rest is in the JSON."""
TRUE_CHANCES = (0.5, 0.6, 0.7, 0.8, 0.9, 0.95)
"""True chances of a clean attempt in the table of a rule."""


def rules_of(readiness: Readiness, curriculum: Curriculum) -> list[dict[str, Any]]:
    """Each clearance rule of the program: a sentence, a plot and the table beside it."""
    return [_rule(rule, curriculum) for rule in readiness.rules]


def _rule(rule: RuleWorth, curriculum: Curriculum) -> dict[str, Any]:
    run = rule.clean_in_a_row
    lines = rule_curves(run)
    say = curriculum.say
    name = curriculum.many(run, "{count} clean attempt", "{count} clean attempts in a row")
    most = lines[-1].within
    half = run_chance(success=0.5, run=run, attempts=most).chance
    able = run_chance(success=0.9, run=run, attempts=most).chance
    rows = []
    for success in TRUE_CHANCES:
        by_attempt = run_chance(success=success, run=run, attempts=most).by_attempt
        rows.append(
            {
                "success": percent(curriculum, success),
                "cells": [percent(curriculum, by_attempt[line.within]) for line in lines],
            }
        )
    return {
        "name": name,
        "skills": "; ".join(curriculum.skills[id].title for id in rule.skills if id in curriculum.skills),
        "count": counted(curriculum, len(rule.skills), "{count} skill", "{count} skills"),
        "says": say(
            "A learner who is right only half the time still passes within {attempts} attempts with a chance of "
            "{half}; one who is right 9 times in 10, with {able}. {rule}, with no miss among them, support a true "
            "chance of at least {shown} (95% sure).",
            attempts=most,
            half=percent(curriculum, half),
            able=percent(curriculum, able),
            rule=name,
            shown=percent(curriculum, rule.shows),
        ),
        "within": [line.within for line in lines],
        "rows": rows,
        "plot": curves(
            [
                Line(label=say("within {count}", count=line.within), points=tuple(zip(GRID, line.chances, strict=True)))
                for line in sorted(lines, key=lambda line: -line.within)
            ],
            title=say(
                "Chance of clearance by {rule}, for three numbers of attempts. The table holds the same numbers.",
                rule=name,
            ),
            across=say("True chance of a clean attempt, %"),
            up=say("Chance of clearance, %"),
        ),
    }


def needed_of(readiness: Readiness, curriculum: Curriculum) -> str:
    """How many clean attempts it takes to claim a true chance, in one sentence; empty where nothing is known of it."""
    if not readiness.needed:
        return ""
    say = curriculum.say
    claims = [
        say(
            "{attempts} for a true chance of at least {share}",
            attempts=one.attempts,
            share=percent(curriculum, one.reliability),
        )
        for one in readiness.needed
    ]
    return say(
        "In a row, with no miss at all: {claims} ({confidence} sure).",
        claims="; ".join(claims),
        confidence=percent(curriculum, readiness.needed[0].confidence),
    )


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
            line = curriculum.say(
                "{skill}, step {step} Missed in {missed} of {seen}.",
                skill=curriculum.skills[skill].title,
                step=name(skill, step),
                missed=missed,
                seen=seen,
            )
            lines.append((missed / seen, line))
    return [line for _, line in sorted(lines)]


def _missed(one: StepMisses, curriculum: Curriculum, step: str) -> dict[str, Any]:
    return {
        "skill": curriculum.skills[one.skill].title if one.skill in curriculum.skills else one.skill,
        "step": step,
        "critical": one.is_critical,
        "where": place(curriculum, one.rung, one.trainer),
        "unseen": one.unseen,
        "share": worded_share(curriculum, one.missed, one.seen, one.interval),
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
                "words": curriculum.say(
                    "Missed more often after false reassurance"
                    if low > 0
                    else "Missed less often after false reassurance"
                    if high < 0
                    else "No clear difference"
                ),
                "given": _side(curriculum, one.given_first),
                "honest": _side(curriculum, one.honest_first),
                "bar": difference_bar(low, one.difference, high),
                "difference": curriculum.say(
                    "{points} points, likely between {low} and {high}",
                    points=_points(one.difference),
                    low=_points(low),
                    high=_points(high),
                ),
                "undecided": len(one.undecided),
            }
        )
    return {"rows": rows, "not_compared": "; ".join(not_compared)}


def _side(curriculum: Curriculum, side: Side) -> str:
    if side.share is None:
        return curriculum.say("no learner")
    return curriculum.say(
        "{learners}, {share} of attempts with a miss ({missed} of {attempts})",
        learners=counted(curriculum, len(side.learners), "{count} learner", "{count} learners"),
        share=percent(curriculum, side.share),
        missed=side.missed,
        attempts=side.attempts,
    )


def _points(difference: float) -> str:
    """A difference in percentage points, with its sign and never a lone nought with one."""
    points = round(max(-1.0, min(1.0, difference)) * 100)
    return f"{points:+d}" if points else "0"
