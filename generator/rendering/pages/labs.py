"""Pages of lab days: the timetable read four ways, how good it is, what to set up, and files to take away."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from generator.analysis.addresses import LABS_PAGE, lab_page
from generator.analysis.rotation.clock import Slot
from generator.model import Curriculum, Lab
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
)
from generator.rendering.pages.writing import Handbook, Writer


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """Where one group, instructor or trainer is, block by block."""

    anchor: str
    name: str
    about: str
    lines: tuple[tuple[Slot, tuple[Turn, ...]], ...]
    file: str | None = None
    """Its own calendar file."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ready:
    """One station of the set-up list. `first` is the slot of its first visit."""

    number: int
    station: str
    units: int
    first: Slot | None
    load: Load | None


def labs_in_order(curriculum: Curriculum) -> tuple[Lab, ...]:
    """Lab days by date, start and id."""
    return tuple(sorted(curriculum.labs.values(), key=lambda lab: (lab.on, lab.start, lab.id)))


def labs_markdown(book: Handbook) -> str:
    """All lab days by date."""
    return Writer(book=book, page=LABS_PAGE).write(
        "labs.md.j2",
        title=book.curriculum.say("Lab days"),
        meta={"search": {"boost": 0.5}},
        labs=tuple((lab, book.days.get(lab.id)) for lab in labs_in_order(book.curriculum)),
        date=lambda lab: date_said(book.curriculum, lab.on),
    )


def lab_markdown(book: Handbook, lab: Lab) -> str:
    """The page of one lab day; without a timetable it says why, and still lists what to set up."""
    day = book.days.get(lab.id)
    curriculum = book.curriculum
    return Writer(book=book, page=lab_page(lab)).write(
        "lab.md.j2",
        title=lab.title,
        meta={
            "description": curriculum.say(
                "{date}: {count} learners", date=date_said(curriculum, lab.on), count=lab.learners
            )
        },
        lab=lab,
        day=day,
        numbers={stop.station: number for number, stop in enumerate(lab.stations, 1)},
        stations=curriculum.stations,
        here=_here(day) if day else {},
        groups=_groups(curriculum, day) if day else (),
        instructors=_instructors(curriculum, lab, day) if day else (),
        trainers=_trainers(curriculum, lab, day) if day else (),
        ready=_ready(lab, day),
        role_words=partial(role_words, curriculum=curriculum),
        clock_of=clock_of,
        attempts_say=attempts_say,
        ROLES_KEY=curriculum.say(ROLES_KEY),
        each_says=partial(each_says, curriculum=curriculum),
        date=date_said(curriculum, lab.on),
    )


def _here(day: LabDay) -> dict[tuple[int, str], list[Turn]]:
    """Turns by block and station."""
    found: dict[tuple[int, str], list[Turn]] = {}
    for turn in sorted(day.turns, key=lambda turn: turn.group):
        found.setdefault((turn.block, turn.station), []).append(turn)
    return found


def _card(day: LabDay, anchor: str, name: str, about: str, theirs: Sequence[Turn], *, file: str | None = None) -> Card:
    numbers = {stop.station: number for number, stop in enumerate(day.lab.stations, 1)}
    lines: dict[int, list[Turn]] = {}
    for turn in sorted(theirs, key=lambda t: (t.block, numbers.get(t.station, 0), t.group)):
        lines.setdefault(turn.block, []).append(turn)
    return Card(
        anchor=anchor,
        name=name,
        about=about,
        lines=tuple((day.slot(block), tuple(turns)) for block, turns in lines.items()),
        file=file,
    )


def _groups(curriculum: Curriculum, day: LabDay) -> tuple[Card, ...]:
    cards = []
    for number, size in enumerate(day.group_sizes, 1):
        about = curriculum.many(size, "{count} learner", "{count} learners")
        theirs = [turn for turn in day.turns if turn.group == number]
        file = f"{day.lab.id}-group-{number}"
        cards.append(_card(day, f"group-{number}", group_said(curriculum, number), about, theirs, file=file))
    return tuple(cards)


def _instructors(curriculum: Curriculum, lab: Lab, day: LabDay) -> tuple[Card, ...]:
    cards = []
    for one in lab.instructors:
        theirs = [turn for turn in day.turns if one.id in turn.instructors]
        if theirs:
            cards.append(
                _card(day, f"by-{one.id}", role_words(one.id, curriculum), "", theirs, file=f"{lab.id}-{one.id}")
            )
    return tuple(cards)


def _trainers(curriculum: Curriculum, lab: Lab, day: LabDay) -> tuple[Card, ...]:
    ids = dict.fromkeys(id for stop in lab.stations if (id := _trainer_of(curriculum, stop.station)))
    cards = []
    for id in ids:
        trainer = curriculum.trainers.get(id)
        about = curriculum.many(trainer.units, "{count} unit owned", "{count} units owned") if trainer else ""
        theirs = [turn for turn in day.turns if _trainer_of(curriculum, turn.station) == id]
        cards.append(_card(day, f"on-{id}", trainer.name if trainer else id, about, theirs))
    return tuple(cards)


def _trainer_of(curriculum: Curriculum, station: str) -> str | None:
    return curriculum.stations[station].trainer if station in curriculum.stations else None


def _ready(lab: Lab, day: LabDay | None) -> tuple[Ready, ...]:
    found = []
    for number, stop in enumerate(lab.stations, 1):
        blocks = [turn.block for turn in day.turns if turn.station == stop.station] if day else []
        found.append(
            Ready(
                number=number,
                station=stop.station,
                units=stop.units,
                first=day.slot(min(blocks)) if day and blocks else None,
                load=day.loads.get(stop.station) if day else None,
            )
        )
    return tuple(found)
