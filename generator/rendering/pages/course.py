"""The course map: where each technique is first met honestly, and where it is given too early."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from generator.analysis.addresses import COURSE_PAGE
from generator.analysis.course import CarryOver, Cell, First
from generator.analysis.explain import carry_message, carry_remedy
from generator.analysis.practice import rests_on
from generator.analysis.wear import labs_in_order
from generator.analysis.wording import ranges
from generator.model import Curriculum, Lab, Skill, Station, Worth
from generator.rendering.pages.uses import skills_in_order
from generator.rendering.pages.writing import Handbook, Writer


@dataclass(frozen=True, slots=True, kw_only=True)
class CellPart:
    """One thing that a day does for a technique, with the groups and stations that it is about."""

    shape: str
    word: str
    groups: str = ""
    stations: tuple[Station, ...] = ()
    anchor: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CellView:
    """A technique on a day. `kind` is that of the worst thing in it; no part when the day does not meet it."""

    day: str
    kind: str
    parts: tuple[CellPart, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RowView:
    """A technique over the days."""

    technique: str
    name: str
    cells: tuple[CellView, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DangerView:
    """A meeting on `given` before an honest one."""

    anchor: str
    name: str
    message: str
    remedy: str
    because: str | None


def course_markdown(book: Handbook) -> str:
    """One row a technique, one column a lab day in date order."""
    curriculum, course = book.curriculum, book.analysis.course
    writer = Writer(book=book, page=COURSE_PAGE)
    days = labs_in_order(curriculum)
    firsts = dict(course.firsts)
    early: dict[tuple[str, str], list[CarryOver]] = {}
    for finding in course.findings:
        early.setdefault((finding.technique, finding.lab), []).append(finding)
    rows = tuple(
        RowView(
            technique=technique,
            name=_name(curriculum, technique),
            cells=tuple(
                _cell(curriculum, lab, cell, firsts.get(technique, ()), early.get((technique, lab.id), ()))
                for lab, cell in zip(days, cells, strict=True)
            ),
        )
        for technique, cells in course.map.rows
    )
    dangers = tuple(
        DangerView(
            anchor=_anchor(finding),
            name=f"{_name(curriculum, finding.technique)}, {curriculum.labs[finding.lab].title}",
            message=carry_message(curriculum, finding, names=writer.names),
            remedy=carry_remedy(curriculum, finding, names=writer.names),
            because=finding.because,
        )
        for finding in course.findings
    )
    # What is met first stands first, so that the marks run down the course like stairs.
    rows = tuple(sorted(rows, key=lambda row: next((day for day, cell in enumerate(row.cells) if cell.parts), 0)))
    met = {row.technique for row in rows}
    resting: dict[str, list[Skill]] = {}
    for skill in skills_in_order(curriculum):
        for technique in rests_on(skill.steps):
            resting.setdefault(technique, []).append(skill)
    return writer.write(
        "course.md.j2",
        title=book.curriculum.say("Course map"),
        meta={"hide": ["navigation", "toc"], "search": {"boost": 0.3}},
        days=days,
        rows=rows,
        dangers=dangers,
        verdict=_verdict(book),
        skills=tuple((row.name, tuple(resting.get(row.technique, ()))) for row in rows),
        never=tuple(_name(curriculum, technique) for technique in resting if technique not in met),
    )


def _verdict(book: Handbook) -> str:
    broken = [finding for finding in book.analysis.course.findings if finding.because is None]
    if broken:
        return book.curriculum.many(
            len(broken), "A technique is given too early once", "A technique is given too early {count} times"
        )
    if book.analysis.course.findings:
        return book.curriculum.say("What is given too early has a reason, printed below")
    return book.curriculum.say("No group meets a technique on a lying trainer before it was earned")


def _cell(
    curriculum: Curriculum, lab: Lab, cell: Cell, firsts: Sequence[First], early: Sequence[CarryOver]
) -> CellView:
    everyone = tuple(range(1, lab.groups + 1))
    parts = [
        CellPart(
            shape="given",
            word=curriculum.say("given too early"),
            groups=_groups(curriculum, finding.groups, everyone),
            stations=(curriculum.stations[finding.station],),
            anchor=_anchor(finding),
        )
        for finding in early
    ]
    if cell.first_honest:
        stations = dict.fromkeys(first.station for first in firsts if first.lab == lab.id)
        parts.append(
            CellPart(
                shape="earned",
                word=curriculum.say("first earned"),
                groups=_groups(curriculum, cell.first_honest, everyone),
                stations=tuple(curriculum.stations[station] for station in stations),
            )
        )
    elif cell.is_met and not parts:
        is_heard = any(worth is not Worth.SILENT for worth in cell.worths)
        worths = curriculum.say(" or ").join(map(curriculum.say, cell.worths))
        parts.append(
            CellPart(shape="note", word=curriculum.say("again"), groups=worths)
            if is_heard
            else CellPart(shape="silent", word=curriculum.say("silent"))
        )
    return CellView(day=lab.title, kind=parts[0].shape if parts else "none", parts=tuple(parts))


def _anchor(finding: CarryOver) -> str:
    return f"early-{finding.technique}-{finding.lab}-{finding.station}"


def _groups(curriculum: Curriculum, groups: Sequence[int], everyone: Sequence[int]) -> str:
    if tuple(groups) == tuple(everyone):
        return curriculum.say("every group")
    return curriculum.say(
        "group {numbers}" if len(groups) == 1 else "groups {numbers}", numbers=ranges(groups, curriculum.say)
    )


def _name(curriculum: Curriculum, technique: str) -> str:
    record = curriculum.techniques.get(technique)
    return record.name if record else technique
