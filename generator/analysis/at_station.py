"""What is met at a station: its steps by number, and what the trainer's feedback on their techniques is worth there."""

from __future__ import annotations

from generator.analysis.practice import rests_on, station_steps
from generator.model import Curriculum, Lab, Station, Step, Worth

ORDER = (Worth.GIVEN, Worth.SILENT, Worth.EARNED, Worth.MEASURED)
"""False reassurance first: it is what an instructor must know before the station opens."""


def steps_at(curriculum: Curriculum, station: Station) -> tuple[tuple[int, Step], ...]:
    """The steps practised at a station, numbered from 1 as in the skill."""
    skill = curriculum.skills.get(station.skill)
    here = {step.id for step in station_steps(curriculum, station)}
    return tuple((number, step) for number, step in enumerate(skill.steps if skill else (), 1) if step.id in here)


def worths_at(curriculum: Curriculum, station: Station) -> tuple[tuple[str, Worth], ...]:
    """Techniques that critical steps rest on at a station, each with its worth there; in `ORDER`, then as first met.

    Empty when the trainer or the skill is not known.
    """
    trainer = curriculum.trainers.get(station.trainer)
    if trainer is None:
        return ()
    met = [(id, trainer.worth_of(id)) for id in rests_on(station_steps(curriculum, station))]
    return tuple(sorted(met, key=lambda pair: ORDER.index(pair[1])))


def attempts_at(curriculum: Curriculum, station: Station) -> int:
    """Attempts that one trainer has time for in a visit: whole ones in the station's minutes; 0 when not known."""
    skill = curriculum.skills.get(station.skill)
    return station.minutes // skill.minutes_per_attempt if skill and skill.minutes_per_attempt else 0


def number_of(curriculum: Curriculum, station: str) -> int | None:
    """The number a station goes by: its place in the lab day that uses it; None when none does, or several do."""
    places = [place for lab in curriculum.labs.values() if (place := place_in(lab, station)) is not None]
    return places[0] if len(places) == 1 else None


def place_in(lab: Lab, station: str) -> int | None:
    """The number of a station on a lab day, from 1, as the day lists them."""
    return next((number for number, stop in enumerate(lab.stations, 1) if stop.station == station), None)
