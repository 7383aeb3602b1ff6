"""The rules of a rotation, each stated once: how to tell the solver, and how to judge a finished timetable.

`state` adds a rule to a model, for all that it is about or for some of it, so that an impossible day can name the
requirements that clash. `judge` names what a timetable breaks, a hand-typed one included.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, NamedTuple

from generator.analysis.rotation.day import Breach, Day, Timetable

When = Callable[[str], bool] | None
"""Whether a rule is asked of a subject: a station, trainer or instructor by id; None asks it of all."""
State = Callable[["Board", When], None]
Judge = Callable[[Day, Timetable], Iterator["Fault"]]


class Fault(NamedTuple):
    """What is wrong, and the group, station and block that it is about."""

    what: str
    group: int | None = None
    stop: str | None = None
    block: int | None = None


class Board:
    """The solver's model of a day over `blocks` blocks.

    `at[group, stop, block]` is 1 when the group is there. `open[stop, block]` is 1 when any group is. `post[instructor,
    stop, block]` is 1 when the instructor stands there; every instructor stands somewhere in every block, so that a
    change of place is a move.
    """

    def __init__(self, model: Any, day: Day, blocks: int, *, is_whole: bool = True) -> None:
        """`is_whole`: every rule will be stated, so that a station for one group is open just when one is there."""
        self.model = model
        self.day = day
        self.blocks = range(blocks)
        new = model.new_bool_var
        self.nothing = model.new_constant(0)
        self.at = {(g, s.id, b): new(f"at {g} {s.id} {b}") for g in day.groups for s in day.stops for b in self.blocks}
        self.open: dict[tuple[str, int], Any] = {}
        self.post = {(i, s, b): new(f"post {i} {s} {b}") for i, runs in day.instructors.items()
                     for s in sorted(runs) for b in self.blocks}  # fmt: skip
        for stop in day.stops:
            for block in self.blocks:
                here = [self.at[group, stop.id, block] for group in day.groups]
                if is_whole and stop.units == 1:
                    self.open[stop.id, block] = sum(here)
                    continue
                self.open[stop.id, block] = new(f"open {stop.id} {block}")
                model.add_max_equality(self.open[stop.id, block], here or [0])

    def must(self, expression: Any, when: When, subject: str = "") -> None:
        """Add a constraint about a subject, if it is asked for."""
        if when is None or when(subject):
            self.model.add(expression)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One rule: its name, what it asks in the words of the YAML, and its two faces."""

    name: str
    asks: str
    state: State
    judge: Judge


def _state_visits(board: Board, when: When) -> None:
    for group in board.day.groups:
        for stop in board.day.stops:
            board.must(sum(board.at[group, stop.id, block] for block in board.blocks) == stop.visits, when, stop.id)


def _judge_visits(day: Day, table: Timetable) -> Iterator[Fault]:
    made = Counter((visit.group, visit.stop) for visit in table.visits)
    known = {stop.id: stop for stop in day.stops}
    for group in day.groups:
        for stop in day.stops:
            if made[group, stop.id] != stop.visits:
                times = made[group, stop.id]
                yield Fault(
                    f"group {group + 1} visits {stop.id} {_times(times)}; it must {_times(stop.visits)}", group, stop.id
                )
    for group, stop_id in made:
        if stop_id not in known or group not in day.groups:
            yield Fault(f"group {group + 1} at {stop_id}: the day has no such group or station", group, stop_id)


def _times(count: int) -> str:
    return {1: "once", 2: "twice"}.get(count, f"{count} times" if count else "never")


def _state_one_place(board: Board, when: When) -> None:
    for group in board.day.groups:
        for block in board.blocks:
            board.must(sum(board.at[group, stop.id, block] for stop in board.day.stops) <= 1, when)


def _judge_one_place(day: Day, table: Timetable) -> Iterator[Fault]:
    places = defaultdict(list)
    for visit in table.visits:
        places[visit.group, visit.block].append(visit.stop)
    for (group, block), stops in places.items():
        if len(stops) > 1:
            where = " and ".join(sorted(stops))
            yield Fault(f"group {group + 1} is at {where} in block {block + 1}", group, max(stops), block)


