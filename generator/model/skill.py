"""A skill: its steps, cautions, ladder, clearance rule and evidence."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from generator.model.base import Bool, Count, Day, Id, Record, Text
from generator.model.program import Named

EvaluatorRole = Literal["peer", "instructor"]


class Caution(Record):
    """A way to hurt the patient or the learner."""

    level: Literal["warning", "caution", "note"] = "caution"
    """`warning` can kill or maim; `caution` can injure; `note` spoils the attempt or the equipment."""
    what: Text
    why: Text
    evidence: tuple[Id, ...] = ()
    basis: Literal["evidence", "common practice"] | None = None
    """`common practice` prints that no source was found for it; absent when nobody has said."""


class CommonError(Record):
    """A common error and the few words that put it right."""

    error: Text
    cue: Text
    """What the evaluator says, short enough to be heard while hands are busy."""


class Step(Record):
    """One action by one role."""

    id: Id
    do: Text
    by: Id | None = None
    """Team role that does it; absent in a skill for one person."""
    see: Text | None = None
    """What an evaluator must observe to mark it done."""
    critical: Bool = False
    critical_because: Text | None = None
    """Why missing it fails the attempt."""
    rests_on: tuple[Id, ...] = ()
    """Techniques that it rests on."""
    uses: tuple[Id, ...] = ()
    """Equipment that it uses."""
    populations: tuple[Id, ...] = ()
    """Narrower than the skill's, when the step is for some patients only."""
    errors: tuple[CommonError, ...] = ()
    why: Text | None = None
    pace: Id | None = None
    """A quantity that sets the beat of this step."""
    evidence: tuple[Id, ...] = ()
    provisional: Text | None = None
    """What about this step could not be confirmed in a source."""


class PassRule(Record):
    """When a learner moves up from a rung."""

    clean_in_a_row: Count
    scored_by: EvaluatorRole = "peer"


class RungPlan(Record):
    """One rung of a skill's ladder."""

    rung: Id
    trainer: Id
    aim: Text
    steps: tuple[Id, ...] = ()
    """Steps practised on this rung; all of them when absent."""
    pass_rule: PassRule
    because: Text | None = None
    """Why a rule is set aside here; printed on the page."""


class Clearance(Record):
    """When a learner is cleared to do it on a patient under supervision."""

    rung: Id
    clean_in_a_row: Count
    scored_by: EvaluatorRole = "instructor"
    different_days: Count = 1
    within_days: Count | None = None
    """The run of clean attempts must fit in this many days."""
    valid_months: Count
    after_a_fail: Text
    """What the learner does before the next check."""
    clean_after_a_fail: Count = 2
    """Clean attempts on the ladder that end the hold after a failed check, whoever scores them."""


class Review(Record):
    """The last time the content was read against its sources."""

    on: Day
    by: Text
    """A role, never a person's name."""


class Revision(Record):
    """One line of a skill's history."""

    on: Day
    what: Text


class Trouble(Record):
    """Typical trouble while teaching, and its cure."""

    trouble: Text
    cure: Text


class Teaching(Record):
    """The instructor's guide to a skill."""

    demonstrate: tuple[Text, ...]
    say: tuple[Text, ...]
    hold_back: tuple[Text, ...]
    """What not to say or do, so that the learner finds it."""
    troubles: tuple[Trouble, ...] = ()
    peers: Text
    """How peers evaluate it."""
    brief: Text
    """What is said in the two minutes before the station opens."""
    debrief: Text
    """The question that opens the debrief."""


class Skill(Record):
    """`skills/<strand>/*.yaml`: one hands-on skill."""

    id: Id
    title: Text
    also_called: tuple[Text, ...] = ()
    strand: Id
    levels: tuple[Id, ...]
    """Levels that may perform it; local rules may narrow this."""
    levels_evidence: tuple[Id, ...] = ()
    levels_provisional: Text | None = None
    """Why the levels are not confirmed."""
    populations: tuple[Id, ...] = ()
    roles: tuple[Named, ...] = ()
    """Team roles; empty in a skill for one person."""
    minutes_per_attempt: Count
    summary: Text
    cautions: tuple[Caution, ...]
    equipment: tuple[Id, ...] = ()
    prerequisites: tuple[Id, ...] = ()
    steps: tuple[Step, ...] = Field(min_length=1)
    ladder: tuple[RungPlan, ...]
    clearance: Clearance
    teaching: Teaching | None = None
    evidence: tuple[Id, ...] = ()
    disagreements: tuple[Text, ...] = ()
    """Where bodies disagree, each with its year."""
    reviewed: Review
    revisions: tuple[Revision, ...] = ()

    def steps_on(self, plan: RungPlan) -> tuple[Step, ...]:
        """The steps that are practised on a rung of this skill's ladder."""
        return tuple(step for step in self.steps if not plan.steps or step.id in plan.steps)

    @property
    def critical_steps(self) -> tuple[Step, ...]:
        """Steps whose miss fails the attempt."""
        return tuple(step for step in self.steps if step.critical)
