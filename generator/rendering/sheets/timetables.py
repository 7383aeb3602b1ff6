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
    each_says,
    role_words,
    short_roles,
)
from generator.rendering.sheets import words
from generator.rendering.sheets.deciding import counted
from generator.rendering.sheets.lines import filler
from generator.rendering.sheets.stations import said

MOST_COLUMNS = 8
"""Stations side by side in one table; more of them go into further tables, as even as can be."""


def timetable_of(curriculum: Curriculum, day: LabDay) -> dict[str, Any]:
    """The timetable and set-up list of a lab day. A day without a timetable prints why, and its set-up list."""
    lab = day.lab
    numbers = {stop.station: number for number, stop in enumerate(lab.stations, 1)}
    lead = [
        f"{counted(lab.learners, 'learner', 'learners')} in {counted(len(day.group_sizes), 'group', 'groups')}, "
        f"{counted(len(lab.stations), 'station', 'stations')}, "
        f"blocks of {counted(lab.block_minutes, 'minute', 'minutes')}, "
        f"{counted(lab.change_over_minutes, 'minute', 'minutes')} to change over."
    ]
    if day.slots:
        lead.append(f"From {day.slots[0].starts:%H:%M} to {day.slots[-1].ends:%H:%M} ({lab.time_zone}).")
    return {
        "words": dict(words.TIMETABLE),
        "day": f"{lab.on:%A} {lab.on.day} {lab.on:%B %Y}",
        "lead": lead,
        "clash": list(day.clash),
        "verdict": list(day.verdict),
        "tables": _tables(curriculum, day) if day.turns else [],
        "groups": _cards(
            curriculum,
            day,
            [(f"Group {n}", counted(size, "learner", "learners")) for n, size in enumerate(day.group_sizes, 1)],
            lambda turn: (f"Group {turn.group}",),
            lambda turn: (title_of(curriculum, turn.station), _who(day, turn)),
        ),
        "roles_key": ROLES_KEY,
        "roles": _cards(
            curriculum,
            day,
            [(f"Group {n}", None) for n in range(1, len(day.group_sizes) + 1)],
            lambda turn: (f"Group {turn.group}",) if turn.attempts else (),
            lambda turn: (attempts_say(turn.attempts), None),
        ),
        "instructors": _cards(
            curriculum,
            day,
            [(role_words(one.id), None) for one in lab.instructors],
            lambda turn: tuple(role_words(id) for id in turn.instructors),
            lambda turn: (title_of(curriculum, turn.station), f"Group {turn.group}"),
        ),
        "trainers": _cards(
            curriculum,
            day,
            _trainers(curriculum, day),
            lambda turn: (trainer_name(curriculum, turn.station),),
            lambda turn: (None, f"Group {turn.group}"),
        ),
        "set_up": [_ready(curriculum, day, stop, numbers[stop.station]) for stop in lab.stations],
        "bring": [f"{amount(much)} × {name}" for name, much in day.bring],
        "end": f"End of timetable: {lab.title}.",
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


def _who(day: LabDay, turn: Turn) -> str | None:
    short = short_roles([one.id for one in day.lab.instructors])
    return f"with {', '.join(short.get(id, id) for id in turn.instructors)}" if turn.instructors else None


def _tables(curriculum: Curriculum, day: LabDay) -> list[dict[str, Any]]:
    stops = list(enumerate(day.lab.stations, 1))
    tables = -(-len(stops) // MOST_COLUMNS)
    each = -(-len(stops) // tables)
    return [_table(curriculum, day, stops[at : at + each]) for at in range(0, len(stops), each)]


def _table(curriculum: Curriculum, day: LabDay, stops: list[tuple[int, LabStation]]) -> dict[str, Any]:
    def cell(slot: Slot, station: str) -> list[dict[str, Any]]:
        here = (turn for turn in day.turns if turn.block == slot.block and turn.station == station)
        return [{"group": f"Group {t.group}", "who": _who(day, t)} for t in sorted(here, key=lambda t: t.group)]

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
    say: Callable[[Turn], tuple[str | None, str | None]],
) -> list[dict[str, Any]]:
    """One card a name, with one line for each block it is busy in; no card for a name without a turn."""
    numbers = {stop.station: number for number, stop in enumerate(day.lab.stations, 1)}
    cards = []
    for name, about in people:
        turns = sorted((t for t in day.turns if name in whose(t)), key=lambda t: (t.block, numbers.get(t.station, 0)))
        lines: dict[int, list[dict[str, Any]]] = {}
        for turn in turns:
            what, who = say(turn)
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
        owned = f"{counted(trainer.units, 'unit', 'units')} owned" if trainer else None
        found[trainer_name(curriculum, stop.station)] = owned
    return list(found.items())


def _ready(curriculum: Curriculum, day: LabDay, stop: LabStation, number: int) -> dict[str, Any]:
    """One station of the set-up list: what stands there, when it must be ready, what it uses up, how it is cleaned."""
    text = filler(curriculum)
    station = curriculum.stations.get(stop.station)
    trainer = curriculum.trainers.get(station.trainer) if station else None
    load: Load | None = day.loads.get(stop.station)
    first = min((turn.block for turn in day.turns if turn.station == stop.station), default=None)
    lines: list[tuple[str, str]] = []
    if trainer:
        ready = f" Ready by {day.slot(first).starts:%H:%M}." if first is not None else ""
        minutes = counted(trainer.setup_minutes, "minute", "minutes")
        how = " ".join(map(text, station.set_up if station else ()))
        lines.append(("Set up", f"{trainer.name}, {minutes}.{ready} {how}"))
    if load:
        skill = curriculum.skills.get(station.skill) if station else None
        named = f": {skill.title}" if skill else ""
        lines.append(("Print", f"{counted(load.checklists, 'checklist', 'checklists')}{named}."))
        if load.supplies:
            lines.append(("Bring", f"{'; '.join(f'{amount(much)} × {name}' for name, much in load.supplies)}."))
    cleaning = (station.cleaning if station else ()) or (trainer.cleaning if trainer else ())
    if cleaning:
        lines.append(("Clean", " ".join(map(text, cleaning))))
    about = []
    if load:
        about.append(counted(load.attempts, "attempt", "attempts"))
        about.append(each_says(load))
    return {
        "number": number,
        "title": title_of(curriculum, stop.station),
        "about": ", ".join(about),
        "lines": [{"label": label, "text": said_} for label, said_ in lines],
    }
