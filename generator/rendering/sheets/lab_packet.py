"""What the packet of a lab day holds: its timetable, then guide, checklists and practice card of each station."""

from __future__ import annotations

from collections.abc import Sequence

from generator.model import Curriculum, Lab
from generator.rendering.lab_day import LabDay
from generator.rendering.sheets.packet import Packet, Part, words_of
from generator.rendering.sheets.sheet import Sheet


def packet_of(
    curriculum: Curriculum, day: LabDay, sheets: Sequence[Sheet], *, copies: bool = False, fronts: bool = True
) -> Packet:
    """The packet of a day from its sheets; a sheet that is not among them is left out.

    `copies` repeats each checklist as often as the timetable asks for; without it the timetable tells the number.
    """
    known: dict[tuple[str, str], Sheet] = {(sheet.kind, sheet.id): sheet for sheet in sheets}
    parts = []
    cover = known.get(("timetable", day.lab.id))
    if cover:
        parts.append(Part(sheet=cover, bookmark=f"{cover.data['words']['kind']}: {cover.title}", sections=True))
    for number, id in enumerate(stations_in_order(day.lab), 1):
        parts += _parts_of(curriculum, day, known, number, id, copies=copies)
    title = curriculum.say("{title}: packet", title=day.lab.title)
    return Packet(title=title, parts=tuple(parts), fronts=fronts, words=words_of(curriculum))


def stations_in_order(lab: Lab) -> tuple[str, ...]:
    """The stations of a lab day as it lists and numbers them."""
    return tuple(stop.station for stop in lab.stations)


def _parts_of(
    curriculum: Curriculum,
    day: LabDay,
    known: dict[tuple[str, str], Sheet],
    number: int,
    id: str,
    *,
    copies: bool,
) -> list[Part]:
    station = curriculum.stations.get(id)
    if station is None:
        return []
    load = day.loads.get(id)
    parts = []
    guide = known.get(("station", id))
    if guide:
        words = guide.data["words"]
        over = {"number": number}
        parts.append(Part(sheet=guide, bookmark=f"{words['station']} {number}: {guide.title}", over=over))
    checklist, practice = known.get(("checklist", station.skill)), known.get(("practice", station.skill))
    deeper = 1 if guide else 0
    if checklist:
        one = Part(sheet=checklist, bookmark=_named(checklist), deeper=deeper)
        parts += [one] * (max(load.checklists, 1) if copies and load else 1)
    if practice:
        parts.append(Part(sheet=practice, bookmark=_named(practice), deeper=deeper))
    return parts


def _named(sheet: Sheet) -> str:
    return f"{sheet.data['words']['kind']}: {sheet.title}"
