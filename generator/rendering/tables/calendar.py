"""A lab day as a calendar file: iCalendar, RFC 5545. The only module that knows icalendar.

Nothing in it depends on when it is made, so two builds of the same day give the same bytes.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, time, timedelta, tzinfo
from functools import lru_cache
from typing import Any
from urllib.parse import urlsplit

from icalendar import Calendar, Event, Timezone, TimezoneDaylight, TimezoneStandard

from generator.analysis.rotation.clock import Slot
from generator.model import Curriculum
from generator.rendering.lab_day import LabDay, Turn, role_words

_END = b"END:VCALENDAR\r\n"
LONGEST = timedelta(days=400)
"""How far from the lab day a calendar describes its zone's changes: always past the last change and the next one."""


def calendar_bytes(
    day: LabDay, curriculum: Curriculum, *, group: int | None = None, instructor: str | None = None
) -> bytes:
    """The visits and breaks of a day; only those of a group (from 1) or of an instructor when one is named."""
    return DayCalendar(day, curriculum).of(group=group, instructor=instructor)


class DayCalendar:
    """A day's calendars: of all, of a group, of an instructor. Each event is written once and stands in several.

    Local times with their zone described; a zone that nobody knows gives floating times, which a calendar takes as
    local wherever it is.
    """

    def __init__(self, day: LabDay, curriculum: Curriculum) -> None:
        self._around = bytes(_empty(day, curriculum).to_ical())
        seen: dict[tuple[int, str], int] = {}
        self._visits: list[tuple[Turn, bytes]] = []
        for turn in sorted(day.turns, key=lambda t: (t.block, t.group, t.station)):
            visit = seen[turn.group, turn.station] = seen.get((turn.group, turn.station), 0) + 1
            self._visits.append((turn, _visit(day, curriculum, turn, visit).to_ical()))
        others = [
            _event(day, curriculum, f"break-{number}", slot, slot.name or curriculum.say("Break"))
            for number, slot in enumerate((slot for slot in day.slots if slot.block is None), 1)
        ]
        if not day.slots:
            others.append(_whole_day(day, curriculum))  # a calendar holds one component or more (section 3.6)
        self._others = b"".join(event.to_ical() for event in others)

    def of(self, *, group: int | None = None, instructor: str | None = None) -> bytes:
        """The file of a group (from 1), of an instructor, or of the whole day."""
        visits = (
            event
            for turn, event in self._visits
            if group in (None, turn.group) and (instructor is None or instructor in turn.instructors)
        )
        return self._around.removesuffix(_END) + b"".join((*visits, self._others, _END))


def _empty(day: LabDay, curriculum: Curriculum) -> Any:
    calendar = Calendar()
    calendar.add("prodid", f"-//{curriculum.program.name}//Lab days//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", "PUBLISH")
    zone = day.slots[0].starts.tzinfo if day.slots else None
    if zone is not None:
        calendar.add_component(zone_component(zone, day.lab.time_zone, day.slots[0].starts))
    return calendar


def _whole_day(day: LabDay, curriculum: Curriculum) -> Any:
    slot = Slot(starts=datetime.combine(day.lab.on, time()), ends=datetime.combine(day.lab.on, time()))
    event = _event(day, curriculum, "day", slot, curriculum.say("{lab}: no timetable yet", lab=day.lab.title))
    for name in ("dtstart", "dtend"):
        del event[name]
    event.add("dtstart", day.lab.on)
    return event


def _visit(day: LabDay, curriculum: Curriculum, turn: Turn, visit: int) -> Any:
    say = curriculum.say
    station = curriculum.stations.get(turn.station)
    number = next((n for n, stop in enumerate(day.lab.stations, 1) if stop.station == turn.station), 0)
    title = station.title if station else turn.station
    trainer = curriculum.trainers.get(station.trainer) if station else None
    facts = [say("Trainer: {name}.", name=trainer.name)] if trainer else []
    if turn.instructors:
        facts.append(say("Run by: {names}.", names=", ".join(role_words(id, curriculum) for id in turn.instructors)))
    # Group, station and how often it has been there: a visit that moves to another hour stays the same event.
    name = f"group-{turn.group}-{turn.station}-{visit}"
    summary = say("Group {group}: station {number}, {title}", group=turn.group, number=number, title=title)
    event = _event(day, curriculum, name, day.slot(turn.block), summary)
    event.add("location", say("Station {number}", number=number))
    if facts:
        event.add("description", " ".join(facts))
    if station:
        event.add("url", f"{curriculum.program.site_url.rstrip('/')}/stations/{station.id}.html")
    return event


def _event(day: LabDay, curriculum: Curriculum, name: str, slot: Slot, summary: str) -> Any:
    host = urlsplit(curriculum.program.site_url).hostname or "localhost"
    event = Event()
    event.add("uid", f"{day.lab.id}-{name}@{host}")
    # RFC 5545 asks when the event was written down. That would differ between builds, so it is a day of the input.
    event.add("dtstamp", datetime(day.lab.on.year, 1, 1, tzinfo=UTC))
    event.add("dtstart", slot.starts)
    event.add("dtend", slot.ends)
    event.add("summary", summary)
    event.add("categories", [day.lab.title])
    return event


@lru_cache(100)
def zone_component(zone: tzinfo, name: str, near: datetime) -> Any:
    """The zone's rules about a moment, as a VTIMEZONE with one part for each change of its clocks.

    A part starts at the local time just before the change, as RFC 5545 section 3.6.5 has it: in New York the clocks
    went on at 02:00, although 03:00 is the first time they then show. A day has a calendar for each group and each
    instructor, all with the same zone, so what this gives is shared and must not be changed.
    """
    component = Timezone()
    component.add("tzid", name)
    utc = near.astimezone(UTC)
    first = _standing(zone, utc - LONGEST, start=datetime(1970, 1, 1))
    for part in (first, *_changes(zone, utc - LONGEST, utc + LONGEST)):
        component.add_component(part)
    return component


def _changes(zone: tzinfo, since: datetime, until: datetime) -> Iterator[Any]:
    step = timedelta(days=1)
    while since < until:
        before, after = since.astimezone(zone).utcoffset(), (since + step).astimezone(zone).utcoffset()
        if before != after and before is not None:
            low, high = since, since + step
            while high - low > timedelta(seconds=1):
                middle = low + (high - low) / 2
                low, high = (middle, high) if middle.astimezone(zone).utcoffset() == before else (low, middle)
            change = (high + timedelta(milliseconds=500)).replace(microsecond=0)
            yield _standing(zone, change, start=(change + before).replace(tzinfo=None), before=before)
        since += step


def _standing(zone: tzinfo, moment: datetime, *, start: datetime, before: timedelta | None = None) -> Any:
    local = moment.astimezone(zone)
    part = TimezoneDaylight() if local.dst() else TimezoneStandard()
    part.add("dtstart", start)
    part.add("tzoffsetfrom", local.utcoffset() if before is None else before)
    part.add("tzoffsetto", local.utcoffset())
    part.add("tzname", local.tzname())
    return part
