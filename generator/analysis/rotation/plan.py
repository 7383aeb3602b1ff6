"""A lab day planned: from the records of a lab to who is where, in which role, how good that is and what it uses up.

Everything that is counted here counts from 1, as the YAML does: blocks, groups, learners of a group, attempts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from generator.analysis.rotation.clock import Slot
from generator.analysis.rotation.day import Breach, Day, Timetable
from generator.analysis.rotation.roles import Attempt, Duty
from generator.analysis.rotation.solve import Aim, Tell
from generator.diagnostics import Location, Problem
from generator.model import Curriculum


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """A group at a station in a block: who runs it, and the attempts that its learners make there, in order."""

    block: int
    group: int
    station: str
    instructors: tuple[str, ...] = ()
    attempts: tuple[Attempt, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """What the day asks of one station.

    `attempts`: all groups together. `attempts_each`: the least and the most attempts that one learner performs in
    there. `minutes_each`: the least and the most minutes hands on. `supplies`: name and amount.
    """

    station: str
    visits: int
    attempts: int
    attempts_each: tuple[int, int]
    minutes_each: tuple[int, int]
    supplies: tuple[tuple[str, Decimal], ...] = ()
    cleaning: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """A station that could go to a later day (`to_lab` None: none is planned yet), and the blocks that this saves."""

    station: str
    saves: int
    to_lab: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Price:
    """What honest order costs: blocks of the day, and which station moved to a later day would save them.

    `is_exact` is False when time ran out on either timetable.
    """

    blocks: int
    moves: tuple[Move, ...] = ()
    is_exact: bool = True
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LabPlan:
    """A lab day with its timetable. `slots` are blocks and breaks with clock times; `turns` by block and group.

    `is_typed`: the order was typed by hand and only judged. `changed`: what differs from the plan that was given as
    `near`, in whole sentences. `problems` holds what a typed order breaks. `verdict` says in whole sentences how
    good the timetable is: bound, proved or not, idling, moves.
    """

    lab: str
    group_sizes: tuple[int, ...]
    slots: tuple[Slot, ...]
    turns: tuple[Turn, ...]
    duties: tuple[Duty, ...]
    bound: int
    aims: tuple[Aim, ...]
    verdict: tuple[str, ...]
    price: Price | None
    loads: tuple[Load, ...]
    supplies: tuple[tuple[str, Decimal], ...]
    breaches: tuple[Breach, ...]
    problems: tuple[Problem, ...]
    changed: tuple[str, ...]
    is_typed: bool
    without: tuple[str, ...]
    learners: int
    day: Day
    timetable: Timetable

    @property
    def is_proved(self) -> bool:
        """Whether every aim is proved: no timetable is better in the order of the aims."""
        return all(aim.is_proved for aim in self.aims)

    def slot(self, block: int) -> Slot:
        """The slot of a block."""
        return next(slot for slot in self.slots if slot.block == block)

    def load(self, station: str) -> Load | None:
        """What the day asks of a station."""
        return next((load for load in self.loads if load.station == station), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Requirement:
    """One thing that the day asks for, in the words of the YAML, and where it is typed."""

    rule: str
    what: str
    location: Location


@dataclass(frozen=True, slots=True, kw_only=True)
class Clash:
    """A day that has no timetable, or none in the time given (`ran_out`).

    `requirements` is a smallest set found that no timetable can keep together: without any one of them there is a
    timetable. `mends` are changes that were tried and make the day possible, in whole sentences.
    """

    lab: str
    requirements: tuple[Requirement, ...]
    mends: tuple[str, ...]
    problems: tuple[Problem, ...]
    ran_out: bool = False
    without: tuple[str, ...] = ()
    learners: int = 0


def plan_of(
    curriculum: Curriculum,
    lab_id: str,
    *,
    without: Sequence[str] = (),
    learners: int | None = None,
    seconds: float = 30.0,
    tell: Tell | None = None,
    near: LabPlan | None = None,
) -> LabPlan | Clash:
    """Plan a lab day within about so many seconds. The same input gives the same plan where the aims are proved.

    `without`: ids of absent instructors, and of trainers of which a unit is out of service (once for each unit).
    `learners`: as if so many came. `near`: an earlier plan of the day, of which as little as possible is changed.
    Raises KeyError for a lab that the curriculum does not hold.
    """
    from generator.analysis.rotation.planning import make_plan  # noqa: PLC0415 - it builds the records above

    return make_plan(
        curriculum, lab_id, without=tuple(without), learners=learners, seconds=seconds, tell=tell, near=near
    )
