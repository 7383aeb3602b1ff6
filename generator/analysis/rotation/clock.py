"""The clock of a lab day: when each block and break starts and ends, across a change of the clocks too."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo
from zoneinfo import ZoneInfo

from generator.model import Lab


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """A stretch of the day: a block by its number from 1, or a break by its name.

    Times are aware where the zone database holds the day's zone, otherwise local without a zone.
    """

    starts: datetime
    ends: datetime
    block: int | None = None
    name: str | None = None


def slots_of(lab: Lab, blocks: int) -> tuple[Slot, ...]:
    """The first so many blocks of a day with the breaks between them, in order.

    A block ends, stations change over, and then comes the break, if there is one. A break after the last block is
    left out: the day is over.
    """
    return tuple(_slots(lab, blocks))


def blocks_until(lab: Lab, end: str) -> int:
    """How many whole blocks fit between the start of a day and a clock time of the same day."""
    zone = zone_of(lab.time_zone)
    limit = at_clock(lab.on, end, zone)
    fits = 0
    # Each block takes a minute at least, so a day has no more of them than minutes.
    while lab.block_minutes and fits < 24 * 60 and slots_of(lab, fits + 1)[-1].ends <= limit:
        fits += 1
    return fits


def zone_of(name: str) -> tzinfo | None:
    """The time zone of that name; None for a name that the zone database does not hold."""
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        return None


def at_clock(day: date, clock: str, zone: tzinfo | None, minutes: int = 0) -> datetime:
    """So many minutes that really pass after a local clock time such as `08:30`."""
    hour, minute = map(int, clock.split(":"))
    start = datetime(day.year, day.month, day.day, hour, minute, tzinfo=zone)
    if zone is None:
        return start + timedelta(minutes=minutes)
    return (start.astimezone(UTC) + timedelta(minutes=minutes)).astimezone(zone)


def _slots(lab: Lab, blocks: int) -> Iterator[Slot]:
    zone = zone_of(lab.time_zone)
    past = 0

    def stretch(minutes: int) -> tuple[datetime, datetime]:
        return at_clock(lab.on, lab.start, zone, past), at_clock(lab.on, lab.start, zone, past + minutes)

    for block in range(1, blocks + 1):
        starts, ends = stretch(lab.block_minutes)
        yield Slot(starts=starts, ends=ends, block=block)
        past += lab.block_minutes + lab.change_over_minutes
        for pause in lab.breaks if block < blocks else ():
            if pause.after_block == block:
                starts, ends = stretch(pause.minutes)
                yield Slot(starts=starts, ends=ends, name=pause.name)
                past += pause.minutes
