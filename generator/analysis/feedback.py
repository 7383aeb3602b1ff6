"""What trainers' feedback is worth, and what a written ladder does with it.

Results are plain values that name step, rung, trainer and technique; where they stand in a file is for the checks to
say. Rungs are counted from 0.

The four rules of a written ladder, walked from its lowest rung (`practice` says what a rung *meets*):

- **honest-first**: for each technique that a critical step rests on, the first rung that meets it on a trainer that
  is not `silent` about it must be `earned` or `measured`. The rule looks at this ladder alone. A technique earned in
  a prerequisite skill does not count here, for the next learner may come by another way; what was really met before
  is the business of the course (`course`).
- **proof**: each such technique is `earned` or `measured` on some rung that meets it, or every critical step that
  rests on it says what an evaluator must `see`.
- **fit**: the trainer of a rung accepts all fitted equipment of the steps practised there.
- **thrift**: wear cost per attempt does not fall from a rung to the next; and on the costliest trainer that the lab
  owns no technique is earned for the first time that a cheaper owned trainer could have answered for.

`because:` on a rung excuses what happens on that rung (not proof, which is about no single rung). The finding is kept
with the reason, so that a page can print it.

A rung whose trainer is not known hides what learners meet there, so nothing is said about the techniques it meets:
one slip in an id is one problem, not five.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from generator.analysis.inventory import Inventory
from generator.analysis.practice import critical_on, hosts, not_accepted, rests_on
from generator.analysis.wear import cost_per_attempt
from generator.model import Curriculum, Skill, Worth

Rule = Literal["honest-first", "proof", "fit", "thrift"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One way in which a written ladder breaks a rule.

    `rung` and `trainer` are absent for proof, `technique` for fit and for wear cost that falls. `step` is the first
    critical step concerned. `would_do` names owned trainers that are honest about the technique and take what the
    step fits, cheapest first. `because` is the reason that the faculty gave, if they did.
    """

    rule: Rule
    skill: str
    rung: int | None = None
    trainer: str | None = None
    step: str | None = None
    technique: str | None = None
    would_do: tuple[str, ...] = ()
    because: str | None = None
    equipment: tuple[str, ...] = ()
    """Fitted equipment that the trainer does not accept (fit)."""
    after: str | None = None
    """The costlier trainer of the rung below (thrift)."""
    later: int | None = None
    """The first later rung of the same ladder that meets the technique honestly (honest-first)."""

    @property
    def is_excused(self) -> bool:
        """Whether the faculty gave a reason."""
        return self.because is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Meeting:
    """A technique that a rung of a written ladder meets, and what the trainer's feedback on it is worth there.

    `worth` is None when the trainer is not known. `is_proved` says whether a rung below met it honestly.
    """

    rung: int
    trainer: str
    technique: str
    step: str
    worth: Worth | None
    is_proved: bool

    @property
    def is_false(self) -> bool:
        """Whether it is false reassurance: `given`, and never met honestly before."""
        return self.worth is Worth.GIVEN and not self.is_proved


