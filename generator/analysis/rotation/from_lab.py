"""A lab day of the curriculum as the rotation sees it, and its hand-typed timetable when it has one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from generator.analysis.course import order_of
from generator.analysis.practice import plan_for, rests_on, station_steps
from generator.analysis.rotation.clock import blocks_until
from generator.analysis.rotation.day import Before, Day, Fixed, Stop, Timetable, Visit
from generator.analysis.wear import cost_per_attempt, group_sizes, labs_in_order
from generator.model import Curriculum, Lab, LabStation, Worth


def day_of(curriculum: Curriculum, lab: Lab, *, without: Sequence[str] = (), learners: int | None = None) -> Day:
    """What the timetable of a lab day must satisfy.

    `without`: instructors who are absent, and trainers of which one unit is out of service for each time that they
    are named. `learners`: as if so many came. Stations that the curriculum does not hold are left out.
    """
    missing = Counter(without)
    coming = with_learners(lab, learners)
    sizes = group_sizes(coming)
    most = max(sizes, default=0)
    stops = tuple(
        Stop(
            id=stop.station,
            trainer=curriculum.stations[stop.station].trainer,
            units=stop.units,
            visits=stop.visits,
            trainer_units=units_at_work(curriculum, stop, most),
            ready_from=max(0, stop.ready_from_block - 1),
            rest=stop.rest_blocks,
            instructors=stop.instructors,
        )
        for stop in lab.stations
        if stop.station in curriculum.stations
    )
    known = frozenset(stop.id for stop in stops)
    used = dict.fromkeys(stop.trainer for stop in stops)
    units = {id: curriculum.trainers[id].units if id in curriculum.trainers else 0 for id in used}
    return Day(
        group_sizes=sizes,
        stops=stops,
        trainers={id: max(0, owned - missing[id]) for id, owned in units.items()},
        instructors={one.id: known.intersection(one.runs) for one in lab.instructors if not missing[one.id]},
        has_instructors=bool(lab.instructors),
        learners_per_instructor=lab.learners_per_instructor,
        before=tuple(_before(curriculum, lab, known, len(sizes))),
        fixed=tuple(Fixed(group=fixed.group - 1, stop=fixed.station, block=fixed.block - 1) for fixed in lab.fixed),
        most_blocks=blocks_until(lab, lab.end) if lab.end else None,
        costliest=_costliest(curriculum, used),
    )


def with_learners(lab: Lab, learners: int | None) -> Lab:
    """The lab as if so many learners came."""
    return lab if learners is None else lab.model_copy(update={"learners": learners})


def units_at_work(curriculum: Curriculum, stop: LabStation, learners: int) -> int:
    """Units of its trainer that a group of so many learners works on at once at a station of the day."""
    if stop.trainer_units is not None:
        return stop.trainer_units
    station = curriculum.stations.get(stop.station)
    trainer = curriculum.trainers.get(station.trainer) if station else None
    if trainer is None or not trainer.learners_per_unit:
        return 1
    wanted = max(1, -(-learners // trainer.learners_per_unit))
    return min(wanted, trainer.units) if trainer.units else wanted


def typed_timetable(curriculum: Curriculum, lab: Lab) -> Timetable | None:
    """The visits that the hand-typed orders of a lab say, without instructors; None when nothing was typed.

    A group whose order was not typed starts one station later than the group before it and moves on in the order
    listed, as everywhere else in the handbook.
    """
    if not lab.orders:
        return None
    return Timetable(
        visits=tuple(
            sorted(
                Visit(block=block, group=group - 1, stop=station)
                for group in range(1, lab.groups + 1)
                for block, station in enumerate(order_of(lab, group))
                if station in curriculum.stations
            )
        )
    )


def earned_before(curriculum: Curriculum, lab: Lab, group: int) -> set[str]:
    """Techniques that a group (from 1) met honestly on an earlier lab day."""
    earned: set[str] = set()
    for earlier in labs_in_order(curriculum):
        if earlier.id == lab.id:
            break
        if group <= earlier.groups:
            earned.update(*(honest_at(curriculum, stop.station) for stop in earlier.stations))
    return earned


def honest_at(curriculum: Curriculum, station: str) -> set[str]:
    """Techniques whose success at a station means that the hands were right."""
    return {technique for technique, worth in _met(curriculum, station) if worth.is_honest}


def given_at(curriculum: Curriculum, station: str) -> tuple[str, ...]:
    """Techniques that a station rewards whatever the hands do, unless its rung gives a reason."""
    record = curriculum.stations.get(station)
    skill = curriculum.skills.get(record.skill) if record else None
    plan = plan_for(skill, record) if record and skill else None
    if plan and plan.because:
        return ()
    return tuple(technique for technique, worth in _met(curriculum, station) if worth is Worth.GIVEN)


def _met(curriculum: Curriculum, station: str) -> Iterator[tuple[str, Worth]]:
    record = curriculum.stations.get(station)
    trainer = curriculum.trainers.get(record.trainer) if record else None
    if record and trainer:
        for technique in rests_on(station_steps(curriculum, record)):
            yield technique, trainer.worth_of(technique)


def _before(curriculum: Curriculum, lab: Lab, known: Iterable[str], groups: int) -> Iterator[Before]:
    """Honest-first for each group. What no order of the day can keep is left out: the rule `carry-over` reports it."""
    known = set(known)
    stations = [stop.station for stop in lab.stations if stop.station in known and stop.visits]
    for group in range(groups):
        earned = earned_before(curriculum, lab, group + 1)
        in_time = _earned_in_time(curriculum, stations, earned)
        for then in stations:
            for technique in given_at(curriculum, then):
                first = frozenset(
                    station for station in in_time if station != then and technique in honest_at(curriculum, station)
                )
                if technique not in earned and first:
                    yield Before(group=group, technique=technique, first=first, then=then)


def _earned_in_time(curriculum: Curriculum, stations: Sequence[str], earned: set[str]) -> tuple[str, ...]:
    """The stations that can be met honestly on one day. Placing one only ever earns more, so the order is free."""
    have, placed = set(earned), list[str]()
    while True:
        ready = [s for s in stations if s not in placed and have.issuperset(given_at(curriculum, s))]
        if not ready:
            return tuple(placed)
        placed += ready
        have.update(*(honest_at(curriculum, station) for station in ready))


def _costliest(curriculum: Curriculum, used: Iterable[str]) -> str | None:
    """The trainer of the day whose attempts cost most; none when all cost the same."""
    costs = {id: cost_per_attempt(curriculum.trainers[id]) for id in used if id in curriculum.trainers}
    if len(set(costs.values())) < 2:
        return None
    return max(costs, key=lambda id: costs[id])
