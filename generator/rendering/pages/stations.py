"""Pages of stations: what the instructor at one needs, and a list of all of them."""

from __future__ import annotations

from generator.analysis.addresses import ALL_STATIONS, station_page
from generator.analysis.at_station import attempts_at, number_of, steps_at, worths_at
from generator.analysis.practice import plan_for
from generator.analysis.wording import fill
from generator.model import Lab, Station
from generator.rendering.pages.writing import Handbook, Writer


def labs_with(book: Handbook, station: str) -> tuple[Lab, ...]:
    """The lab days that a station is part of, by date."""
    labs = (lab for lab in book.curriculum.labs.values() if any(stop.station == station for stop in lab.stations))
    return tuple(sorted(labs, key=lambda lab: (lab.on, lab.start, lab.id)))


def station_markdown(book: Handbook, station: Station) -> str:
    """The page of one station; a skill or trainer that nobody knows shows its id."""
    curriculum = book.curriculum
    skill, trainer = curriculum.skills.get(station.skill), curriculum.trainers.get(station.trainer)
    worths = []
    for id, worth in worths_at(curriculum, station):
        technique = curriculum.techniques.get(id)
        feedback = trainer.feedback.get(id) if trainer else None
        worths.append(
            (
                worth,
                technique.name if technique else id,
                feedback.shows if feedback else "",
                technique.right if technique else "",
            )
        )
    return Writer(book=book, page=station_page(station)).write(
        "station.md.j2",
        title=station.title,
        meta={"description": fill(station.brief, curriculum)},
        station=station,
        skill=skill,
        trainer=trainer,
        plan=plan_for(skill, station) if skill else None,
        steps=steps_at(curriculum, station),
        attempts=attempts_at(curriculum, station),
        number=number_of(curriculum, station.id),
        unproved=tuple(row for row in worths if not row[0].is_honest),
        proved=tuple(row for row in worths if row[0].is_honest),
        prompts=tuple(sorted(station.prompts, key=lambda prompt: prompt.at_minute)),
        labs=labs_with(book, station.id),
    )


def stations_markdown(book: Handbook) -> str:
    """All stations by skill, each with its rung, its trainer and its lab days."""
    curriculum = book.curriculum
    rows: dict[str, list[tuple[Station, tuple[Lab, ...]]]] = {}
    for station in curriculum.stations.values():
        rows.setdefault(station.skill, []).append((station, labs_with(book, station.id)))
    groups = [
        (
            curriculum.skills[id].title if id in curriculum.skills else id,
            sorted(found, key=lambda row: (curriculum.rung_order(row[0].rung), row[0].title)),
        )
        for id, found in rows.items()
    ]
    return Writer(book=book, page=ALL_STATIONS).write(
        "stations.md.j2",
        title=book.curriculum.say("Stations"),
        meta={"search": {"boost": 0.5}},
        groups=tuple(sorted(groups, key=lambda group: group[0])),
    )
