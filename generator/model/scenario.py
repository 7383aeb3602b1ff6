"""A scenario: a whole call as a machine of states, which a facilitator runs and a group debriefs."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from pydantic import Field

from generator.model.base import Bool, Count, Id, Number, Record, Text
from generator.model.program import Named
from generator.model.skill import Review

Cause = Literal["action", "time", "omission"]
"""Why a state is left: a learner did a step, time ran out whatever was done, or a step was not done in time."""


class Reading(Record):
    """One entry of `readings.yaml`: a vital sign that scenarios show, and what values and rates are plausible."""

    id: Id
    name: Text
    short: Text
    unit: Text
    low: Number
    high: Number
    most_per_minute: Number | None = None
    """The fastest plausible change, in units a minute; absent when a sudden change is plausible."""
    sources: tuple[Id, ...] = ()
    provisional: Text | None = None
    """Why the limits are not confirmed in a source."""


class Readings(Record):
    """`readings.yaml`."""

    readings: tuple[Reading, ...]


class Span(Record):
    """From the least to the most that a variant may draw."""

    least: Number
    most: Number


class Answer(Record):
    """What the patient, or somebody who stands by, says when asked. It is on the patient card."""

    asked: Text
    answer: Text
    """The words; in round brackets where something is done and not said."""
    by: Text | None = None
    """Who answers, when it is not the patient."""


class Patient(Record):
    """Whom the group meets. Worked numbers come from these fields."""

    age_years: Number
    sex: Literal["female", "male"]
    height_cm: Number | None = None
    weight_kg: Number | None = None
    formulas: Bool = True
    """Whether weights, volumes and tube sizes are worked out by the published medical formulas. A trade that treats
    nobody says no."""
    about: Text
    """History that the group can find out by asking."""
    answers: tuple[Answer, ...] = ()
    """Lines for a live actor, or for the operator who is the simulator's voice."""


class Cylinder(Record):
    """The oxygen cylinder that the group carries; its minutes run on the scenario clock."""

    size: Text
    gauge_psi: Number
    litres_per_minute: Number


class Need(Record):
    """Steps of a skill that a state calls for."""

    skill: Id
    steps: tuple[Id, ...] = ()
    """All critical steps when absent."""


class Move(Record):
    """Something that happens in a state."""

    id: Id
    says: Text
    """The words on the facilitator's button, or what the group sees happen."""
    on: Cause
    skill: Id | None = None
    step: Id | None = None
    """The step that was done (`action`) or not done (`omission`)."""
    after_seconds: Count | None = None
    """Seconds in this state until it happens; for `time` and `omission`."""
    takes_seconds: Count = 0
    """The least time that an action takes."""
    to: Id | None = None
    """The state that follows; absent when the event is only noted in the log."""


class State(Record):
    """How the patient is, and what may happen next."""

    id: Id
    title: Text
    findings: tuple[Text, ...] = ()
    """What the group can see, hear and feel."""
    readings: Mapping[Id, Number] = Field(default_factory=dict)
    over_seconds: Count = 0
    """Seconds over which the readings move to these values."""
    say: tuple[Text, ...] = ()
    """Lines and prompts for the facilitator."""
    calls_for: tuple[Need, ...] = ()
    moves: tuple[Move, ...] = ()
    exit: Text | None = None
    """How the scenario ends here; such a state has no moves."""


class Cheaper(Record):
    """A cheaper set-up that serves as well."""

    trainer: Id
    how: Text
    loses: Text
    """What it cannot show."""


class Target(Record):
    """A time or interval that the debrief sets beside a published number."""

    id: Id
    name: Text
    since: Id
    """The move that starts the clock, or `start`."""
    until: Id
    """The move that stops it."""
    within: Id | None = None
    """The quantity, in seconds or minutes, that it is set beside."""
    lower_is_better: Bool = True


class Phase(Record):
    """One part of the debrief."""

    name: Text
    minutes: Count
    aim: Text
    questions: tuple[Text, ...]


class Variants(Record):
    """What a seed may change. Numbers that depend on it are worked out again."""

    age_years: Span | None = None
    height_cm: Span | None = None
    gauge_psi: Span | None = None
    starts: tuple[Id, ...] = ()


class Scenario(Record):
    """`scenarios/*.yaml`: one call."""

    id: Id
    title: Text
    strand: Id
    levels: tuple[Id, ...]
    minutes: Count
    """Planned length, without brief and debrief."""
    learners: Count
    roles: tuple[Named, ...] = ()
    brief: Text
    """What the group is told in the two minutes before."""
    dispatch: Text
    scene: Text
    patient: Patient
    cylinder: Cylinder | None = None
    trainer: Id
    needed_for: tuple[Text, ...]
    """What the trainer is really needed for in this call."""
    cheaper: Cheaper | None = None
    equipment: tuple[Id, ...] = ()
    safety_stop: Text
    """The words that stop everything, and when they are said."""
    skills: tuple[Id, ...]
    """Skills that the group has been cleared for, or is far enough on to bring."""
    start: Id
    states: tuple[State, ...] = Field(min_length=1)
    targets: tuple[Target, ...] = ()
    debrief: tuple[Phase, ...]
    variants: Variants | None = None
    evidence: tuple[Id, ...] = ()
    provisional: Text | None = None
    reviewed: Review

    def state(self, id: str) -> State | None:
        """The state of an id; the first, where two have one id."""
        return next((state for state in self.states if state.id == id), None)