def _state_capacity(board: Board, when: When) -> None:
    for stop in board.day.stops:
        for block in board.blocks:
            board.must(sum(board.at[group, stop.id, block] for group in board.day.groups) <= stop.units, when, stop.id)


def _judge_capacity(day: Day, table: Timetable) -> Iterator[Fault]:
    here = Counter((visit.stop, visit.block) for visit in table.visits)
    for stop in day.stops:
        for (stop_id, block), groups in here.items():
            if stop_id == stop.id and groups > stop.units:
                takes = f"{stop.units} {'group' if stop.units == 1 else 'groups'} at once"
                yield Fault(f"{stop.id} takes {takes}; block {block + 1} has {groups}", None, stop.id, block)


def _state_trainer(board: Board, when: When) -> None:
    for trainer, units in board.day.trainers.items():
        users = [stop for stop in board.day.stops if stop.trainer == trainer]
        for block in board.blocks if users else ():
            used = sum(
                stop.trainer_units * board.at[group, stop.id, block] for stop in users for group in board.day.groups
            )
            board.must(used <= units, when, trainer)


def _judge_trainer(day: Day, table: Timetable) -> Iterator[Fault]:
    stops = {stop.id: stop for stop in day.stops}
    used: Counter[tuple[str, int]] = Counter()
    for visit in table.visits:
        if visit.stop in stops:
            used[stops[visit.stop].trainer, visit.block] += stops[visit.stop].trainer_units
    for (trainer, block), units in sorted(used.items()):
        if units > day.trainers.get(trainer, 0):
            users = sorted({v.stop for v in table.visits if v.block == block and stops[v.stop].trainer == trainer})
            yield Fault(
                f"block {block + 1} needs {units} of {trainer}, at {' and '.join(users)}; "
                f"the lab has {day.trainers.get(trainer, 0)}",
                None, users[-1], block,
            )  # fmt: skip


def _state_present(board: Board, when: When) -> None:
    if not board.day.plans_instructors:
        return
    for stop in board.day.stops:
        able = [name for name, runs in board.day.instructors.items() if stop.id in runs]
        for block in board.blocks:
            there = sum(board.post[name, stop.id, block] for name in able)
            board.must(there >= stop.instructors * board.open[stop.id, block], when, stop.id)


def _judge_present(day: Day, table: Timetable) -> Iterator[Fault]:
    if not day.plans_instructors:
        return
    there = Counter((post.stop, post.block) for post in table.posts)
    in_use = {(visit.stop, visit.block) for visit in table.visits}
    for stop in day.stops:
        for stop_id, block in sorted(in_use):
            if stop_id == stop.id and there[stop.id, block] < stop.instructors:
                here = there[stop.id, block]
                has = _instructors(here)
                what = f"{stop.id} has {has} in block {block + 1}; it needs {stop.instructors}"
                yield Fault(what, None, stop.id, block)


def _instructors(count: int) -> str:
    return "1 instructor" if count == 1 else f"{count or 'no'} instructors"


def _state_ratio(board: Board, when: When) -> None:
    ratio = board.day.learners_per_instructor
    if not board.day.plans_instructors or not ratio:
        return
    for stop in board.day.stops:
        able = [name for name, runs in board.day.instructors.items() if stop.id in runs]
        for block in board.blocks:
            there = sum(board.post[name, stop.id, block] for name in able)
            learners = sum(size * board.at[group, stop.id, block] for group, size in enumerate(board.day.group_sizes))
            board.must(ratio * there >= learners, when, stop.id)


