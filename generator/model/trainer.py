"""Techniques, equipment and the practice trainers that measure them, honestly or not."""

from __future__ import annotations

from enum import StrEnum

from generator.model.base import Bool, Count, Id, Number, Record, Text


class Worth(StrEnum):
    """What a trainer's feedback on a technique is worth to the learner."""

    MEASURED = "measured"
    """Earned, and it shows a number."""
    EARNED = "earned"
    """The result appears only when the technique is right."""
    GIVEN = "given"
    """The result appears whatever the hands do: false reassurance."""
    SILENT = "silent"
    """No feedback: a person must watch."""

    @property
    def is_honest(self) -> bool:
        """Whether success on this trainer means that the technique was right."""
        return self in (Worth.EARNED, Worth.MEASURED)


class Technique(Record):
    """A part of a skill that hands must get right."""

    name: Text
    right: Text
    """One line: what right looks like."""
    wrong: Text | None = None
    """One line: what happens to the patient when it is wrong."""


class Techniques(Record):
    """`techniques.yaml`."""

    techniques: dict[Id, Technique]


class Item(Record):
    """A piece of equipment that skills use."""

    name: Text
    fitted: Bool = False
    """It goes on or into the patient, so a trainer must accept it."""
    about: Text | None = None


class Equipment(Record):
    """`equipment.yaml`."""

    equipment: dict[Id, Item]


class Feedback(Record):
    """What a trainer tells the learner about one technique."""

    worth: Worth
    shows: Text
    """What the learner sees, hears or feels, and when."""


class Wear(Record):
    """What an attempt costs in money. The cost per attempt is purchase / rated_attempts + consumables_per_attempt."""

    purchase: Number
    rated_attempts: Count
    """Attempts after which the trainer, or its worn part, is replaced."""
    consumables_per_attempt: Number = Number("0")
    attempts_so_far: Count = 0


class Trainer(Record):
    """`trainers/*.yaml`: one kind of practice trainer. A technique that is not listed is `silent`."""

    id: Id
    name: Text
    summary: Text
    feedback: dict[Id, Feedback]
    accepts: tuple[Id, ...] = ()
    """Fitted equipment that it takes."""
    populations: tuple[Id, ...] = ()
    """Patients that it stands for; anyone when absent. Feedback about others does not count for a skill."""
    limits: tuple[Text, ...] = ()
    """What it cannot show, in words an instructor would use."""
    setup_minutes: Count
    setup: tuple[Text, ...]
    cleaning: tuple[Text, ...]
    wear: Wear
    units: Count
    """How many the lab owns; 0 for a kind that it could buy or borrow."""
    learners_per_unit: Count = 4
    provisional: tuple[Text, ...] = ()

    def worth_of(self, technique: str) -> Worth:
        """The worth of this trainer's feedback on a technique id; `silent` when it is not listed."""
        feedback = self.feedback.get(technique)
        return feedback.worth if feedback else Worth.SILENT

    @property
    def is_owned(self) -> bool:
        """Whether the lab has at least one."""
        return self.units > 0
