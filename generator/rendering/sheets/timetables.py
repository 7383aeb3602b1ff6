"""What the timetable of a lab day prints, as plain data."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from decimal import ROUND_CEILING, Decimal
from typing import Any

from generator.analysis.rotation.clock import Slot
from generator.model import Curriculum, LabStation
from generator.rendering.lab_day import (
    ROLES_KEY,
    LabDay,
    Load,
    Turn,
    attempts_say,
    clock_of,
    date_said,
    each_says,
    group_said,
    role_words,
    short_roles,
)
from generator.rendering.sheets import words
from generator.rendering.sheets.deciding import minutes
from generator.rendering.sheets.lines import filler
from generator.rendering.sheets.stations import said

MOST_COLUMNS = 8
"""Stations side by side in one table; more of them go into further tables, as even as can be."""


def timetable_of(curriculum: Curriculum, day: LabDay) -> dict[str, Any]:
    """The timetable and set-up list of a lab day. A day without a timetable prints why, and its set-up list."""
    lab = day.lab
    say, many = curriculum.say, curriculum.many
    numbers = {stop.station: number for number, stop in enumerate(lab.stations, 1)}
    lead = [
        say(
            "{learners} in {groups}, {stations}, blocks of {minutes}, {more} to change over.",
            learners=many(lab.learners, "{count} learner", "{count} learners"),
            groups=many(len(day.group_sizes), "{count} group", "{count} groups"),
            stations=many(len(lab.stations), "{count} station", "{count} stations"),
            minutes=minutes(curriculum, lab.block_minutes),
            more=minutes(curriculum, lab.change_over_minutes),
        )
    ]
    if day.slots:
        start, end = f"{day.slots[0].starts:%H:%M}", f"{day.slots[-1].ends:%H:%M}"
        lead.append(say("From {start} to {end} ({zone}).", start=start, end=end, zone=lab.time_zone))
    return {
        "words": dict(words.TIMETABLE),
        "day": date_said(curriculum, lab.on),
        "lead": lead,
        "clash": list(day.clash),
        "verdict": list(day.verdict),
        "tables": _tables(curriculum, day) if day.turns else [],
        "groups": _cards(
            curriculum,
            day,
            [
                (group_said(curriculum, n), many(size, "{count} learner", "{count} learners"))
                for n, size in enumerate(day.group_sizes, 1)
            ],
            lambda turn: (group_said(curriculum, turn.group),),
            lambda turn: (title_of(curriculum, turn.station), _who(curriculum, day, turn)),
        ),
        "roles_key": say(ROLES_KEY),
        "roles": _cards(
            curriculum,
            day,
            [(group_said(curriculum, n), None) for n in range(1, len(day.group_sizes) + 1)],
            lambda turn: (group_said(curriculum, turn.group),) if turn.attempts else (),
            lambda turn: (attempts_say(turn.attempts), None),
        ),
        "instructors": _cards(
            curriculum,
            day,
            [(role_words(one.id, curriculum), None) for one in lab.instructors],
            lambda turn: tuple(role_words(id, curriculum) for id in turn.instructors),
            lambda turn: (title_of(curriculum, turn.station), group_said(curriculum, turn.group)),
        ),
        "trainers": _cards(
            curriculum,
            day,
            _trainers(curriculum, day),
            lambda turn: (trainer_name(curriculum, turn.station),),
            lambda turn: (None, group_said(curriculum, turn.group)),
        ),
        "set_up": [_ready(curriculum, day, stop, numbers[stop.station]) for stop in lab.stations],
        "bring": [f"{amount(much)} × {name}" for name, much in day.bring],
        "end": say("End of timetable: {title}.", title=lab.title),
    }


def amount(much: Decimal) -> str:
    """Whole things to bring: always enough."""
    return said(much.to_integral_value(ROUND_CEILING))


def title_of(curriculum: Curriculum, station: str) -> str:
    """The title of a station, or its id."""
    return curriculum.stations[station].title if station in curriculum.stations else station


def trainer_name(curriculum: Curriculum, station: str) -> str:
    """The name of a station's trainer, or its id."""
    record = curriculum.stations.get(station)
    if record is None:
        return station
    return curriculum.trainers[record.trainer].name if record.trainer in curriculum.trainers else record.trainer


def _who(curriculum: Curriculum, day: LabDay, turn: Turn) -> str | None:
    short = short_roles([one.id for one in day.lab.instructors])
    who = ", ".join(short.get(id, id) for id in turn.instructors)
    return curriculum.say("with {who}", who=who) if turn.instructors else None


