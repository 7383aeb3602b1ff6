"""Stations and the lab days that are made of them."""

from __future__ import annotations

from pydantic import Field

from generator.model.base import Clock, Count, Day, Id, Number, Record, Text
from generator.model.skill import CommonError


class Prompt(Record):
    """Something the instructor says or changes at a set minute."""

    at_minute: Count
    prompt: Text


class Supply(Record):
    """Something that attempts use up."""

    name: Text
    per_attempt: Number


class Station(Record):
    """`stations/*.yaml`: a skill at a rung on a trainer."""

    id: Id
    title: Text
    skill: Id
    rung: Id
    trainer: Id
    minutes: Count
    set_up: tuple[Text, ...]
    brief: Text
    prompts: tuple[Prompt, ...] = ()
    peers: Text
    """What the learners who are not performing do."""
    errors: tuple[CommonError, ...] = ()
    reset: tuple[Text, ...]
    cleaning: tuple[Text, ...] = ()
    supplies: tuple[Supply, ...] = ()
    partners: Count | None = None
    """Peers who lend a hand in each attempt; one when absent, none for a skill with team roles or a group of two."""


class LabStation(Record):
    """A station on a lab day."""

    station: Id
    units: Count = 1
    """How many groups it takes at once."""
    visits: Count = 1
    """How often each group must visit it."""
    trainer_units: Count | None = None
    """Units of its trainer that one group works on at once; when absent, as many as its learners need."""
    ready_from_block: Count = 1
    """The first block in which it is set up, from 1."""
    rest_blocks: Count = 0
    """Blocks that it must stand empty after use, to be reset or dried."""
    instructors: Count = 1
    """How many instructors must stand at it while it is in use."""


class LabInstructor(Record):
    """An instructor, by role code, and the stations they may run."""

    id: Id
    runs: tuple[Id, ...]


class Break(Record):
    """A pause for everyone."""

    after_block: Count
    minutes: Count
    name: Text


class FixedVisit(Record):
    """A visit that must stay where it is."""

    group: Count
    station: Id
    block: Count


class GroupOrder(Record):
    """The order in which a group meets the stations of a day, typed by hand."""

    group: Count
    stations: tuple[Id, ...]


class Lab(Record):
    """`labs/*.yaml`: one lab day."""

    id: Id
    title: Text
    on: Day
    start: Clock
    time_zone: Text = "America/New_York"
    block_minutes: Count
    change_over_minutes: Count
    learners: Count
    group_size: Count
    stations: tuple[LabStation, ...] = Field(min_length=1)
    instructors: tuple[LabInstructor, ...] = ()
    learners_per_instructor: Count | None = None
    """Most learners at a station for each instructor there; absent when the program sets no ratio."""
    end: Clock | None = None
    """When the last block must be over; absent when the day may be as long as it takes."""
    breaks: tuple[Break, ...] = ()
    fixed: tuple[FixedVisit, ...] = ()
    orders: tuple[GroupOrder, ...] = ()
    """A hand-typed timetable; without it groups start one station apart and move on in the order listed."""

    @property
    def groups(self) -> int:
        """How many groups the learners make."""
        return -(-self.learners // self.group_size) if self.group_size else 0
