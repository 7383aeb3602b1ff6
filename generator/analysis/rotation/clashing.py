"""A day without a timetable: the smallest set found of requirements that clash, in the words of the YAML, and what
would mend it, found by trying.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from time import monotonic

from generator.analysis.rotation.bounds import least_blocks
from generator.analysis.rotation.clock import slots_of
from generator.analysis.rotation.day import Day, Stop
from generator.analysis.rotation.plan import Clash, Requirement
from generator.analysis.rotation.rules import RULES, Board
from generator.analysis.rotation.solve import Rotation, fewest_blocks, most_blocks, new_solver
from generator.analysis.told import Told
from generator.diagnostics import Location, Problem
from generator.model import Curriculum, Lab

IMPOSSIBLE = "timetable-impossible"
"""The rule by which the problems of an impossible day go."""

ALWAYS = ("one-place", "instructor-qualified", "instructor-place")
"""Nobody is in two places at once or runs what they may not: these are never what mends a clash."""
FEW = 4
"""Mends that are told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A requirement: a rule, and the station, trainer or number of the fixed visit that it is about."""

    rule: str
    subject: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Mend:
    words: Told
    day: Day


def clash_of(day: Day, *, seconds: float = 20.0) -> tuple[Asked, ...]:
    """A smallest set found of requirements that no timetable can keep together, in the order of the rules.

    Every requirement is taken out in turn and stays out while the rest is still impossible, so none of those that are
    left can be spared. Empty when the day is possible, or when time ran out before that was known.
    """
    until = monotonic() + seconds
    # With room for the day as it would be without its end, the end is one requirement among the others.
    free = replace(day, most_blocks=None)
    longer = fewest_blocks(free, seconds=seconds / 4) if day.most_blocks is not None else None
    blocks = longer[0] if longer else most_blocks(free, least_blocks(free))
    kept = _requirements(day)
    if not _is_impossible(day, blocks, kept, until):
        return ()
    for rule in dict.fromkeys(one.rule for one in kept):
        fewer = tuple(one for one in kept if one.rule != rule)
        if len(fewer) < len(kept) and _is_impossible(day, blocks, fewer, until):
            kept = fewer
    for one in kept:
        fewer = tuple(other for other in kept if other != one)
        if _is_impossible(day, blocks, fewer, until):
            kept = fewer
    return kept


def _requirements(day: Day) -> tuple[Asked, ...]:
    stops, by_trainer = [stop.id for stop in day.stops], list(day.trainers)
    subjects: dict[str, Sequence[str]] = {
        "shared-trainer": by_trainer,
        "fixed": [str(number) for number in range(len(day.fixed))],
        "honest-first": list(dict.fromkeys(rule.then for rule in day.before)),
        "day-length": [""] if day.most_blocks is not None else [],
        "set-up": [stop.id for stop in day.stops if stop.ready_from],
        "rest": [stop.id for stop in day.stops if stop.rest],
        "instructor-present": stops if day.plans_instructors else [],
        "instructor-ratio": stops if day.plans_instructors and day.learners_per_instructor else [],
    }
    return tuple(
        Asked(rule=rule.name, subject=subject)
        for rule in RULES
        if rule.name not in ALWAYS
        for subject in subjects.get(rule.name, stops)
    )


def _is_impossible(day: Day, blocks: int, kept: Sequence[Asked], until: float) -> bool:
    from ortools.sat.python import cp_model  # noqa: PLC0415 - half a second that only a search should pay

    if monotonic() > until:
        return False
    asked = {(one.rule, one.subject) for one in kept}

    def when(rule: str) -> Callable[[str], bool]:
        return lambda subject: rule in ALWAYS or (rule, subject) in asked

    model = cp_model.CpModel()
    board = Board(model, day, blocks, is_whole=False)
    for rule in RULES:
        rule.state(board, when(rule.name))
    return bool(new_solver(until - monotonic()).solve(model) == cp_model.INFEASIBLE)


def clash_in_words(
    curriculum: Curriculum, lab: Lab, day: Day, found: Rotation, *, without: tuple[str, ...], seconds: float
) -> Clash:
    """The clash of a day for which no timetable was found, with every requirement where it is typed."""
    if found.outcome == "unknown":
        where = curriculum.at("lab", lab.id, "stations")
        problem = Problem(
            location=where,
            rule=IMPOSSIBLE,
            message="No timetable was found in the time given, and none was ruled out.",
            remedy="Give it more time with `--seconds`, or ask less of the day.",
        )  # fmt: skip
        return Clash(
            lab=lab.id, requirements=(), mends=(), problems=(problem,), ran_out=True, without=without,
            learners=lab.learners,
        )  # fmt: skip
    until = monotonic() + seconds
    asked = clash_of(day, seconds=max(3.0, seconds * 0.6))
    requirements = tuple(
        Requirement(rule=one.rule, what=_what(curriculum, lab, day, one), location=_where(curriculum, lab, day, one))
        for one in asked
    )
    mends = tuple(_mends_that_work(lab, day, asked, max(until, monotonic() + 2.0)))
    texts = "; ".join(one.what for one in requirements)
    problem = Problem(
        location=requirements[-1].location if requirements else curriculum.at("lab", lab.id, "stations"),
        rule=IMPOSSIBLE,
        message=f"No timetable keeps all of these together: {texts}." if texts else "The day has no timetable.",
        remedy=" Or: ".join(mends) if mends else "Ask less of the day: fewer stations, more units, or a later end.",
    )
    return Clash(
        lab=lab.id, requirements=requirements, mends=mends, problems=(problem,), without=without, learners=lab.learners
    )


def _what(curriculum: Curriculum, lab: Lab, day: Day, one: Asked) -> str:
    """A requirement in the words of the YAML."""
    stop = next((stop for stop in day.stops if stop.id == one.subject), None)
    groups = len(day.group_sizes)
    if one.rule == "fixed":
        fixed = day.fixed[int(one.subject)]
        return Told(
            "`fixed` has group {group} at {station} in block {block}",
            group=fixed.group + 1,
            station=fixed.stop,
            block=fixed.block + 1,
        )
    if one.rule == "shared-trainer":
        units = day.trainers.get(one.subject, 0)
        return Told(
            "{trainer} has `units: {units}`, with what is out of service taken off"
            if _is_less(curriculum, one, units)
            else "{trainer} has `units: {units}`",
            trainer=one.subject,
            units=units,
        )
    if one.rule == "day-length" and day.most_blocks is not None:
        return Told.many(
            day.most_blocks,
            "the day ends at {time}, which leaves {count} block",
            "the day ends at {time}, which leaves {count} blocks",
            time=str(lab.end),
        )
    if stop is None:
        return one.rule
    if one.rule == "instructor-present":
        able = [name for name, runs in day.instructors.items() if stop.id in runs]
        only = {"names": ", ".join(able)} if able else {}
        return Told(
            "{station} needs {count} of the `instructors`, and only {names} may run it"
            if able
            else "{station} needs {count} of the `instructors`, and nobody who comes may run it",
            station=stop.id,
            count=stop.instructors,
            **only,
        )
    ratio = day.learners_per_instructor
    visits = "each of {groups} groups visits {station} ({visits} `visits`)"
    rewards = "{station} rewards what its groups have not earned yet, so other stations come first"
    return {
        "visits": Told(visits, groups=groups, station=stop.id, visits=stop.visits),
        "capacity": Told("{station} takes {count} groups at once (`units`)", station=stop.id, count=stop.units),
        "instructor-ratio": Told("`learners_per_instructor: {count}` at {station}", count=ratio, station=stop.id),
        "set-up": Told("{station} has `ready_from_block: {block}`", station=stop.id, block=stop.ready_from + 1),
        "rest": Told("{station} has `rest_blocks: {blocks}`", station=stop.id, blocks=stop.rest),
        "honest-first": Told(rewards, station=stop.id),
    }.get(one.rule, one.rule)


def _is_less(curriculum: Curriculum, one: Asked, units: int) -> bool:
    trainer = curriculum.trainers.get(one.subject)
    return trainer is not None and units < trainer.units


def _where(curriculum: Curriculum, lab: Lab, day: Day, one: Asked) -> Location:
    """Where a requirement is typed."""
    index = next((n for n, stop in enumerate(lab.stations) if stop.station == one.subject), None)
    if one.rule == "fixed":
        return curriculum.at("lab", lab.id, "fixed", int(one.subject))
    if one.rule == "shared-trainer":
        return curriculum.at("trainer", one.subject, "units")
    if one.rule == "day-length":
        return curriculum.at("lab", lab.id, "end")
    if one.rule == "instructor-ratio":
        return curriculum.at("lab", lab.id, "learners_per_instructor")
    if index is None:
        return curriculum.at("lab", lab.id)
    field = {"capacity": "units", "visits": "visits", "set-up": "ready_from_block", "rest": "rest_blocks"}
    return curriculum.at("lab", lab.id, "stations", index, field.get(one.rule, "station"))


def _mends_that_work(lab: Lab, day: Day, asked: Sequence[Asked], until: float) -> Iterator[str]:
    told = 0
    for mend in _mends(lab, day, asked):
        if told == FEW or monotonic() > until:
            return
        if fewest_blocks(mend.day, seconds=max(0.3, (until - monotonic()) / 3)) is not None:
            told += 1
            yield mend.words


def _mends(lab: Lab, day: Day, asked: Sequence[Asked]) -> Iterator[_Mend]:
    """Changes that could make the day possible, the smallest first."""
    rules = {(one.rule, one.subject) for one in asked}
    for rule, subject in sorted(rules):
        if rule == "fixed":
            fixed = day.fixed[int(subject)]
            words = Told(
                "Take out the fixed visit of group {group} to {station}.", group=fixed.group + 1, station=fixed.stop
            )
            yield _Mend(words=words, day=replace(day, fixed=tuple(one for one in day.fixed if one != fixed)))
    if ("day-length", "") in rules:
        free = replace(day, most_blocks=None)
        longer = fewest_blocks(free, seconds=2.0)
        if longer is not None:
            ends = slots_of(lab, longer[0])[-1].ends
            words = Told.many(
                longer[0],
                "Let the day end at {time}, after {count} block.",
                "Let the day end at {time}, after {count} blocks.",
                time=f"{ends:%H:%M}",
            )
            yield _Mend(words=words, day=free)
    for rule, subject in sorted(rules):
        yield from _more(day, rule, subject)
    for rule, subject in sorted(rules):
        if rule == "visits":
            stops_left = tuple(stop for stop in day.stops if stop.id != subject)
            before = tuple(one for one in day.before if one.then != subject and one.first - {subject})
            without = replace(
                day, stops=stops_left, before=before, fixed=tuple(one for one in day.fixed if one.stop != subject),
                instructors={name: runs - {subject} for name, runs in day.instructors.items()},
            )  # fmt: skip
            yield _Mend(words=Told("Move {station} to another lab day.", station=subject), day=without)


def _more(day: Day, rule: str, subject: str) -> Iterator[_Mend]:
    """One more of what a requirement is about, or one less of what it asks."""
    trainers, staff = dict(day.trainers), dict(day.instructors)

    def with_stop(changed: Stop) -> Day:
        stops = tuple(changed if stop.id == subject else stop for stop in day.stops)
        return replace(day, stops=stops, trainers=trainers)

    stop = next((stop for stop in day.stops if stop.id == subject), None)
    if rule == "shared-trainer":
        trainers[subject] += 1
        yield _Mend(words=Told("Borrow one more of {trainer}.", trainer=subject), day=replace(day, trainers=trainers))
    elif rule in ("instructor-present", "instructor-ratio"):
        staff["one-more"] = frozenset({subject})
        words = Told("Bring one more instructor who may run {station}.", station=subject)
        yield _Mend(words=words, day=replace(day, instructors=staff))
    elif stop is not None and rule == "capacity":
        trainers[stop.trainer] = trainers.get(stop.trainer, 0) + stop.trainer_units
        words = Told("Let {station} take one more group at once, with the trainers for it.", station=subject)
        yield _Mend(words=words, day=with_stop(replace(stop, units=stop.units + 1)))
    elif stop is not None and rule == "set-up":
        early = with_stop(replace(stop, ready_from=0))
        yield _Mend(words=Told("Set {station} up before the first block.", station=subject), day=early)
    elif stop is not None and rule == "rest":
        shorter = with_stop(replace(stop, rest=stop.rest - 1))
        yield _Mend(words=Told("Let {station} stand empty one block less.", station=subject), day=shorter)