def _tables(curriculum: Curriculum, day: LabDay) -> list[dict[str, Any]]:
    stops = list(enumerate(day.lab.stations, 1))
    tables = -(-len(stops) // MOST_COLUMNS)
    each = -(-len(stops) // tables)
    return [_table(curriculum, day, stops[at : at + each]) for at in range(0, len(stops), each)]


def _table(curriculum: Curriculum, day: LabDay, stops: list[tuple[int, LabStation]]) -> dict[str, Any]:
    def cell(slot: Slot, station: str) -> list[dict[str, Any]]:
        here = (turn for turn in day.turns if turn.block == slot.block and turn.station == station)
        return [
            {"group": group_said(curriculum, t.group), "who": _who(curriculum, day, t)}
            for t in sorted(here, key=lambda t: t.group)
        ]

    return {
        "stations": [{"number": n, "title": title_of(curriculum, stop.station)} for n, stop in stops],
        "rows": [
            {
                "time": clock_of(slot),
                "block": slot.block,
                "name": slot.name if slot.block is None else None,
                "cells": [cell(slot, stop.station) for _, stop in stops] if slot.block is not None else [],
            }
            for slot in day.slots
        ],
    }


def _cards(
    curriculum: Curriculum,
    day: LabDay,
    people: Iterable[tuple[str, str | None]],
    whose: Callable[[Turn], tuple[str, ...]],
    told: Callable[[Turn], tuple[str | None, str | None]],
) -> list[dict[str, Any]]:
    """One card a name, with one line for each block it is busy in; no card for a name without a turn."""
    numbers = {stop.station: number for number, stop in enumerate(day.lab.stations, 1)}
    cards = []
    for name, about in people:
        turns = sorted((t for t in day.turns if name in whose(t)), key=lambda t: (t.block, numbers.get(t.station, 0)))
        lines: dict[int, list[dict[str, Any]]] = {}
        for turn in turns:
            what, who = told(turn)
            lines.setdefault(turn.block, []).append({"number": numbers.get(turn.station), "what": what, "who": who})
        if lines:
            times = [{"time": f"{day.slot(block).starts:%H:%M}", "at": at} for block, at in lines.items()]
            cards.append({"name": name, "about": about, "turns": times})
    return cards


def _trainers(curriculum: Curriculum, day: LabDay) -> list[tuple[str, str | None]]:
    found: dict[str, str | None] = {}
    for stop in day.lab.stations:
        station = curriculum.stations.get(stop.station)
        trainer = curriculum.trainers.get(station.trainer) if station else None
        owned = curriculum.many(trainer.units, "{count} unit owned", "{count} units owned") if trainer else None
        found[trainer_name(curriculum, stop.station)] = owned
    return list(found.items())


def _ready(curriculum: Curriculum, day: LabDay, stop: LabStation, number: int) -> dict[str, Any]:
    """One station of the set-up list: what stands there, when it must be ready, what it uses up, how it is cleaned."""
    text, say = filler(curriculum), curriculum.say
    station = curriculum.stations.get(stop.station)
    trainer = curriculum.trainers.get(station.trainer) if station else None
    load: Load | None = day.loads.get(stop.station)
    first = min((turn.block for turn in day.turns if turn.station == stop.station), default=None)
    lines: list[tuple[str, str]] = []
    if trainer:
        at = f"{day.slot(first).starts:%H:%M}" if first is not None else ""
        ready = say(" Ready by {time}.", time=at) if at else ""
        time = minutes(curriculum, trainer.setup_minutes)
        how = " ".join(map(text, station.set_up if station else ()))
        lines.append((say("Set up"), f"{trainer.name}, {time}.{ready} {how}"))
    if load:
        skill = curriculum.skills.get(station.skill) if station else None
        named = f": {skill.title}" if skill else ""
        lists = curriculum.many(load.checklists, "{count} checklist", "{count} checklists")
        lines.append((say("Print"), f"{lists}{named}."))
        if load.supplies:
            lines.append((say("Bring"), f"{'; '.join(f'{amount(much)} × {name}' for name, much in load.supplies)}."))
    cleaning = (station.cleaning if station else ()) or (trainer.cleaning if trainer else ())
    if cleaning:
        lines.append((say("Clean"), " ".join(map(text, cleaning))))
    about = []
    if load:
        about.append(curriculum.many(load.attempts, "{count} attempt", "{count} attempts"))
        about.append(each_says(load, curriculum))
    return {
        "number": number,
        "title": title_of(curriculum, stop.station),
        "about": ", ".join(about),
        "lines": [{"label": label, "text": said_} for label, said_ in lines],
    }
