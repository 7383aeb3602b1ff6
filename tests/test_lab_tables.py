"""A lab day as CSV and as a calendar: read back by other programs, right across a change of the clocks.

The clocks of the United States go on at 02:00 on the second Sunday of March and back at 02:00 on the first Sunday of
November (15 U.S.C. 260a): 14 March and 7 November in 2027.
"""

from __future__ import annotations

import csv
import io
import re
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pandas
import pytest
import recurring_ical_events
from icalendar import Calendar
from lab_days import lab, planned, shipped

from generator.analysis.rotation.clock import at_clock, zone_of
from generator.rendering.lab_day import LabDay, role_words
from generator.rendering.tables.calendar import calendar_bytes, zone_component
from generator.rendering.tables.timetable import COLUMNS, timetable_text

NEW_YORK = ZoneInfo("America/New_York")
DAYS = ("2027-01-13", "2027-03-14", "2027-03-15", "2027-11-06", "2027-11-07", "2027-11-08")
"""A winter day, the day the clocks go on and the next, the days around the day they go back."""


def made(on: str = "2027-01-13", **changed: object) -> LabDay:
    return planned(lab(on=on, **changed))


# A second reader, written from the line rules of RFC 5545 alone.


def unfolded(data: bytes) -> list[str]:
    """Content lines: CRLF ends each, a line is at most 75 octets, a continuation starts with a space (section 3.1)."""
    assert data.endswith(b"\r\n")
    raw = data[:-2].split(b"\r\n")
    assert all(b"\r" not in line and b"\n" not in line for line in raw)
    assert all(0 < len(line) <= 75 for line in raw)
    lines: list[bytes] = []
    for line in raw:
        if line[:1] in (b" ", b"\t"):
            lines[-1] += line[1:]
        else:
            lines.append(line)
    return [line.decode("utf-8") for line in lines]


def parsed(data: bytes) -> list[tuple[str, dict[str, tuple[str, str]]]]:
    """Components by name, each with its properties: name to (parameters, value). Begins and ends must pair."""
    open_parts: list[tuple[str, dict[str, tuple[str, str]]]] = []
    found = []
    for line in unfolded(data):
        match = re.fullmatch(r"([A-Z][A-Z0-9-]*)((?:;[A-Z-]+=[^:;]+)*):(.*)", line)
        assert match, line
        name, parameters, value = match.groups()
        if name == "BEGIN":
            open_parts.append((value, {}))
        elif name == "END":
            part = open_parts.pop()
            assert part[0] == value
            found.append(part)
        else:
            properties = open_parts[-1][1]
            assert name not in properties, f"{name} comes twice"
            properties[name] = (parameters.lstrip(";"), value)
    assert open_parts == []
    return found


def offset(text: str) -> timedelta:
    return (1 if text[0] == "+" else -1) * timedelta(hours=int(text[1:3]), minutes=int(text[3:5]))


def moment(property: tuple[str, str], parts: list[tuple[str, dict[str, tuple[str, str]]]]) -> datetime:
    """The instant of a local time by the file's own zone rules: the last part that began before it (section 3.6.5)."""
    parameters, value = property
    assert parameters == "TZID=America/New_York"
    local = datetime.strptime(value, "%Y%m%dT%H%M%S")
    rules = [
        (datetime.strptime(p["DTSTART"][1], "%Y%m%dT%H%M%S"), offset(p["TZOFFSETTO"][1]))
        for name, p in parts
        if name in ("STANDARD", "DAYLIGHT")
    ]
    began = [rule for rule in rules if rule[0] <= local]
    return (local - max(began)[1]).replace(tzinfo=UTC)


@pytest.mark.parametrize("on", DAYS)
def test_a_reader_that_knows_only_the_standard_finds_the_right_instants(on: str) -> None:
    day = made(on)
    parts = parsed(calendar_bytes(day, shipped()))
    events = [p for name, p in parts if name == "VEVENT"]
    assert len(events) == 8 * 8 + 2
    wanted = sorted([(day.slot(t.block).starts, day.slot(t.block).ends) for t in day.turns] + breaks(day))
    found = sorted((moment(e["DTSTART"], parts), moment(e["DTEND"], parts)) for e in events)
    assert found == wanted


def breaks(day: LabDay) -> list[tuple[datetime, datetime]]:
    return [(slot.starts, slot.ends) for slot in day.slots if slot.block is None]


