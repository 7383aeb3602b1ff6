"""A learner's standing on a skill in words: why, what comes next, and which steps to coach."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from generator.analysis.currency import months_after
from generator.analysis.phrases import listed
from generator.analysis.readiness.reasons import Words, next_of, next_practice, reasons_of
from generator.analysis.readiness.results import Coach, Standing, Status
from generator.analysis.readiness.status import Rules, Trail, follow
from generator.analysis.statistics.proportions import wilson
from generator.model import Curriculum
from generator.model.attempt import Attempt

LAST = 5
"""Attempts that coaching looks back on."""


def not_started(words: Words, learner: str) -> Standing:
    """The standing of a learner who has not tried a skill."""
    rules = words.rules
    return Standing(
        learner=learner,
        skill=rules.skill.id,
        status=Status.NOT_STARTED,
        reasons=(words.say("No attempt yet."),),
        next=next_practice(words, 0, 0) if rules.ladder else None,
        needed_in_a_row=rules.needs[0] if rules.ladder else rules.checks,
    )


def standing_of(words: Words, learner: str, history: Sequence[Attempt], *, on: date) -> Standing:
    """The standing of a learner with at least one attempt, oldest first."""
    rules = words.rules
    trail = follow(rules, history, on=on)
    place = _working_place(rules, trail)
    plan = rules.ladder[place] if place is not None else None
    is_checking = trail.status in (Status.READY, Status.CLEARED, Status.REFRESH_DUE)
    here = [
        one
        for one in history
        if plan
        and (one.rung, one.trainer) == (plan.rung, plan.trainer)
        and (one.role == "instructor" or not (is_checking or rules.by_instructor[place or 0]))
    ]
    if is_checking:
        row, needed = len(trail.window), rules.checks
    elif trail.status is Status.ON_HOLD:
        row, needed = rules.remedy - trail.hold_left, rules.remedy
    else:
        row, needed = (trail.in_a_row[place], rules.needs[place]) if place is not None else (0, rules.checks)
    clean_here = sum(one.is_clean for one in here)
    return Standing(
        learner=learner,
        skill=rules.skill.id,
        status=trail.status,
        reasons=reasons_of(words, trail, place, history, on=on),
        rung=plan.rung if plan else rules.skill.clearance.rung,
        trainer=plan.trainer if plan else None,
        clean_in_a_row=row,
        needed_in_a_row=needed,
        passed=tuple(
            (plan.rung, plan.trainer) for plan, is_passed in zip(rules.ladder, trail.passed, strict=True) if is_passed
        ),
        next=next_of(words, trail, place),
        coach=_coach(rules, trail, history),
        cleared_on=trail.cleared_on,
        valid_until=trail.valid_until,
        failed_on=trail.failed.on if trail.failed else None,
        last_success=trail.last_success,
        practise_by=months_after(trail.last_success, rules.skill.clearance.valid_months)
        if trail.last_success
        else None,
        first_on=history[0].on,
        last_on=history[-1].on,
        attempts=len(history),
        clean=sum(one.is_clean for one in history),
        share_clean=clean_here,
        share_of=len(here),
        interval=wilson(clean_here, len(here)),
    )


def with_prerequisites(curriculum: Curriculum, standing: Standing, cleared: frozenset[str]) -> Standing:
    """The standing with a sentence about each prerequisite that the learner is not cleared for, where it matters."""
    if standing.status not in (Status.READY, Status.CLEARED, Status.REFRESH_DUE):
        return standing
    lacking = [id for id in curriculum.skills[standing.skill].prerequisites if id not in cleared]
    if not lacking:
        return standing
    say, skills = curriculum.say, curriculum.skills
    names = listed([say("“{skill}”", skill=skills[id].title) if id in skills else id for id in lacking], say)
    said = curriculum.many(
        len(lacking),
        "Not cleared in {skills}, which comes before this skill.",
        "Not cleared in {skills}, which come before this skill.",
        skills=names,
    )
    return replace(standing, reasons=(*standing.reasons, said))


def _working_place(rules: Rules, trail: Trail) -> int | None:
    """The rung being worked on, as its place on the ladder."""
    if trail.status is Status.ON_HOLD and trail.failed:
        return _remedial_place(rules, trail.failed.steps)
    if trail.status is Status.PRACTISING:
        left = [place for place in rules.before_check if not trail.passed[place]]
        if left:
            return left[0]
    return rules.check_place if rules.check_place is not None else (0 if rules.ladder else None)


def _remedial_place(rules: Rules, steps: Sequence[str]) -> int | None:
    """The highest rung below the clearance rung that practises every missed step, or any of them, or else the first."""
    practised = {
        place: {step.id for step in rules.skill.steps_on(rules.ladder[place])}
        for place in range(len(rules.ladder))
        if rules.ladder[place].rung != rules.skill.clearance.rung
    }
    for fits in (all, any):
        able = [place for place, ids in practised.items() if fits(step in ids for step in steps)]
        if able:
            return max(able)
    return 0 if rules.ladder else None


def _coach(rules: Rules, trail: Trail, history: Sequence[Attempt]) -> tuple[Coach, ...]:
    recent = history[-LAST:]
    counts: dict[str, int] = {}
    failing = set(trail.failed.steps) if trail.failed and trail.hold_left else set()
    for one in recent:
        for step in one.missed:
            counts[step] = counts.get(step, 0) + 1
        failing.update(one.failing)
    if trail.failed and trail.hold_left:
        for step in trail.failed.steps:
            counts.setdefault(step, 1)
    order = {step.id: place for place, step in enumerate(rules.skill.steps)}
    critical = {step.id for step in rules.skill.critical_steps} | failing
    return tuple(
        Coach(step=step, missed=counts[step], attempts=len(recent), is_critical=step in critical)
        for step in sorted(counts, key=lambda s: (s not in critical, -counts[s], order.get(s, len(order)), s))
    )