def _judge_ratio(day: Day, table: Timetable) -> Iterator[Fault]:
    if not day.plans_instructors or not day.learners_per_instructor:
        return
    there = Counter((post.stop, post.block) for post in table.posts)
    learners: Counter[tuple[str, int]] = Counter()
    for visit in table.visits:
        if visit.group in day.groups:
            learners[visit.stop, visit.block] += day.group_sizes[visit.group]
    for (stop, block), many in sorted(learners.items()):
        if many > day.learners_per_instructor * there[stop, block]:
            has = _instructors(there[stop, block])
            yield Fault(
                f"{stop} has {has} for {many} learners in block {block + 1}; "
                f"one may have {day.learners_per_instructor}",
                None, stop, block,
            )  # fmt: skip


def _state_qualified(board: Board, when: When) -> None:
    # A post exists only where the instructor may run the station, so there is nothing to add.
    del board, when


def _judge_qualified(day: Day, table: Timetable) -> Iterator[Fault]:
    for post in table.posts:
        if post.stop not in day.instructors.get(post.instructor, frozenset()):
            what = f"{post.instructor} may not run {post.stop} (block {post.block + 1})"
            yield Fault(what, None, post.stop, post.block)


def _state_instructor_place(board: Board, when: When) -> None:
    for name, runs in board.day.instructors.items():
        for block in board.blocks if runs else ():
            board.must(sum(board.post[name, stop, block] for stop in sorted(runs)) <= 1, when, name)


def _judge_instructor_place(day: Day, table: Timetable) -> Iterator[Fault]:
    places = defaultdict(list)
    for post in table.posts:
        places[post.instructor, post.block].append(post.stop)
    for (name, block), stops in places.items():
        if len(stops) > 1:
            where = " and ".join(sorted(stops))
            yield Fault(f"{name} is at {where} in block {block + 1}", None, max(stops), block)


def _state_set_up(board: Board, when: When) -> None:
    for stop in board.day.stops:
        for block in board.blocks:
            if block < stop.ready_from:
                board.must(board.open[stop.id, block] == 0, when, stop.id)


def _judge_set_up(day: Day, table: Timetable) -> Iterator[Fault]:
    ready = {stop.id: stop.ready_from for stop in day.stops}
    for visit in table.visits:
        if visit.block < ready.get(visit.stop, 0):
            what = f"{visit.stop} is ready from block {ready[visit.stop] + 1}; it is used in block {visit.block + 1}"
            yield Fault(what, visit.group, visit.stop, visit.block)


def _state_rest(board: Board, when: When) -> None:
    for stop in board.day.stops:
        for block in board.blocks:
            for later in range(block + 1, min(block + 1 + stop.rest, len(board.blocks))):
                board.must(board.open[stop.id, block] + board.open[stop.id, later] <= 1, when, stop.id)


def _judge_rest(day: Day, table: Timetable) -> Iterator[Fault]:
    for stop in day.stops:
        used = sorted({visit.block for visit in table.visits if visit.stop == stop.id})
        for first, second in pairwise(used):
            if second - first <= stop.rest:
                rest = "1 block" if stop.rest == 1 else f"{stop.rest} blocks"
                what = f"{stop.id} needs {rest} to reset after block {first + 1}; block {second + 1} uses it"
                yield Fault(what, None, stop.id, second)


def _state_fixed(board: Board, when: When) -> None:
    for number, fixed in enumerate(board.day.fixed):
        here = board.at.get((fixed.group, fixed.stop, fixed.block))
        if here is None:
            # The day has no such visit, so the rule cannot be kept.
            board.must(board.nothing == 1, when, str(number))
        else:
            board.must(here == 1, when, str(number))


def _judge_fixed(day: Day, table: Timetable) -> Iterator[Fault]:
    made = {(visit.group, visit.stop, visit.block) for visit in table.visits}
    for fixed in day.fixed:
        if (fixed.group, fixed.stop, fixed.block) not in made:
            what = f"group {fixed.group + 1} must be at {fixed.stop} in block {fixed.block + 1}"
            yield Fault(what, fixed.group, fixed.stop, fixed.block)


