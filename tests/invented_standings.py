"""An invented cohort for the tests of reports: standings, attempts and rows set aside, made from a seed.

Everything here is invented. Statuses are drawn at random and need not follow from the attempts: these tests are about
what is shown, not about how it was judged.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from datetime import date, timedelta

from generator.analysis.readiness.results import (
    CarryOverSeen,
    Coach,
    Cohort,
    Flagged,
    LabList,
    Next,
    Readiness,
    Refresh,
    RuleChance,
    RuleWorth,
    Side,
    Standing,
    Status,
    StepMisses,
    ToCheck,
)
from generator.analysis.statistics.proportions import wilson
from generator.analysis.statistics.result import Interval
from generator.analysis.statistics.runs import attempts_needed, mean_wait, run_chance
from generator.model import Curriculum, Skill
from generator.model.attempt import Attempt, SetAside
from generator.rendering.reports import report_html

ON = date(2026, 11, 25)


def codes(count: int) -> tuple[str, ...]:
    """`L01`, `L02`, …"""
    return tuple(f"L{number:02}" for number in range(1, count + 1))


def invented_attempts(curriculum: Curriculum, learners: Sequence[str], *, seed: int = 7) -> tuple[Attempt, ...]:
    """A few paired attempts for each learner: peers are milder than instructors."""
    chance = random.Random(seed)
    made: list[Attempt] = []
    for skill in list(curriculum.skills.values())[:4]:
        plan = skill.ladder[-1]
        critical = {step.id for step in skill.critical_steps}
        steps = [step.id for step in skill.steps_on(plan)]
        for number, learner in enumerate(learners):
            for turn in range(3):
                missed = tuple(id for id in steps if chance.random() < 0.12)
                milder = tuple(id for id in missed if chance.random() < 0.6)
                for role, marks in (("peer", milder), ("instructor", missed)):
                    made.append(
                        Attempt(
                            line=len(made) + 2,
                            on=ON - timedelta(days=30 - turn),
                            learner=learner,
                            skill=skill.id,
                            rung=plan.rung,
                            trainer=plan.trainer,
                            evaluator=f"{role[0].upper()}{number % 5}",
                            role="peer" if role == "peer" else "instructor",
                            team_role="",
                            attempt=f"a{turn}",
                            revision="",
                            missed=marks,
                            failing=tuple(id for id in marks if id in critical),
                        )
                    )
    return tuple(made)


def _standing(chance: random.Random, curriculum: Curriculum, learner: str, skill: Skill) -> Standing:
    status = chance.choices(list(Status), weights=[8, 5, 3, 5, 1, 1])[0]
    if status is Status.NOT_STARTED:
        return Standing(learner=learner, skill=skill.id, status=status, reasons=("No attempt yet.",))
    plan = chance.choice(skill.ladder)
    tried = chance.randint(1, 9)
    clean = chance.randint(0, tried)
    cleared = ON - timedelta(days=chance.randint(1, 300)) if status in (Status.CLEARED, Status.REFRESH_DUE) else None
    until = cleared + timedelta(days=180) if cleared else None
    name = curriculum.name_of(curriculum.program.rungs, plan.rung)
    chosen = chance.sample(skill.steps, k=min(2, len(skill.steps)))
    return Standing(
        learner=learner,
        skill=skill.id,
        status=status,
        reasons=(f"{clean} clean attempts in a row on {name}; {skill.clearance.clean_in_a_row} are needed.",),
        rung=plan.rung,
        trainer=plan.trainer,
        next=Next(
            rung=plan.rung,
            trainer=plan.trainer,
            what=f"2 more clean attempts in a row on {name} with the {curriculum.trainers[plan.trainer].name}",
        ),
        coach=tuple(
            Coach(step=step.id, missed=chance.randint(1, 3), attempts=5, is_critical=step.critical)
            for step in sorted(chosen, key=lambda step: not step.critical)
        ),
        cleared_on=cleared,
        valid_until=until,
        last_success=cleared,
        practise_by=until,
        attempts=tried + 3,
        clean=clean,
        share_clean=clean,
        share_of=tried,
        interval=wilson(clean, tried),
    )


def invented_readiness(curriculum: Curriculum, learners: Sequence[str], *, seed: int = 7) -> Readiness:
    """Standings drawn from a seed, and figures that fit no real cohort."""
    chance = random.Random(seed)
    standings = {
        (learner, skill.id): _standing(chance, curriculum, learner, skill)
        for learner in learners
        for skill in curriculum.skills.values()
    }
    runs: dict[int, list[str]] = {}
    for skill in curriculum.skills.values():
        runs.setdefault(skill.clearance.clean_in_a_row, []).append(skill.id)
    steps = []
    for skill in curriculum.skills.values():
        for step in skill.steps:
            seen = chance.randint(4, 70)
            missed = sum(chance.random() < 0.15 for _ in range(seen))
            plan = skill.ladder[0]
            steps.append(
                StepMisses(
                    skill=skill.id,
                    step=step.id,
                    rung=plan.rung,
                    trainer=plan.trainer,
                    is_critical=step.critical,
                    missed=missed,
                    seen=seen,
                    unseen=chance.randint(0, 3),
                    interval=wilson(missed, seen),
                    may_go=not step.critical and missed == 0,
                )
            )
    steps.sort(key=lambda one: -one.interval.low if isinstance(one.interval, Interval) else 0.0)
    checks = tuple(
        ToCheck(
            learner=learner,
            skill=skill,
            status=one.status,
            why=one.reasons[0],
            rung=curriculum.skills[skill].clearance.rung,
            trainer=curriculum.skills[skill].ladder[-1].trainer,
            stations=tuple(id for id, station in curriculum.stations.items() if station.skill == skill)[:1],
            is_at_rung=False,
        )
        for (learner, skill), one in sorted(
            standings.items(), key=lambda pair: list(curriculum.skills).index(pair[0][1])
        )
        if one.status in (Status.READY, Status.REFRESH_DUE)
    )
    half = len(learners) // 2
    technique = next(iter(curriculum.techniques))
    return Readiness(
        on=ON,
        learners=tuple(learners),
        skills=tuple(curriculum.skills),
        standings=standings,
        cohort=tuple(
            Cohort(
                skill=id,
                counts={status: sum(standings[one, id].status is status for one in learners) for status in Status},
            )
            for id in curriculum.skills
        ),
        labs=tuple(LabList(lab=lab.id, on=lab.on, checks=checks) for lab in curriculum.labs.values()),
        refreshes=tuple(
            Refresh(
                learner=one.learner,
                skill=one.skill,
                valid_until=one.valid_until,
                last_success=one.last_success,
                practise_by=one.practise_by,
                is_over=one.valid_until < ON,
            )
            for one in sorted(standings.values(), key=lambda one: (one.valid_until or ON, one.learner, one.skill))
            if one.valid_until
        ),
        steps=tuple(steps),
        carry_over=(
            CarryOverSeen(
                technique=technique,
                given_first=Side(learners=tuple(learners[:half]), attempts=80, missed=24, share=0.31),
                honest_first=Side(learners=tuple(learners[half:]), attempts=90, missed=12, share=0.14),
                undecided=(),
                difference=0.17,
                interval=Interval(low=0.02, high=0.32, confidence=0.95),
                says="Those who met it given first missed it more often.",
            ),
        ),
        rules=tuple(
            RuleWorth(
                clean_in_a_row=run,
                skills=tuple(ids),
                chances=tuple(
                    RuleChance(
                        success=success,
                        by_attempt=run_chance(success=success, run=run, attempts=20).by_attempt,
                        mean_wait=mean_wait(success=success, run=run),
                    )
                    for success in (0.5, 0.9)
                ),
                shows=0.05 ** (1 / run),
            )
            for run, ids in sorted(runs.items())
        ),
        needed=tuple(attempts_needed(reliability=share, confidence=0.95) for share in (0.7, 0.8, 0.9, 0.95)),
        flagged=(
            Flagged(
                line=41, learner=learners[0], skill=next(iter(curriculum.skills)), why="An older sheet was marked."
            ),
        )
        if learners
        else (),
        rows=600,
        attempts=500,
    )


ASIDE = (
    SetAside(
        line=12,
        text="2026-13-40,L01,bag-mask,,,,",
        rule="date-unreadable",
        reason="2026-13-40 is no day",
        remedy="Write year-month-day.",
    ),
    SetAside(
        line=98,
        text="2026-11-02,L02,no-such-skill",
        rule="skill-unknown",
        reason="No skill is called no-such-skill",
        remedy="Write the skill’s id.",
    ),
)


def invented_report(curriculum: Curriculum, count: int) -> str:
    """The private report on so many learners."""
    learners = codes(count)
    return report_html(
        invented_readiness(curriculum, learners),
        curriculum,
        attempts=invented_attempts(curriculum, learners),
        set_aside=ASIDE,
        file_name="attempts.csv",
    )
