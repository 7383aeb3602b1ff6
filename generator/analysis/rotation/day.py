"""A lab day as the rotation sees it: groups, stations, trainers, instructors, and what must come before what."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """A station of the day. Blocks count from 0.

    `units`: groups it takes at once. `visits`: how often each group comes. `trainer_units`: units of its trainer that
    one group occupies. `ready_from`: first block in which it is set up. `rest`: blocks it needs empty after use.
    `instructors`: how many must stand at it while it is in use.
    """

    id: str
    trainer: str
    units: int = 1
    visits: int = 1
    trainer_units: int = 1
    ready_from: int = 0
    rest: int = 0
    instructors: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Before:
    """Honest-first: a group that has not earned a technique visits one of `first` before it visits `then`."""

    group: int
    technique: str
    first: frozenset[str]
    then: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Fixed:
    """A visit that must stay where it is."""

    group: int
    stop: str
    block: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """What a timetable must satisfy.

    `group_sizes` in learners; groups are numbered from 0. `trainers`: units by trainer id. `instructors`: the stops
    that each may run. `has_instructors`: whether the day plans instructors at all; None means when it names any, so
    that a day whose instructors are all absent is not taken for one without. `learners_per_instructor`: most learners
    at a station for each instructor there. `most_blocks` is the length of the day, None when it is open.
    """

    group_sizes: tuple[int, ...]
    stops: tuple[Stop, ...]
    trainers: Mapping[str, int]
    instructors: Mapping[str, frozenset[str]] = field(default_factory=dict)
    before: tuple[Before, ...] = ()
    fixed: tuple[Fixed, ...] = ()
    has_instructors: bool | None = None
    learners_per_instructor: int | None = None
    most_blocks: int | None = None
    costliest: str | None = None

    @property
    def groups(self) -> range:
        """The groups' numbers."""
        return range(len(self.group_sizes))

    @property
    def plans_instructors(self) -> bool:
        """Whether stations need instructors."""
        return bool(self.instructors) if self.has_instructors is None else self.has_instructors

    @property
    def visits_of_a_group(self) -> int:
        """How many blocks a group spends at stations."""
        return sum(stop.visits for stop in self.stops)


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Visit:
    """A group at a station in a block."""

    block: int
    group: int
    stop: str


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Post:
    """An instructor at a station in a block."""

    block: int
    instructor: str
    stop: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Timetable:
    """Who is where, block by block. Both tuples are sorted."""

    visits: tuple[Visit, ...]
    posts: tuple[Post, ...] = ()

    @property
    def blocks(self) -> int:
        """The number of blocks in use, from the first of the day."""
        return max((visit.block + 1 for visit in self.visits), default=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Breach:
    """A rule that a timetable breaks, in words, and the group, station and block that it is about."""

    rule: str
    what: str
    group: int | None = None
    stop: str | None = None
    block: int | None = None


def bound(day: Day) -> int:
    """A number of blocks that no timetable can beat.

    The most of: visits of one group; visits to a station over its units; visits on a trainer over its units; visits
    over the instructors there are. Without other rules the bound is reached (König 1916 on edge colouring of
    bipartite multigraphs; for unit-time open shop Gonzalez and Sahni 1976).
    """
    groups = len(day.group_sizes)
    least = [day.visits_of_a_group]
    least += [stop.ready_from + _ceil(groups * stop.visits, stop.units) for stop in day.stops if stop.visits and groups]
    for trainer, units in day.trainers.items():
        need = sum(stop.visits * groups * stop.trainer_units for stop in day.stops if stop.trainer == trainer)
        if need and units:
            least.append(_ceil(need, units))
    if day.plans_instructors:
        # A station with several units needs its instructors once for all the groups that are there together.
        need = sum(_ceil(groups * stop.visits, stop.units) * stop.instructors for stop in day.stops)
        least.append(_ceil(need, len(day.instructors)))
    return max(least)


def _ceil(amount: int, by: int) -> int:
    return -(-amount // max(by, 1))
