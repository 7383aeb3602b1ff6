"""How a plan is made: the day from the lab, its timetable, what honest order costs, the roles, and what is used up."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from time import monotonic

from generator.analysis.at_station import attempts_at
from generator.analysis.rotation.clashing import clash_in_words
from generator.analysis.rotation.clock import slots_of
from generator.analysis.rotation.day import Breach, Day, Timetable, bound
from generator.analysis.rotation.from_lab import day_of, typed_timetable, units_at_work, with_learners
from generator.analysis.rotation.plan import Clash, LabPlan, Load, Turn
from generator.analysis.rotation.price import price_of
from generator.analysis.rotation.roles import ALONE, Attempt, Duty, Task, share_out
from generator.analysis.rotation.rules import asked, breaches
from generator.analysis.rotation.solve import Tell, rotate, staff
from generator.analysis.rotation.verdict import changes_in_words, verdict_of
from generator.diagnostics import Location, Problem
from generator.model import Curriculum, Lab, LabStation

TYPED = "timetable-broken"
"""The rule by which the problems of a hand-typed order go."""


def make_plan(
    curriculum: Curriculum,
    lab_id: str,
    *,
    without: tuple[str, ...],
    learners: int | None,
    seconds: float,
    tell: Tell | None,
    near: LabPlan | None,
) -> LabPlan | Clash:
    """See `plan_of`."""
    lab = with_learners(curriculum.labs[lab_id], learners)
    day = day_of(curriculum, lab, without=without)
    typed = typed_timetable(curriculum, lab) if near is None and not without and learners is None else None
    until = monotonic() + seconds
    price = None
    if typed is not None:
        aims, table = staff(day, typed, seconds=seconds)
        broken = breaches(day, table)
    else:
        found = rotate(day, seconds=seconds * 0.8, tell=tell, near=near.timetable if near else None)
        if found.timetable is None:
            return clash_in_words(curriculum, lab, day, found, without=without, seconds=max(1.0, until - monotonic()))
        aims, table, broken = found.aims, found.timetable, ()
        price = price_of(curriculum, lab, day, found, seconds=max(0.5, until - monotonic()))
    turns, duties = _turns(curriculum, lab, day, table)
    loads = _loads(curriculum, lab, day, turns)
    supplies: dict[str, Decimal] = {}
    for load in loads:
        for name, amount in load.supplies:
            supplies[name] = supplies.get(name, Decimal(0)) + amount
    plan = LabPlan(
        lab=lab.id,
        group_sizes=day.group_sizes,
        slots=slots_of(lab, table.blocks),
        turns=turns,
        duties=duties,
        bound=bound(day),
        aims=aims,
        verdict=(),
        price=price,
        loads=loads,
        supplies=tuple(supplies.items()),
        breaches=broken,
        problems=typed_problems(curriculum, lab, broken),
        changed=(),
        is_typed=typed is not None,
        without=without,
        learners=lab.learners,
        day=day,
        timetable=table,
    )
    costliest = curriculum.trainers.get(day.costliest or "")
    verdict = verdict_of(plan, costliest.name if costliest else None)
    return replace(plan, verdict=verdict, changed=changes_in_words(curriculum, near, plan) if near else ())


def typed_problems(curriculum: Curriculum, lab: Lab, broken: Sequence[Breach]) -> tuple[Problem, ...]:
    """What a hand-typed order breaks, each where it was typed."""
    return tuple(
        Problem(
            location=typed_at(curriculum, lab, breach),
            rule=TYPED,
            message=f"In the typed order, {breach.what}. A day asks that {asked(breach.rule)}.",
            remedy="Change the typed order, or take `orders` out and let the timetable be computed.",
        )
        for breach in broken
    )


def typed_at(curriculum: Curriculum, lab: Lab, breach: Breach) -> Location:
    """The station in the typed order of the group that a breach is about, or the nearest thing to it."""
    for index, order in enumerate(lab.orders):
        is_group = breach.group is not None and order.group == breach.group + 1
        if breach.group is not None and not is_group:
            continue
        if breach.block is not None and breach.block < len(order.stations):
            if breach.stop is None or order.stations[breach.block] == breach.stop:
                return curriculum.at("lab", lab.id, "orders", index, "stations", breach.block)
        elif breach.block is None and breach.stop in order.stations:
            return curriculum.at("lab", lab.id, "orders", index, "stations", order.stations.index(breach.stop or ""))
        if is_group:
            return curriculum.at("lab", lab.id, "orders", index)
    return curriculum.at("lab", lab.id, "orders")


def _turns(curriculum: Curriculum, lab: Lab, day: Day, table: Timetable) -> tuple[tuple[Turn, ...], tuple[Duty, ...]]:
    """Visits with their instructors and attempts, and each learner's day."""
    posted: dict[tuple[int, str], list[str]] = defaultdict(list)
    for post in table.posts:
        posted[post.block, post.stop].append(post.instructor)
    known: dict[int, dict[tuple[str, int], tuple[Attempt, ...]]] = {}
    turns: list[Turn] = []
    seen: Counter[tuple[int, str]] = Counter()
    for visit in table.visits:
        if visit.group not in day.groups:
            continue
        size = day.group_sizes[visit.group]
        if size not in known:
            known[size] = _attempts(curriculum, lab, size)
        turns.append(
            Turn(
                block=visit.block + 1,
                group=visit.group + 1,
                station=visit.stop,
                instructors=tuple(sorted(posted[visit.block, visit.stop])),
                attempts=known[size].get((visit.stop, seen[visit.group, visit.stop]), ()),
            )
        )
        seen[visit.group, visit.stop] += 1
    return tuple(turns), tuple(_duties(curriculum, day, turns))


