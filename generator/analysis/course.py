"""Carry-over: honest-first across the course, and the map of where each technique is first earned.

Lab days run in date order. On each day a group meets stations in its hand-typed order (`orders`), or else in the
default rotation: groups start one station apart and move on in the order listed. Groups are numbered from 1; group k
starts at the k-th station, and after the last station comes the first. A station that a group visits more than once
comes again in a later turn of the same circle. A hand-typed order is taken as it stands. Group k is taken to be
the same learners on every day; a day with fewer groups is one that the others miss.

A station is a skill at a rung on a trainer. It meets the techniques that the critical steps practised there rest on:
those of the rung in the skill's ladder with the same rung and trainer, or of all steps when there is none.

**The rule**: the first station at which a group meets a technique on a trainer that is not `silent` about it must be
`earned` or `measured`. `because:` on the rung that the station stands for excuses it.

**What mends it** is found by trying, for each group concerned:

- a swap of two stations in the group's order that day;
- a station of a later day brought to this day and met first;
- when no single swap does, a whole new order for the day.

A change counts only if the group then no longer meets this technique falsely at its first meeting, and has no finding
more than before. `order_can_mend` is exact: some order of the group's stations of that day lets it meet this station
after the technique was earned. Stations are placed whenever everything `given` there has been earned; placing one only
ever earns more, so what cannot be placed in the end cannot be placed in any order.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import NamedTuple

from generator.analysis.practice import critical_on, plan_for, rests_on, station_steps
from generator.analysis.wear import labs_in_order
from generator.model import Curriculum, Lab, Worth


@dataclass(frozen=True, slots=True, kw_only=True)
class Swap:
    """Two stations of a group's day change places."""

    group: int
    station: str
    with_station: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Bring:
    """A station of a later day is brought to this one, and these groups meet it first."""

    station: str
    from_lab: str
    groups: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reorder:
    """A whole new order for a group's day."""

    group: int
    stations: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CarryOver:
    """Groups that meet a technique on `given` before any honest meeting in the course.

    `suffers` is the first later skill of theirs that rests a critical step on the technique, if any does. `is_typed`
    says that the order was typed by hand.
    """

    lab: str
    station: str
    skill: str
    trainer: str
    technique: str
    step: str
    groups: tuple[int, ...]
    suffers: str | None
    is_typed: bool
    order_can_mend: bool
    mends: tuple[Swap | Bring | Reorder, ...]
    because: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class First:
    """Where a group first meets a technique honestly. `place` counts the group's stations of that day from 0."""

    group: int
    lab: str
    station: str
    place: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """What one lab day does for one technique: groups that first earn it there, groups first misled there.

    `is_met` says whether any station of the day meets it; `worths` are what its feedback is worth at those.
    """

    first_honest: tuple[int, ...]
    first_given: tuple[int, ...]
    worths: tuple[Worth, ...]

    @property
    def is_met(self) -> bool:
        """Whether the day practises it at all."""
        return bool(self.worths)


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseMap:
    """One row a technique, one column a lab day in date order."""

    labs: tuple[str, ...]
    rows: tuple[tuple[str, tuple[Cell, ...]], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """The course as the groups meet it."""

    findings: tuple[CarryOver, ...]
    firsts: tuple[tuple[str, tuple[First, ...]], ...]
    """For each technique that the course meets, the first honest meeting of each group that has one."""
    map: CourseMap


class _Stop(NamedTuple):
    """A station as bits of techniques: met honestly, met on `given` with no reason given, and met at all."""

    honest: int
    given: int
    met: int


class _False(NamedTuple):
    day: int
    station: str
    bit: int


Orders = tuple[tuple[str, ...], ...]
"""A group's stations, one tuple a lab day, empty on a day that it misses."""
_Firsts = Mapping[int, tuple[int, int]]
"""Day and place of the first honest meeting, by technique bit."""


class _Scene(NamedTuple):
    curriculum: Curriculum
    labs: Sequence[Lab]
    techniques: Sequence[str]
    stops: Mapping[str, _Stop]
    orders: Mapping[int, Orders]


def order_of(lab: Lab, group: int) -> tuple[str, ...]:
    """The stations of a day in the order in which a group (from 1) meets them; none when there is no such group."""
    if not 1 <= group <= lab.groups:
        return ()
    for typed in lab.orders:
        if typed.group == group:
            return typed.stations
    start = (group - 1) % len(lab.stations)
    circle = (*lab.stations[start:], *lab.stations[:start])
    turns = max(stop.visits for stop in circle)
    return tuple(stop.station for turn in range(turns) for stop in circle if stop.visits > turn)


def course_of(curriculum: Curriculum) -> Course:
    """Carry-over findings in the order of days and stations, first honest meetings, and the course map."""
    labs = labs_in_order(curriculum)
    techniques = tuple(dict.fromkeys(t for s in curriculum.skills.values() for t in rests_on(s.steps)))
    bits = {technique: 1 << place for place, technique in enumerate(techniques)}
    stops = {id: _stop(curriculum, id, bits) for id in curriculum.stations}
    groups = range(1, max((lab.groups for lab in labs), default=0) + 1)
    orders = {g: tuple(tuple(s for s in order_of(lab, g) if s in stops) for lab in labs) for g in groups}
    scene = _Scene(curriculum, labs, techniques, stops, orders)
    found: dict[_False, list[int]] = {}
    # What the faculty gave a reason for is found too, so that a page can print the reason.
    unexcused = {id: _stop(curriculum, id, bits, excuse=False) for id in curriculum.stations}
    for group in groups:
        for false in _walk(orders[group], unexcused):
            found.setdefault(false, []).append(group)
    places = {(day, stop.station): p for day, lab in enumerate(labs) for p, stop in enumerate(lab.stations)}
    in_order = sorted(found, key=lambda false: (false.day, places.get((false.day, false.station), 0)))
    findings = tuple(_finding(scene, false, tuple(found[false])) for false in in_order)
    firsts = {group: _firsts(orders[group], stops) for group in groups}
    met = 0
    for mine in orders.values():
        for station in (station for day in mine for station in day):
            met |= stops[station].met
    rows = tuple(
        (technique, tuple(_cells(scene, firsts, findings, bits[technique])))
        for technique in techniques
        if met & bits[technique]
    )
    return Course(
        findings=findings,
        firsts=tuple((technique, tuple(_first_of(scene, firsts, bits[technique]))) for technique, _ in rows),
        map=CourseMap(labs=tuple(lab.id for lab in labs), rows=rows),
    )


def _first_of(scene: _Scene, firsts: Mapping[int, _Firsts], bit: int) -> Iterator[First]:
    for group, mine in firsts.items():
        if bit in mine:
            day, place = mine[bit]
            station = scene.orders[group][day][place]
            yield First(group=group, lab=scene.labs[day].id, station=station, place=place)


def _stop(curriculum: Curriculum, id: str, bits: Mapping[str, int], *, excuse: bool = True) -> _Stop:
    station = curriculum.stations[id]
    trainer, skill = curriculum.trainers.get(station.trainer), curriculum.skills.get(station.skill)
    if trainer is None or skill is None:
        return _Stop(0, 0, 0)
    plan = plan_for(skill, station)
    is_excused = excuse and plan is not None and plan.because is not None
    honest = given = met = 0
    for technique in rests_on(station_steps(curriculum, station)):
        worth = trainer.worth_of(technique)
        met |= bits[technique]
        honest |= bits[technique] if worth.is_honest else 0
        given |= bits[technique] if worth is Worth.GIVEN and not is_excused else 0
    return _Stop(honest, given, met)


def _walk(orders: Sequence[Sequence[str]], stops: Mapping[str, _Stop]) -> Iterator[_False]:
    """First meetings on `given`, each technique once."""
    settled = 0
    for day, stations in enumerate(orders):
        for station in stations:
            stop = stops[station]
            false = stop.given & ~settled
            while false:
                bit = false & -false
                yield _False(day, station, bit)
                false ^= bit
            settled |= stop.honest | stop.given


def _firsts(orders: Orders, stops: Mapping[str, _Stop]) -> dict[int, tuple[int, int]]:
    """Day and place of the first honest meeting of each technique bit."""
    found: dict[int, tuple[int, int]] = {}
    earned = 0
    for day, stations in enumerate(orders):
        for place, station in enumerate(stations):
            new = stops[station].honest & ~earned
            earned |= new
            while new:
                bit = new & -new
                found[bit] = (day, place)
                new ^= bit
    return found


def _finding(scene: _Scene, false: _False, groups: tuple[int, ...]) -> CarryOver:
    curriculum, stops, orders = scene.curriculum, scene.stops, scene.orders
    station = curriculum.stations[false.station]
    technique = scene.techniques[false.bit.bit_length() - 1]
    skill = curriculum.skills[station.skill]
    plan = plan_for(skill, station)
    lab = scene.labs[false.day]
    return CarryOver(
        lab=lab.id,
        station=station.id,
        skill=skill.id,
        trainer=station.trainer,
        technique=technique,
        step=critical_on(station_steps(curriculum, station), technique)[0].id,
        groups=groups,
        suffers=_suffers(curriculum, stops, orders[groups[0]], false),
        is_typed=any(typed.group in groups for typed in lab.orders),
        order_can_mend=all(_placed(orders[group], stops, false.day)[1] & false.bit for group in groups),
        mends=() if plan and plan.because else _mends(scene, false, groups),
        because=plan.because if plan else None,
    )


def _suffers(curriculum: Curriculum, stops: Mapping[str, _Stop], orders: Orders, false: _False) -> str | None:
    """The first other skill that the group meets later and that rests on the technique."""
    own = curriculum.stations[false.station].skill
    place = orders[false.day].index(false.station)
    later = (*orders[false.day][place + 1 :], *(station for day in orders[false.day + 1 :] for station in day))
    skills = (curriculum.stations[station].skill for station in later if stops[station].met & false.bit)
    return next((skill for skill in skills if skill != own), None)


def _earned_before(orders: Orders, stops: Mapping[str, _Stop], day: int) -> int:
    earned = 0
    for stations in orders[:day]:
        for station in stations:
            earned |= stops[station].honest
    return earned


def _placed(orders: Orders, stops: Mapping[str, _Stop], day: int) -> tuple[tuple[str, ...], int]:
    """The day's stations that can be met honestly, in an order close to the present one, and all earned by then."""
    earned = _earned_before(orders, stops, day)
    waiting = list(orders[day])
    placed: list[str] = []
    while True:
        ready = next((station for station in waiting if not stops[station].given & ~earned), None)
        if ready is None:
            return tuple(placed), earned
        waiting.remove(ready)
        placed.append(ready)
        earned |= stops[ready].honest


def _mends(scene: _Scene, false: _False, groups: tuple[int, ...]) -> tuple[Swap | Bring | Reorder, ...]:
    stops, orders = scene.stops, scene.orders
    found: list[Swap | Bring | Reorder] = []
    for group in groups:
        mine = orders[group]
        swaps = tuple(_swaps(mine, stops, false))
        if swaps:
            first, second = swaps[0]
            found.append(Swap(group=group, station=mine[false.day][first], with_station=mine[false.day][second]))
            continue
        placed, earned = _placed(mine, stops, false.day)
        rest = list(mine[false.day])
        for station in placed:
            rest.remove(station)
        new = (*placed, *rest)
        if earned & false.bit and _is_mended(mine, _with_day(mine, false.day, new), stops, false.bit):
            found.append(Reorder(group=group, stations=new))
    brought: dict[tuple[str, int], list[int]] = {}
    for group in groups:
        mine = orders[group]
        for day in range(false.day + 1, len(mine)):
            for station in dict.fromkeys(mine[day]):
                if not stops[station].honest & false.bit:
                    continue
                left = list(mine[day])
                left.remove(station)
                moved = _with_day(_with_day(mine, day, tuple(left)), false.day, (station, *mine[false.day]))
                if _is_mended(mine, moved, stops, false.bit):
                    brought.setdefault((station, day), []).append(group)
    found += [
        Bring(station=station, from_lab=scene.labs[day].id, groups=tuple(able))
        for (station, day), able in brought.items()
    ]
    return tuple(found)


def _swaps(mine: Orders, stops: Mapping[str, _Stop], false: _False) -> Iterator[tuple[int, int]]:
    """Places of the day whose stations could change over, nearest to each other first."""
    today = mine[false.day]
    for first, second in sorted(combinations(range(len(today)), 2), key=lambda pair: (pair[1] - pair[0], pair)):
        changed = list(today)
        changed[first], changed[second] = changed[second], changed[first]
        if _is_mended(mine, _with_day(mine, false.day, tuple(changed)), stops, false.bit):
            yield first, second


def _with_day(orders: Orders, day: int, stations: tuple[str, ...]) -> Orders:
    return (*orders[:day], stations, *orders[day + 1 :])


def _is_mended(before: Orders, after: Orders, stops: Mapping[str, _Stop], bit: int) -> bool:
    found = [false.bit for false in _walk(after, stops)]
    return bit not in found and len(found) < sum(1 for _ in _walk(before, stops))


def _cells(scene: _Scene, firsts: Mapping[int, _Firsts], findings: Sequence[CarryOver], bit: int) -> Iterator[Cell]:
    curriculum, stops = scene.curriculum, scene.stops
    technique = scene.techniques[bit.bit_length() - 1]
    misled = [finding for finding in findings if finding.technique == technique]
    for day, lab in enumerate(scene.labs):
        met = [stop.station for stop in lab.stations if stop.station in stops and stops[stop.station].met & bit]
        trainers = (curriculum.trainers[curriculum.stations[station].trainer] for station in met)
        yield Cell(
            first_honest=tuple(group for group, mine in firsts.items() if mine.get(bit, (-1, 0))[0] == day),
            first_given=tuple(sorted(g for finding in misled if finding.lab == lab.id for g in finding.groups)),
            worths=tuple(dict.fromkeys(trainer.worth_of(technique) for trainer in trainers)),
        )
