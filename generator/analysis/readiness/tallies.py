"""Counts of marks, and what they say about steps and about habits that trainers left behind."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple

from generator.analysis.practice import critical_on, rests_on
from generator.analysis.readiness.history import natural
from generator.analysis.readiness.results import CarryOverSeen, Side, StepMisses
from generator.analysis.statistics.means import mean_difference
from generator.analysis.statistics.proportions import wilson
from generator.analysis.statistics.result import Interval, Undefined
from generator.model import Curriculum, Skill, Step, Worth
from generator.model.attempt import Attempt

HARDLY_EVER = 0.05
"""A step may go when the upper end of its interval, over all rungs together, lies below this share."""

Marks = tuple[tuple[str, ...], tuple[str, ...]]
"""Missed steps and unseen steps of an attempt."""


class Spot(NamedTuple):
    """A skill on a rung and a trainer."""

    skill: str
    rung: str
    trainer: str


@dataclass(slots=True)
class Tally:
    """One learner at one spot: the first day, and how many attempts had each set of marks."""

    first_on: date
    marks: dict[Marks, int] = field(default_factory=dict)


Tallies = dict[tuple[str, Spot], Tally]
"""By learner and spot."""


def count(tallies: Tallies, learner: str, skill: str, history: Iterable[Attempt]) -> None:
    """Add all attempts of a learner at a skill, oldest first."""
    here: dict[tuple[str, str], dict[Marks, int]] = {}
    for one in history:
        counts = here.get((one.rung, one.trainer))
        if counts is None:
            tally = Tally(one.on)
            tallies[learner, Spot(skill, one.rung, one.trainer)] = tally
            counts = here[one.rung, one.trainer] = tally.marks
        marks = (one.missed, one.unseen)
        counts[marks] = counts.get(marks, 0) + 1


def steps_at(skill: Skill, spot: Spot) -> tuple[Step, ...]:
    """The steps practised at a spot: those of its rung on the ladder, or all when the ladder has no such rung."""
    plans = [plan for plan in skill.ladder if (plan.rung, plan.trainer) == (spot.rung, spot.trainer)]
    ids = {step.id for plan in plans for step in skill.steps_on(plan)}
    return tuple(step for step in skill.steps if step.id in ids) if plans else skill.steps


def step_misses(curriculum: Curriculum, tallies: Tallies) -> tuple[StepMisses, ...]:
    """How often each step was missed at each spot, most missed first by the lower end of the interval."""
    spots: dict[Spot, dict[Marks, int]] = {}
    for (_, spot), tally in tallies.items():
        whole = spots.setdefault(spot, {})
        for marks, times in tally.marks.items():
            whole[marks] = whole.get(marks, 0) + times
    counts: dict[tuple[Spot, str], tuple[int, int, int]] = {}
    for spot, whole in spots.items():
        for step in steps_at(curriculum.skills[spot.skill], spot):
            unseen = sum(times for (_, hidden), times in whole.items() if step.id in hidden)
            missed = sum(times for (lost, _), times in whole.items() if step.id in lost)
            counts[spot, step.id] = (missed, sum(whole.values()) - unseen, unseen)
    totals: dict[tuple[str, str], tuple[int, int]] = {}
    for (spot, id), (missed, seen, _) in counts.items():
        before = totals.get((spot.skill, id), (0, 0))
        totals[spot.skill, id] = (before[0] + missed, before[1] + seen)
    found = []
    for (spot, id), (missed, seen, unseen) in counts.items():
        is_critical = any(step.id == id and step.critical for step in curriculum.skills[spot.skill].steps)
        whole_interval = wilson(*totals[spot.skill, id])
        found.append(
            StepMisses(
                skill=spot.skill,
                step=id,
                rung=spot.rung,
                trainer=spot.trainer,
                is_critical=is_critical,
                missed=missed,
                seen=seen,
                unseen=unseen,
                interval=wilson(missed, seen),
                may_go=not is_critical and isinstance(whole_interval, Interval) and whole_interval.high < HARDLY_EVER,
            )
        )
    skills = list(curriculum.skills)
    return tuple(
        sorted(
            found,
            key=lambda s: (
                -(s.interval.low if isinstance(s.interval, Interval) else -1.0),
                -s.missed,
                skills.index(s.skill),
                s.step,
                s.rung,
                s.trainer,
            ),
        )
    )


class _Outcome(NamedTuple):
    missed: int
    attempts: int


def carry_over_seen(curriculum: Curriculum, tallies: Tallies) -> tuple[CarryOverSeen, ...]:
    """Techniques that some learner first met on a `given` trainer: were they missed more often afterwards?

    A learner belongs to the side on which the technique was first met, by day, on a trainer that is not `silent`
    about it. The outcome is the learner's own share of attempts in which a critical step that rests on the technique
    was missed, on trainers that do not give it away: on those the habit shows. Learners are compared, not attempts,
    because attempts of one learner resemble each other. Nobody was put on a side by lot, so it is a hint, not a proof.
    """
    given: dict[str, dict[str, date]] = {}
    honest: dict[str, dict[str, date]] = {}
    outcomes: dict[str, dict[str, _Outcome]] = {}
    met = {spot: tuple(_met(curriculum, spot)) for spot in {spot for _, spot in tallies}}
    for (learner, spot), tally in tallies.items():
        for technique, steps, worth in met[spot]:
            if worth is not Worth.SILENT:
                side = given if worth is Worth.GIVEN else honest
                days = side.setdefault(technique, {})
                days[learner] = min(days.get(learner, tally.first_on), tally.first_on)
            if worth is not Worth.GIVEN:
                mine = outcomes.setdefault(technique, {})
                before = mine.get(learner, _Outcome(0, 0))
                here = _outcome(tally.marks, steps)
                mine[learner] = _Outcome(before.missed + here.missed, before.attempts + here.attempts)
    found = (
        _compare(technique, given[technique], honest.get(technique, {}), outcomes.get(technique, {}), curriculum)
        for technique in curriculum.techniques
        if technique in given
    )
    return tuple(sorted(found, key=_by_difference))


def _by_difference(seen: CarryOverSeen) -> tuple[float, str]:
    low = seen.interval.low if isinstance(seen.interval, Interval) else -2.0
    return -low, seen.technique


def _met(curriculum: Curriculum, spot: Spot) -> Iterator[tuple[str, frozenset[str], Worth]]:
    steps = steps_at(curriculum.skills[spot.skill], spot)
    trainer = curriculum.trainers.get(spot.trainer)
    for technique in rests_on(steps):
        if trainer is not None:
            critical = frozenset(step.id for step in critical_on(steps, technique))
            yield technique, critical, trainer.worth_of(technique)


def _outcome(marks: Mapping[Marks, int], steps: frozenset[str]) -> _Outcome:
    missed = attempts = 0
    for (lost, hidden), times in marks.items():
        is_missed = not steps.isdisjoint(lost)
        if is_missed or not steps <= set(hidden):
            attempts += times
            missed += times if is_missed else 0
    return _Outcome(missed, attempts)


def _compare(
    technique: str,
    given: Mapping[str, date],
    honest: Mapping[str, date],
    outcomes: Mapping[str, _Outcome],
    curriculum: Curriculum,
) -> CarryOverSeen:
    sides: tuple[list[str], list[str], list[str]] = ([], [], [])
    for learner in sorted(given.keys() | honest.keys(), key=natural):
        first_given, first_honest = given.get(learner, date.max), honest.get(learner, date.max)
        place = 2 if first_given == first_honest else 0 if first_given < first_honest else 1
        if place == 2 or outcomes.get(learner, _Outcome(0, 0)).attempts:
            sides[place].append(learner)
    shares = [[outcomes[one].missed / outcomes[one].attempts for one in side] for side in sides[:2]]
    compared = mean_difference(*shares)
    named = curriculum.techniques[technique].name
    if isinstance(compared, Undefined):
        difference: float | None = None
        if all(shares):
            difference = math.fsum(shares[0]) / len(shares[0]) - math.fsum(shares[1]) / len(shares[1])
        interval: Interval | Undefined = compared
        why = curriculum.label(compared.why)
        says = curriculum.say("{technique}: too little to compare ({why}).", technique=named, why=why)
    else:
        difference, interval = compared.difference, compared.interval
        says = _says(curriculum, named, difference, interval)
    return CarryOverSeen(
        technique=technique,
        given_first=_side(sides[0], shares[0], outcomes),
        honest_first=_side(sides[1], shares[1], outcomes),
        undecided=tuple(sides[2]),
        difference=difference,
        interval=interval,
        says=says,
    )


def _says(curriculum: Curriculum, named: str, difference: float, interval: Interval) -> str:
    if interval.low > 0:
        text = (
            "{technique}: learners who first met it where the trainer gives it away missed it more often afterwards, "
            "by {points} percentage points (95% interval {low} to {high} points). A hint, not a proof: nobody was put "
            "there by lot."
        )
    elif interval.high < 0:
        text = (
            "{technique}: missed less often by those who first met it where it is given, by {points} points ({low} to "
            "{high} points)."
        )
    else:
        return curriculum.say(
            "{technique}: the difference could be chance ({low} to {high} points).",
            technique=named,
            low=round(interval.low * 100),
            high=round(interval.high * 100),
        )
    return curriculum.say(
        text,
        technique=named,
        points=round(abs(difference) * 100),
        low=round(interval.low * 100),
        high=round(interval.high * 100),
    )


def _side(learners: list[str], shares: list[float], outcomes: Mapping[str, _Outcome]) -> Side:
    return Side(
        learners=tuple(learners),
        attempts=sum(outcomes[one].attempts for one in learners),
        missed=sum(outcomes[one].missed for one in learners),
        share=math.fsum(shares) / len(shares) if shares else None,
    )