def _attempts(curriculum: Curriculum, lab: Lab, learners: int) -> dict[tuple[str, int], tuple[Attempt, ...]]:
    """The attempts of a group of so many learners by (station, visit from 0)."""
    tasks = [
        (stop.station, visit, task)
        for stop in lab.stations
        if (task := _task(curriculum, stop, learners))
        for visit in range(stop.visits)
    ]
    shared = share_out([task for *_, task in tasks], learners)
    return {(id, visit): attempts for (id, visit, _), attempts in zip(tasks, shared, strict=True)}


def _task(curriculum: Curriculum, stop: LabStation, learners: int) -> Task | None:
    station = curriculum.stations.get(stop.station)
    skill = curriculum.skills.get(station.skill) if station else None
    if station is None or skill is None:
        return None
    seats = tuple(role.id for role in skill.roles) or (ALONE,)
    # A pair has one to perform and one to evaluate; a team brings its own hands.
    partners = station.partners if station.partners is not None else int(len(seats) == 1 and learners > 2)
    return Task(
        station=station.id,
        rounds=attempts_at(curriculum, station),
        units=units_at_work(curriculum, stop, learners),
        seats=seats,
        partners=partners,
        minutes=skill.minutes_per_attempt,
    )


def _minutes(curriculum: Curriculum, station: str) -> int:
    record = curriculum.stations.get(station)
    return curriculum.skills[record.skill].minutes_per_attempt if record and record.skill in curriculum.skills else 0


def _duties(curriculum: Curriculum, day: Day, turns: Sequence[Turn]) -> Iterator[Duty]:
    for group in day.groups:
        performs, assists, evaluates, minutes = (Counter[int]() for _ in range(4))
        for turn in turns:
            for attempt in turn.attempts if turn.group == group + 1 else ():
                hands = [learner for _, learner in attempt.performers]
                performs.update(hands)
                assists.update(attempt.partners)
                evaluates.update(attempt.evaluators)
                for learner in hands:
                    minutes[learner] += _minutes(curriculum, turn.station)
        for learner in range(1, day.group_sizes[group] + 1):
            yield Duty(
                group=group + 1,
                learner=learner,
                performs=performs[learner],
                assists=assists[learner],
                evaluates=evaluates[learner],
                minutes=minutes[learner],
            )


def _loads(curriculum: Curriculum, lab: Lab, day: Day, turns: Sequence[Turn]) -> tuple[Load, ...]:
    found = []
    for stop in lab.stations:
        station = curriculum.stations.get(stop.station)
        if station is None:
            continue
        here = [turn for turn in turns if turn.station == stop.station]
        hands = Counter(
            (turn.group, learner) for turn in here for attempt in turn.attempts for _, learner in attempt.performers
        )
        each = [hands[group + 1, one] for group in day.groups for one in range(1, day.group_sizes[group] + 1)]
        attempts = sum(len(turn.attempts) for turn in here)
        spread = (min(each, default=0), max(each, default=0))
        minutes = _minutes(curriculum, stop.station)
        trainer = curriculum.trainers.get(station.trainer)
        found.append(
            Load(
                station=stop.station,
                visits=len(here),
                attempts=attempts,
                attempts_each=spread,
                minutes_each=(spread[0] * minutes, spread[1] * minutes),
                supplies=tuple((supply.name, supply.per_attempt * attempts) for supply in station.supplies),
                cleaning=station.cleaning or (trainer.cleaning if trainer else ()),
            )
        )
    return tuple(found)