@dataclass(frozen=True, slots=True, kw_only=True)
class SkillRow:
    """One technique that one critical step rests on: the worth on each trainer, and whether that can host the step."""

    step: str
    technique: str
    worths: tuple[Worth, ...]
    accepts: tuple[bool, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SkillTable:
    """The worth table of a skill: its critical steps against the trainers, columns in the order of `trainers`."""

    skill: str
    trainers: tuple[str, ...]
    rows: tuple[SkillRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LabRow:
    """One technique and its worth on each trainer."""

    technique: str
    worths: tuple[Worth, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LabTable:
    """The worth table of the lab: techniques against trainers, columns in the order of `trainers`."""

    trainers: tuple[str, ...]
    rows: tuple[LabRow, ...]


def lab_table(curriculum: Curriculum) -> LabTable:
    """Techniques against all trainers of the curriculum, both in the order of the curriculum."""
    trainers = tuple(curriculum.trainers.values())
    return LabTable(
        trainers=tuple(curriculum.trainers),
        rows=tuple(
            LabRow(technique=id, worths=tuple(trainer.worth_of(id) for trainer in trainers))
            for id in curriculum.techniques
        ),
    )


def skill_table(curriculum: Curriculum, skill: Skill) -> SkillTable:
    """Critical steps of a skill, one row for each technique they rest on, against all trainers."""
    trainers = tuple(curriculum.trainers.values())
    rows = []
    for step in skill.critical_steps:
        accepts = hosts(curriculum, trainers, skill, step)
        for technique in step.rests_on:
            worths = tuple(trainer.worth_of(technique) for trainer in trainers)
            rows.append(SkillRow(step=step.id, technique=technique, worths=worths, accepts=accepts))
    return SkillTable(skill=skill.id, trainers=tuple(curriculum.trainers), rows=tuple(rows))


def meetings(curriculum: Curriculum, skill: Skill) -> tuple[Meeting, ...]:
    """What each rung of the written ladder meets, from the lowest rung up."""
    found: list[Meeting] = []
    proved: set[str] = set()
    for index, plan in enumerate(skill.ladder):
        steps = skill.steps_on(plan)
        trainer = curriculum.trainers.get(plan.trainer)
        here = [
            Meeting(
                rung=index,
                trainer=plan.trainer,
                technique=technique,
                step=critical_on(steps, technique)[0].id,
                worth=trainer.worth_of(technique) if trainer else None,
                is_proved=technique in proved,
            )
            for technique in rests_on(steps)
        ]
        found += here
        # An unknown trainer counts as honest, so that a typing slip brings no second finding.
        proved |= {met.technique for met in here if met.worth is None or met.worth.is_honest}
    return tuple(found)


def exposure(curriculum: Curriculum, skill: Skill) -> int:
    """False-reassurance exposure of the written ladder.

    The number of (rung, technique) meetings on `given` with no honest meeting of that technique on a rung below.
    """
    return sum(met.is_false for met in meetings(curriculum, skill))


def honest_first(curriculum: Curriculum, inventory: Inventory, skill: Skill) -> tuple[Finding, ...]:
    """First meetings on `given`, one finding a technique, in the order in which the ladder meets them."""
    met = meetings(curriculum, skill)
    firsts: dict[str, Meeting] = {}
    for meeting in met:
        if meeting.worth is not Worth.SILENT:
            firsts.setdefault(meeting.technique, meeting)
    found = []
    for technique, first in firsts.items():
        if first.worth is not Worth.GIVEN:
            continue
        able = inventory.would_do(technique, skill, critical_on(skill.steps_on(skill.ladder[first.rung]), technique))
        later = next((m.rung for m in met if m.technique == technique and m.worth and m.worth.is_honest), None)
        found.append(_at("honest-first", skill, first, able, later=later))
    return tuple(found)


def _at(rule: Rule, skill: Skill, met: Meeting, would_do: tuple[str, ...], *, later: int | None = None) -> Finding:
    """A finding about what a rung meets, with the reason that its plan gives."""
    return Finding(
        rule=rule,
        skill=skill.id,
        rung=met.rung,
        trainer=met.trainer,
        step=met.step,
        technique=met.technique,
        would_do=would_do,
        because=skill.ladder[met.rung].because,
        later=later,
    )


def proof(curriculum: Curriculum, inventory: Inventory, skill: Skill) -> tuple[Finding, ...]:
    """Techniques that no rung proves although a critical step that rests on them has no `see`.

    The step named is the first one without `see`. A skill that has no ladder at all is not judged.
    """
    if not skill.ladder:
        return ()
    proved = {m.technique for m in meetings(curriculum, skill) if m.worth is None or m.worth.is_honest}
    found = []
    for technique in rests_on(skill.steps):
        steps = critical_on(skill.steps, technique)
        unseen = next((step for step in steps if step.see is None), None)
        if technique in proved or unseen is None:
            continue
        found.append(
            Finding(
                rule="proof",
                skill=skill.id,
                step=unseen.id,
                technique=technique,
                would_do=inventory.would_do(technique, skill, steps),
            )
        )
    return tuple(found)


def fit(curriculum: Curriculum, skill: Skill) -> tuple[Finding, ...]:
    """Rungs whose trainer does not accept a device that the steps practised there fit; one finding a step."""
    found = []
    for index, plan in enumerate(skill.ladder):
        trainer = curriculum.trainers.get(plan.trainer)
        for step in skill.steps_on(plan) if trainer else ():
            refused = not_accepted(curriculum, trainer, (step,)) if trainer else ()
            if refused:
                found.append(
                    Finding(
                        rule="fit",
                        skill=skill.id,
                        rung=index,
                        trainer=plan.trainer,
                        step=step.id,
                        equipment=refused,
                        because=plan.because,
                    )
                )
    return tuple(found)


def thrift(curriculum: Curriculum, inventory: Inventory, skill: Skill) -> tuple[Finding, ...]:
    """Rungs where wear cost falls, and techniques first earned on the lab's costliest trainer without need."""
    return (*_falls(curriculum, skill), *_late(curriculum, inventory, skill))


def _falls(curriculum: Curriculum, skill: Skill) -> tuple[Finding, ...]:
    found = []
    for index in range(1, len(skill.ladder)):
        plan = skill.ladder[index]
        below, here = curriculum.trainers.get(skill.ladder[index - 1].trainer), curriculum.trainers.get(plan.trainer)
        if below and here and cost_per_attempt(here) < cost_per_attempt(below):
            found.append(
                Finding(
                    rule="thrift",
                    skill=skill.id,
                    rung=index,
                    trainer=here.id,
                    after=below.id,
                    because=plan.because,
                )
            )
    return tuple(found)


def _late(curriculum: Curriculum, inventory: Inventory, skill: Skill) -> tuple[Finding, ...]:
    levels = {trainer.id: trainer.level for trainer in inventory.trainers}
    found = []
    for met in meetings(curriculum, skill):
        if levels.get(met.trainer) != inventory.top or met.is_proved or not (met.worth and met.worth.is_honest):
            continue
        able = inventory.would_do(met.technique, skill, critical_on(skill.steps, met.technique))
        cheaper = tuple(id for id in able if levels[id] < inventory.top)
        if cheaper:
            found.append(_at("thrift", skill, met, cheaper))
    return tuple(found)
