"""The whole of readiness in one call. Pure: the same attempts in any order give the same result."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date

from generator.analysis.readiness.history import history_of, natural
from generator.analysis.readiness.labs import lab_lists
from generator.analysis.readiness.reasons import Words
from generator.analysis.readiness.results import Cohort, Flagged, Readiness, Refresh, Standing, Status
from generator.analysis.readiness.rules import attempts_for, rule_worths
from generator.analysis.readiness.standing import not_started, standing_of, with_prerequisites
from generator.analysis.readiness.status import Rules
from generator.analysis.readiness.tallies import Tallies, carry_over_seen, count, step_misses
from generator.model import Curriculum
from generator.model.attempt import Attempt


def readiness_of(curriculum: Curriculum, attempts: Iterable[Attempt], *, on: date) -> Readiness:
    """Who is ready for what on a day, from attempts up to that day. Later ones and unknown skills are not looked at."""
    groups: dict[tuple[str, str], list[Attempt]] = {}
    flagged: list[Flagged] = []
    rows = 0
    for attempt in attempts:
        if attempt.on > on or attempt.skill not in curriculum.skills:
            continue
        rows += 1
        groups.setdefault((attempt.learner, attempt.skill), []).append(attempt)
        if attempt.flag:
            flagged.append(Flagged(line=attempt.line, learner=attempt.learner, skill=attempt.skill, why=attempt.flag))
    learners = tuple(sorted({learner for learner, _ in groups}, key=natural))
    words = {id: Words(curriculum, Rules(skill)) for id, skill in curriculum.skills.items()}
    tallies: Tallies = {}
    standings: dict[tuple[str, str], Standing] = {}
    total = 0
    for learner in learners:
        for skill in curriculum.skills:
            group = groups.get((learner, skill))
            if group is None:
                standings[learner, skill] = not_started(words[skill], learner)
                continue
            history = history_of(group)
            total += len(history)
            count(tallies, learner, skill, history)
            standings[learner, skill] = standing_of(words[skill], learner, history, on=on)
    standings = _with_prerequisites(curriculum, standings)
    return Readiness(
        on=on,
        learners=learners,
        skills=tuple(curriculum.skills),
        standings=standings,
        cohort=_cohort(curriculum, standings),
        labs=lab_lists(curriculum, standings, on=on),
        refreshes=_refreshes(standings),
        steps=step_misses(curriculum, tallies),
        carry_over=carry_over_seen(curriculum, tallies),
        rules=rule_worths(curriculum),
        needed=attempts_for(),
        flagged=tuple(sorted(flagged, key=lambda one: one.line)),
        rows=rows,
        attempts=total,
    )


def _with_prerequisites(
    curriculum: Curriculum, standings: Mapping[tuple[str, str], Standing]
) -> dict[tuple[str, str], Standing]:
    cleared: dict[str, set[str]] = {}
    for (learner, skill), standing in standings.items():
        if standing.status is Status.CLEARED:
            cleared.setdefault(learner, set()).add(skill)
    return {
        (learner, skill): with_prerequisites(curriculum, standing, frozenset(cleared.get(learner, ())))
        for (learner, skill), standing in standings.items()
    }


def _cohort(curriculum: Curriculum, standings: Mapping[tuple[str, str], Standing]) -> tuple[Cohort, ...]:
    counts = {skill: dict.fromkeys(Status, 0) for skill in curriculum.skills}
    for standing in standings.values():
        counts[standing.skill][standing.status] += 1
    return tuple(Cohort(skill=skill, counts=mine) for skill, mine in counts.items())


def _refreshes(standings: Mapping[tuple[str, str], Standing]) -> tuple[Refresh, ...]:
    found = [
        Refresh(
            learner=one.learner,
            skill=one.skill,
            valid_until=one.valid_until,
            last_success=one.last_success,
            practise_by=one.practise_by,
            is_over=one.status is Status.REFRESH_DUE,
        )
        for one in standings.values()
        if one.valid_until is not None and one.status in (Status.CLEARED, Status.REFRESH_DUE)
    ]
    return tuple(sorted(found, key=lambda one: (one.valid_until, natural(one.learner), one.skill)))