def _state_honest(board: Board, when: When) -> None:
    visits = {stop.id: stop.visits for stop in board.day.stops}
    for rule in board.day.before:
        met: Any = 0
        then_so_far: Any = 0
        for block in board.blocks:
            then = board.at.get((rule.group, rule.then, block))
            if then is None:
                break
            # Who visits `then` once has visited it by a block only if one of `first` was visited before that block.
            then_so_far = then_so_far + then if visits[rule.then] == 1 else then
            board.must(met >= then_so_far, when, rule.then)
            here = [board.at[key] for stop in sorted(rule.first) if (key := (rule.group, stop, block)) in board.at]
            met = met + sum(here)


def _judge_honest(day: Day, table: Timetable) -> Iterator[Fault]:
    for rule in day.before:
        then = [visit.block for visit in table.visits if visit.group == rule.group and visit.stop == rule.then]
        first = [visit.block for visit in table.visits if visit.group == rule.group and visit.stop in rule.first]
        if then and (not first or min(first) >= min(then)):
            yield Fault(
                f"group {rule.group + 1} meets {rule.technique} at {rule.then} in block {min(then) + 1}, "
                f"where it is given, before {' or '.join(sorted(rule.first))}",
                rule.group, rule.then, min(then),
            )  # fmt: skip


def _state_length(board: Board, when: When) -> None:
    if board.day.most_blocks is not None:
        for (_stop, block), is_open in board.open.items():
            if block >= board.day.most_blocks:
                board.must(is_open == 0, when)


def _judge_length(day: Day, table: Timetable) -> Iterator[Fault]:
    if day.most_blocks is not None and table.blocks > day.most_blocks:
        yield Fault(f"the day has room for {day.most_blocks} of {table.blocks} blocks")


RULES: tuple[Rule, ...] = (
    Rule(name="visits", asks="each group visits each station as often as `visits` says",
         state=_state_visits, judge=_judge_visits),
    Rule(name="one-place", asks="a group is at one station at a time",
         state=_state_one_place, judge=_judge_one_place),
    Rule(name="capacity", asks="a station takes no more groups at once than its `units`",
         state=_state_capacity, judge=_judge_capacity),
    Rule(name="shared-trainer", asks="no more of a trainer is in use than its `units`",
         state=_state_trainer, judge=_judge_trainer),
    Rule(name="instructor-present", asks="a station in use has its instructors",
         state=_state_present, judge=_judge_present),
    Rule(name="instructor-ratio", asks="no instructor has more learners at a station than `learners_per_instructor`",
         state=_state_ratio, judge=_judge_ratio),
    Rule(name="instructor-qualified", asks="an instructor stands only at stations that their `runs` names",
         state=_state_qualified, judge=_judge_qualified),
    Rule(name="instructor-place", asks="an instructor is at one station at a time",
         state=_state_instructor_place, judge=_judge_instructor_place),
    Rule(name="set-up", asks="a station is used only from its `ready_from_block`",
         state=_state_set_up, judge=_judge_set_up),
    Rule(name="rest", asks="a station stays empty for its `rest_blocks` after use",
         state=_state_rest, judge=_judge_rest),
    Rule(name="fixed", asks="the visits under `fixed` stay where they are",
         state=_state_fixed, judge=_judge_fixed),
    Rule(name="honest-first", asks="each group earns a technique before it meets it on a trainer that gives it",
         state=_state_honest, judge=_judge_honest),
    Rule(name="day-length", asks="the day ends by its `end`",
         state=_state_length, judge=_judge_length),
)  # fmt: skip


def breaches(day: Day, table: Timetable) -> tuple[Breach, ...]:
    """Every rule that a timetable breaks, in the order of the rules."""
    return tuple(
        Breach(rule=rule.name, what=fault.what, group=fault.group, stop=fault.stop, block=fault.block)
        for rule in RULES
        for fault in rule.judge(day, table)
    )


def asked(name: str) -> str:
    """What a rule asks, in the words of the YAML."""
    return next((rule.asks for rule in RULES if rule.name == name), name)
