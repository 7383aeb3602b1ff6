"""Lab days planned for the site and for print, each kept by what it depends on, so that none is planned twice."""

from __future__ import annotations

import contextlib
import hashlib
import json
from collections.abc import Callable
from dataclasses import asdict
from decimal import Decimal
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import Any

from generator.analysis import rotation
from generator.analysis.rotation.clock import slots_of
from generator.analysis.rotation.plan import plan_of
from generator.analysis.rotation.roles import Attempt
from generator.analysis.told import kept as kept_line
from generator.analysis.told import told_of
from generator.model import Curriculum, Lab
from generator.rendering.lab_day import LabDay, Load, Turn, in_own_words, lab_day_of
from generator.rendering.sheets.pruning import used

SECONDS = 10.0
"""How long one lab day may be planned for before the best timetable so far is taken and labelled so."""


def days_of(
    curriculum: Curriculum,
    *,
    store: Path | None,
    seconds: float = SECONDS,
    progress: Callable[[int, int], None] | None = None,
) -> dict[str, LabDay]:
    """All lab days by id, in the curriculum's order. `progress` is told how many are done, and of how many."""
    days: dict[str, LabDay] = {}
    shared = _shared(curriculum) if store and curriculum.labs else ""
    for lab in curriculum.labs.values():
        days[lab.id] = _planned(curriculum, lab, store, shared, seconds)
        if progress:
            progress(len(days), len(curriculum.labs))
    return days


def lab_day(curriculum: Curriculum, id: str, *, store: Path | None, seconds: float = SECONDS) -> LabDay:
    """One lab day. Raises KeyError for a lab that the curriculum does not hold."""
    return _planned(curriculum, curriculum.labs[id], store, _shared(curriculum) if store else "", seconds)


def _planned(curriculum: Curriculum, lab: Lab, store: Path | None, shared: str, seconds: float) -> LabDay:
    # What is kept is told in English, so that another language plans nothing anew.
    return in_own_words(curriculum, _in_english(curriculum, lab, store, shared, seconds))


def _in_english(curriculum: Curriculum, lab: Lab, store: Path | None, shared: str, seconds: float) -> LabDay:
    if store is None:
        return lab_day_of(curriculum, plan_of(curriculum, lab.id, seconds=seconds))
    entry = store / f"lab-{hashlib.sha256(f'{shared}{lab.id}'.encode()).hexdigest()}.json"
    # A damaged or half-written entry counts as absent.
    with contextlib.suppress(OSError, ValueError, KeyError, TypeError, IndexError):
        day = _read(lab, json.loads(entry.read_text(encoding="utf-8")))
        used(entry)
        return day
    day = lab_day_of(curriculum, plan_of(curriculum, lab.id, seconds=seconds))
    with contextlib.suppress(OSError):
        store.mkdir(parents=True, exist_ok=True)
        fresh = entry.with_suffix(f".part-{id(day)}")
        fresh.write_text(json.dumps(_written(day), default=str), encoding="utf-8")
        fresh.replace(entry)
    return day


@cache
def _works() -> str:
    """A digest of the planning itself and the version of its solver."""
    digest = hashlib.sha256(f"ortools {version('ortools')}".encode())
    for folder in rotation.__path__:
        for file in sorted(Path(folder).glob("*.py")):
            digest.update(file.name.encode() + b"\0" + file.read_bytes())
    return digest.hexdigest()


def _shared(curriculum: Curriculum) -> str:
    """All that any plan depends on. A changed word in a step plans nothing anew; a changed technique does."""
    skills = [
        (
            skill.id,
            skill.title,
            skill.minutes_per_attempt,
            [role.id for role in skill.roles],
            [plan.model_dump(mode="json") for plan in skill.ladder],
            [(step.id, step.critical, step.rests_on, step.by, step.uses, step.populations) for step in skill.steps],
        )
        for skill in curriculum.skills.values()
    ]
    records = [
        [record.model_dump(mode="json") for record in held.values()]
        for held in (curriculum.labs, curriculum.stations, curriculum.trainers, curriculum.techniques)
    ]
    return hashlib.sha256(json.dumps([_works(), skills, records]).encode("utf-8", "backslashreplace")).hexdigest()


def _written(day: LabDay) -> dict[str, Any]:
    return {
        "group_sizes": day.group_sizes,
        "blocks": max((slot.block or 0 for slot in day.slots), default=0),
        "turns": [asdict(turn) for turn in day.turns],
        "verdict": [kept_line(line) for line in day.verdict],
        "clash": [kept_line(line) for line in day.clash],
        "loads": {id: asdict(load) for id, load in day.loads.items()},
        "bring": day.bring,
    }


def _read(lab: Lab, kept: dict[str, Any]) -> LabDay:
    return LabDay(
        lab=lab,
        group_sizes=tuple(kept["group_sizes"]),
        slots=slots_of(lab, kept["blocks"]),
        turns=tuple(_turn(turn) for turn in kept["turns"]),
        verdict=tuple(told_of(line) for line in kept["verdict"]),
        clash=tuple(told_of(line) for line in kept["clash"]),
        loads={
            id: Load(
                attempts=load["attempts"],
                attempts_each=(load["attempts_each"][0], load["attempts_each"][1]),
                checklists=load["checklists"],
                supplies=_amounts(load["supplies"]),
            )
            for id, load in kept["loads"].items()
        },
        bring=_amounts(kept["bring"]),
    )


def _amounts(kept: list[list[str]]) -> tuple[tuple[str, Decimal], ...]:
    return tuple((name, Decimal(much)) for name, much in kept)


def _turn(kept: dict[str, Any]) -> Turn:
    attempts = tuple(
        Attempt(
            number=one["number"],
            round=one["round"],
            performers=tuple((seat, learner) for seat, learner in one["performers"]),
            partners=tuple(one["partners"]),
            evaluators=tuple(one["evaluators"]),
        )
        for one in kept["attempts"]
    )
    return Turn(
        block=kept["block"],
        group=kept["group"],
        station=kept["station"],
        instructors=tuple(kept["instructors"]),
        attempts=attempts,
    )