def test_every_required_property_is_there_once() -> None:
    """RFC 5545: VCALENDAR needs PRODID and VERSION 2.0 (3.6); VEVENT needs UID and DTSTAMP in UTC (3.6.1)."""
    parts = parsed(calendar_bytes(made(), shipped()))
    calendar = next(p for name, p in parts if name == "VCALENDAR")
    assert calendar["VERSION"][1] == "2.0"
    assert calendar["PRODID"][1]
    events = [p for name, p in parts if name == "VEVENT"]
    for event in events:
        assert re.fullmatch(r"\d{8}T\d{6}Z", event["DTSTAMP"][1])
        assert {"UID", "DTSTART", "DTEND", "SUMMARY"} <= event.keys()
    uids = [event["UID"][1] for event in events]
    assert len(set(uids)) == len(uids) == 66
    for name, part in parts:
        if name in ("STANDARD", "DAYLIGHT"):
            assert {"DTSTART", "TZOFFSETFROM", "TZOFFSETTO"} <= part.keys()


def test_the_zones_changes_stand_at_the_local_time_before_the_change() -> None:
    """RFC 5545 writes New York's changes at T020000, both ways (the example of section 3.6.5)."""
    parts = parsed(calendar_bytes(made("2027-03-15"), shipped()))
    starts = {(name, p["DTSTART"][1], p["TZOFFSETFROM"][1], p["TZOFFSETTO"][1]) for name, p in parts if "TZNAME" in p}
    assert ("DAYLIGHT", "20270314T020000", "-0500", "-0400") in starts
    assert ("STANDARD", "20271107T020000", "-0400", "-0500") in starts
    assert ("STANDARD", "20261101T020000", "-0400", "-0500") in starts


@pytest.mark.parametrize("on", DAYS)
def test_the_library_and_the_clock_agree(on: str) -> None:
    day = made(on)
    calendar = Calendar.from_ical(calendar_bytes(day, shipped()))
    local = date.fromisoformat(on)
    found = recurring_ical_events.of(calendar).at(local)
    assert len(found) == 66
    first = min(event["DTSTART"].dt for event in found)
    assert (first.hour, first.minute) == (8, 30)
    assert first.utcoffset() == datetime(local.year, local.month, local.day, 8, 30, tzinfo=NEW_YORK).utcoffset()


def test_a_night_lab_keeps_its_minutes_while_the_clocks_change() -> None:
    """25-minute blocks from 01:00 on 14 March 2027: the third is under way when 02:00 becomes 03:00."""
    day = made("2027-03-14", start="01:00", breaks=[])
    assert [f"{slot.starts:%H:%M}" for slot in day.slots[:4]] == ["01:00", "01:30", "03:00", "03:30"]
    for slot in day.slots:
        assert slot.ends.astimezone(UTC) - slot.starts.astimezone(UTC) == timedelta(minutes=25)
    back = made("2027-11-07", start="00:30", breaks=[])
    assert [f"{slot.starts:%H:%M}" for slot in back.slots[:6]] == ["00:30", "01:00", "01:30", "01:00", "01:30", "02:00"]


def test_a_zone_without_changes_and_one_that_nobody_knows() -> None:
    parts = parsed(calendar_bytes(made(time_zone="Etc/UTC"), shipped()))
    assert [name for name, _ in parts if name in ("STANDARD", "DAYLIGHT")] == ["STANDARD"]
    lost = parsed(calendar_bytes(made(time_zone="Nowhere/Lost"), shipped()))
    assert not [name for name, _ in lost if name == "VTIMEZONE"]
    event = next(p for name, p in lost if name == "VEVENT")
    assert event["DTSTART"] == ("", "20270113T083000")  # floating time, section 3.3.5


@pytest.mark.parametrize(
    "zone", ["America/New_York", "Europe/Dublin", "Australia/Lord_Howe", "Africa/Casablanca", "Asia/Kolkata"]
)
def test_zone_rules_agree_with_the_zone_database_hour_by_hour(zone: str) -> None:
    """Every hour of the year: the offset that the file's own rules give is the offset of the zone database."""
    known = ZoneInfo(zone)
    near = datetime(2027, 6, 1, tzinfo=known)
    text = zone_component(known, zone, near).to_ical()
    rules = sorted(
        (datetime.strptime(p["DTSTART"][1], "%Y%m%dT%H%M%S") - offset(p["TZOFFSETFROM"][1]), offset(p["TZOFFSETTO"][1]))
        for name, p in parsed(text)
        if name in ("STANDARD", "DAYLIGHT")
    )
    at = datetime(2027, 1, 1, tzinfo=UTC)
    while at < datetime(2028, 1, 1, tzinfo=UTC):
        by_rules = max(rule for rule in rules if rule[0] <= at.replace(tzinfo=None))[1]
        assert by_rules == at.astimezone(known).utcoffset(), at
        at += timedelta(hours=1)


