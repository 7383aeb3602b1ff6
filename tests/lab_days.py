"""Invented lab days over the shipped stations, planned by hand: groups start one station apart and move on."""

from __future__ import annotations

from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

from generator.analysis.rotation.clock import Slot, at_clock, zone_of
from generator.analysis.rotation.roles import Attempt
from generator.model import Curriculum, Lab
from generator.reading import read_curriculum
from generator.rendering.lab_day import LabDay, Load, Turn

EIGHT = (
    "open-airway-isolate", "suction-isolate", "oral-adjunct-combine", "bag-mask-one-isolate", "bag-mask-two-combine",
    "infant-ventilation-isolate", "supraglottic-isolate", "choking-adult-isolate",
)  # fmt: skip


@cache
def shipped() -> Curriculum:
    curriculum, _ = read_curriculum(Path(__file__).parents[1] / "curriculum")
    assert curriculum is not None
    return curriculum


def lab(**changed: Any) -> Lab:
    """24 learners in 8 groups of 3 at 8 stations, with 8 instructors and 2 breaks."""
    base: dict[str, Any] = {
        "id": "invented-day",
        "title": "An invented day",
        "on": "2027-01-13",
        "start": "08:30",
        "time_zone": "America/New_York",
        "block_minutes": "25",
        "change_over_minutes": "5",
        "learners": "24",
        "group_size": "3",
        "stations": [{"station": id} for id in EIGHT],
        "instructors": [
            {"id": f"instructor-{letter}", "runs": [id]} for letter, id in zip("abcdefgh", EIGHT, strict=True)
        ],
        "breaks": [
            {"after_block": "2", "minutes": "15", "name": "Coffee"},
            {"after_block": "5", "minutes": "40", "name": "Lunch"},
        ],
    }
    return Lab.model_validate(base | changed)


def attempt(number: int, learners: int) -> Attempt:
    """Learner 1 performs first and the next one lends a hand; then everyone moves up by one."""
    order = [(number - 1 + place) % learners + 1 for place in range(learners)]
    return Attempt(
        number=number,
        round=number,
        performers=(("performer", order[0]),),
        partners=tuple(order[1:2]),
        evaluators=tuple(order[2:]),
    )


def planned(one: Lab | None = None) -> LabDay:
    """The day of a lab in which everyone moves on by one station each block."""
    made = one or lab()
    zone = zone_of(made.time_zone)
    count = len(made.stations)
    slots: list[Slot] = []
    minute = 0
    for block in range(1, count + 1):
        for name, minutes in (
            (None, made.block_minutes),
            *((pause.name, pause.minutes) for pause in made.breaks if pause.after_block == block),
        ):
            times = [at_clock(made.on, made.start, zone, minute + extra) for extra in (0, minutes)]
            slots.append(Slot(starts=times[0], ends=times[1], block=None if name else block, name=name))
            minute += minutes
        minute += made.change_over_minutes
    turns = [
        Turn(
            block=block,
            group=group,
            station=(id := made.stations[(group + block - 2) % count].station),
            instructors=tuple(who.id for who in made.instructors if id in who.runs),
            attempts=tuple(attempt(number, made.group_size) for number in range(1, 2 * made.group_size + 1)),
        )
        for block in range(1, count + 1)
        for group in range(1, made.groups + 1)
    ]
    stations = {stop.station: shipped().stations[stop.station] for stop in made.stations}
    loads = {
        id: Load(
            attempts=made.learners * 2,
            attempts_each=(2, 2),
            checklists=made.learners,
            supplies=tuple((supply.name, supply.per_attempt * made.learners * 2) for supply in station.supplies),
        )
        for id, station in stations.items()
    }
    bring: dict[str, Decimal] = {}
    for load in loads.values():
        for name, much in load.supplies:
            bring[name] = bring.get(name, Decimal(0)) + much
    return LabDay(
        lab=made,
        group_sizes=(made.group_size,) * made.groups,
        slots=tuple(slots),
        turns=tuple(turns),
        verdict=("8 blocks. No timetable has fewer: each group visits 8 stations.", "Proved best."),
        loads=loads,
        bring=tuple(sorted(bring.items())),
    )
