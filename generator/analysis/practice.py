"""What is practised where: the techniques that steps rest on, the equipment they fit, and the trainers that take it.

A rung or a station **meets** the techniques that its practised critical steps rest on. Steps that are not critical
are practised too, but no rule of feedback is about them.
"""

from __future__ import annotations

from collections.abc import Iterable

from generator.model import Curriculum, RungPlan, Skill, Station, Step, Trainer


def rests_on(steps: Iterable[Step]) -> tuple[str, ...]:
    """The techniques that the critical ones among these steps rest on, each once, in order of first use."""
    return tuple(dict.fromkeys(technique for step in steps if step.critical for technique in step.rests_on))


def critical_on(steps: Iterable[Step], technique: str) -> tuple[Step, ...]:
    """The critical ones among these steps that rest on a technique."""
    return tuple(step for step in steps if step.critical and technique in step.rests_on)


def fitted(curriculum: Curriculum, steps: Iterable[Step]) -> tuple[str, ...]:
    """The equipment that these steps fit on or into the patient, each once; unknown equipment is not fitted."""
    used = dict.fromkeys(item for step in steps for item in step.uses)
    return tuple(item for item in used if item in curriculum.equipment and curriculum.equipment[item].fitted)


def not_accepted(curriculum: Curriculum, trainer: Trainer, steps: Iterable[Step]) -> tuple[str, ...]:
    """The fitted equipment of these steps that the trainer does not take."""
    return tuple(item for item in fitted(curriculum, steps) if item not in trainer.accepts)


def accepts_all(curriculum: Curriculum, trainer: Trainer, steps: Iterable[Step]) -> bool:
    """Whether the trainer takes all the fitted equipment of these steps."""
    return not not_accepted(curriculum, trainer, steps)


def stands_for(trainer: Trainer, skill: Skill, step: Step) -> bool:
    """Whether the trainer stands for a patient that the step is for. No population on either side means anyone."""
    patients = step.populations or skill.populations
    return not patients or not trainer.populations or any(one in trainer.populations for one in patients)


def can_host(curriculum: Curriculum, trainer: Trainer, skill: Skill, steps: Iterable[Step]) -> bool:
    """Whether steps of a skill can be practised on a trainer: it takes what they fit and stands for their patients."""
    practised = tuple(steps)
    return accepts_all(curriculum, trainer, practised) and all(stands_for(trainer, skill, step) for step in practised)


def hosts(curriculum: Curriculum, trainers: Iterable[Trainer], skill: Skill, step: Step) -> tuple[bool, ...]:
    """Whether a step can be practised on each of these trainers, as `can_host` says."""
    items = fitted(curriculum, (step,))
    patients = frozenset(step.populations or skill.populations)
    return tuple(
        (not items or all(item in trainer.accepts for item in items))
        and (not patients or not trainer.populations or not patients.isdisjoint(trainer.populations))
        for trainer in trainers
    )


def plan_for(skill: Skill, station: Station) -> RungPlan | None:
    """The rung of the skill's written ladder that a station stands for: same rung and same trainer."""
    return next((p for p in skill.ladder if p.rung == station.rung and p.trainer == station.trainer), None)


def station_steps(curriculum: Curriculum, station: Station) -> tuple[Step, ...]:
    """The steps practised at a station: those of its rung in the skill's ladder, or all when no rung says so."""
    skill = curriculum.skills.get(station.skill)
    if skill is None:
        return ()
    plan = plan_for(skill, station)
    return skill.steps_on(plan) if plan else skill.steps
