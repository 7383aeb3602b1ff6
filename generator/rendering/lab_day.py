"""A planned lab day as sheets, pages and tables show it: clock times, who is where, what to set up and bring."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo
from decimal import Decimal
from zoneinfo import ZoneInfo

from generator.model import Lab


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """A stretch of the day: a block, numbered from 1, or a break by name. Times know their zone where it is known."""

    starts: datetime
    ends: datetime
    block: int | None = None
    name: str | None = None

    @property
    def clock(self) -> str:
        """Start and end as a clock shows them: `08:30–08:55`."""
        return f"{self.starts:%H:%M}–{self.ends:%H:%M}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """A group, numbered from 1, at a station in a block, numbered from 1."""

    block: int
    group: int
    station: str
    instructors: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """What a day asks of one station: attempts in all, attempts each learner makes, checklists, and what is used up."""

    attempts: int
    attempts_each: int
    checklists: int
    supplies: tuple[tuple[str, Decimal], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class LabDay:
    """A lab day with its timetable. Without one, `clash` says which requirements forbid it, or that time ran out."""

    lab: Lab
    group_sizes: tuple[int, ...]
    slots: tuple[Slot, ...]
    turns: tuple[Turn, ...]
    verdict: tuple[str, ...] = ()
    """How good the timetable is: bound, proved or not, what honest order costs. Whole sentences."""
    clash: tuple[str, ...] = ()
    loads: dict[str, Load] | None = None
    """By station id."""
    bring: tuple[tuple[str, Decimal], ...] = ()
    """What the whole day uses up, by name."""

    def slot(self, block: int) -> Slot:
        """The slot of a block."""
        return next(slot for slot in self.slots if slot.block == block)


def zone_of(name: str) -> tzinfo | None:
    """The time zone of that name; None for a name that the zone database does not hold."""
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        return None


def at_clock(day: date, clock: str, zone: tzinfo | None, minutes: int) -> datetime:
    """So many minutes after a local clock time, such as `08:30`, however the clocks change in between."""
    hour, minute = map(int, clock.split(":"))
    start = datetime(day.year, day.month, day.day, hour, minute, tzinfo=zone)
    if zone is None:
        return start + timedelta(minutes=minutes)
    return (start.astimezone(UTC) + timedelta(minutes=minutes)).astimezone(zone)


def role_words(id: str) -> str:
    """A role code as it is said aloud: `Instructor A` for `instructor-a`."""
    parts = [part.upper() if len(part) == 1 else part for part in id.split("-")]
    words = " ".join(parts)
    return words[:1].upper() + words[1:]