def test_two_builds_give_the_same_bytes_and_a_moved_visit_keeps_its_uid() -> None:
    assert calendar_bytes(made(), shipped()) == calendar_bytes(made(), shipped())
    later = parsed(calendar_bytes(made(start="09:30"), shipped()))
    now = parsed(calendar_bytes(made(), shipped()))
    uids = [[p["UID"][1] for name, p in parts if name == "VEVENT"] for parts in (now, later)]
    assert uids[0] == uids[1]


def test_a_group_and_an_instructor_can_have_a_calendar_of_their_own() -> None:
    day = made()
    for part in ({"group": 3}, {"instructor": "instructor-b"}):
        events = [p for name, p in parsed(calendar_bytes(day, shipped(), **part)) if name == "VEVENT"]
        visits = [event for event in events if "group" in event["UID"][1]]
        assert len(visits) == 8
        assert len(events) == 8 + 2
        for visit in visits:
            said = visit["SUMMARY"][1] if "group" in part else visit["DESCRIPTION"][1]
            assert ("Group 3" if "group" in part else "Instructor B") in said


@pytest.mark.parametrize("part", [{}, {"group": 3}, {"instructor": "instructor-b"}])
def test_a_calendar_put_together_from_its_events_is_what_the_library_writes(part: dict[str, Any]) -> None:
    data = calendar_bytes(made(), shipped(), **part)
    assert Calendar.from_ical(data).to_ical(sorted=False) == data
    whole = parsed(calendar_bytes(made(), shipped()))
    assert all(event in whole for event in parsed(data) if event[0] == "VEVENT")


def test_author_text_cannot_break_out_of_a_calendar_line() -> None:
    title = 'One; two, three\\four "five"\r\nEND:VEVENT\nX-EVIL:1 ' + "ä" * 90
    day = made(breaks=[{"after_block": "2", "minutes": "15", "name": title}])
    data = calendar_bytes(day, shipped())
    parts = parsed(data)
    assert not [p for _, p in parts if "X-EVIL" in p]
    names = [str(event["SUMMARY"]) for event in Calendar.from_ical(data).walk("VEVENT") if "break" in event["UID"]]
    assert names[0].replace("\n", "").replace("\r", "") == title.replace("\n", "").replace("\r", "")


# CSV


def test_the_table_follows_rfc_4180_and_pandas_reads_it() -> None:
    text = timetable_text(made(), shipped())
    assert text.endswith("\r\n")
    assert "\n" not in text.replace("\r\n", "")
    rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert tuple(rows[0]) == COLUMNS
    assert {len(row) for row in rows} == {len(COLUMNS)}
    table = pandas.read_csv(io.StringIO(text))
    assert len(table) == 64
    assert sorted(table["group"].unique()) == list(range(1, 9))
    assert table.groupby("group")["station_id"].nunique().eq(8).all()
    assert table.iloc[0].to_dict() | {"block": 1} == table.iloc[0].to_dict()
    assert table["starts"].iloc[0] == "08:30"
    assert table["learners"].eq(3).all()


@pytest.mark.parametrize("evil", ["=1+1", "+1+1", "-1+1", "@SUM(A1)", "\t=1+1", '=HYPERLINK("x","y")', " =1+1"])
def test_text_that_looks_like_a_formula_is_inert(evil: str) -> None:
    base = shipped()
    station = base.stations["open-airway-isolate"]
    from dataclasses import replace

    stations = {**base.stations, station.id: station.model_copy(update={"title": evil})}
    table = pandas.read_csv(io.StringIO(timetable_text(made(), replace(base, stations=stations))))
    shown = table[table["station_id"] == station.id]["title"].unique()
    assert [title.lstrip("'") == evil and title.startswith("'") for title in shown] == [True]


def test_a_table_of_an_impossible_day_has_its_header_only() -> None:
    day = LabDay(lab=lab(), group_sizes=(), slots=(), turns=(), clash=("too few instructors",))
    assert timetable_text(day, shipped()) == ",".join(COLUMNS) + "\r\n"
    parts = parsed(calendar_bytes(day, shipped()))
    assert [name for name, _ in parts] == ["VEVENT", "VCALENDAR"]  # one component or more, section 3.6
    assert parts[0][1]["DTSTART"] == ("VALUE=DATE", "20270113")


def test_role_codes_are_said_aloud() -> None:
    assert [role_words(id) for id in ("instructor-a", "lead", "lab-helper-2")] == [
        "Instructor A",
        "Lead",
        "Lab helper 2",
    ]


def test_clock_times_of_an_unknown_zone_are_local() -> None:
    assert zone_of("Nowhere/Lost") is None
    assert zone_of("../etc/passwd") is None
    assert at_clock(date(2027, 3, 14), "08:30", None, 45) == datetime(2027, 3, 14, 9, 15)
