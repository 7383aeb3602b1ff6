"""The best timetable of a day: fewest blocks, then least idling, then fewest instructor moves, then the fewest blocks
with the costliest trainer switched on. Exact where time allows, and labelled where it does not.

CP-SAT with one worker and a fixed seed, so that the same day gives the same timetable.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from time import monotonic
from typing import Any, Literal

from generator.analysis.rotation.day import Day, Post, Timetable, Visit, bound
from generator.analysis.rotation.measure import changes, costly_blocks, idle_blocks, instructor_moves
from generator.analysis.rotation.rules import RULES, Board

SEED = 20
CHANGES = "changes from the given timetable"
AIMS = ("blocks", "idle group-blocks", "instructor moves", "blocks of the costliest trainer")
Outcome = Literal["best", "good", "impossible", "unknown"]
Tell = Callable[[str, int, int], None]
"""Told the aim, the best value so far and the bound, as they change."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Aim:
    """One aim: its value in the timetable, the bound that was proved, and whether the two meet."""

    name: str
    value: int
    bound: int

    @property
    def is_proved(self) -> bool:
        """Whether no timetable does better, given the aims before this one."""
        return self.value == self.bound


@dataclass(frozen=True, slots=True, kw_only=True)
class Rotation:
    """What the solver found.

    `best`: every aim is proved. `good`: a timetable that keeps every rule, not proved best in every aim.
    `impossible`: there is none, and `clash` names the rules that together forbid it. `unknown`: time ran out first.
    """

    outcome: Outcome
    timetable: Timetable | None = None
    aims: tuple[Aim, ...] = ()
    clash: tuple[str, ...] = ()


def rotate(day: Day, *, seconds: float = 60.0, tell: Tell | None = None, near: Timetable | None = None) -> Rotation:
    """Solve a day within a number of seconds of wall-clock time.

    `near`: change as little of this timetable as the rules and the number of blocks allow; it then comes before
    idling among the aims.
    """
    until = monotonic() + seconds
    least = bound(day)
    most = _most_blocks(day, least)
    if day.most_blocks is not None:
        most = min(most, day.most_blocks)
    blocks, table, is_proved, ran_out = least, None, True, False
    while blocks <= most:
        left = until - monotonic()
        found, table = _fits(day, blocks, left)
        if found == "yes":
            break
        if found == "unknown":
            is_proved, ran_out = False, True
            table = None
            if left <= 0.05:
                break
        blocks += 1
        until = max(until, monotonic() + 0.5 if ran_out else until)
    if table is None:
        if ran_out:
            return Rotation(outcome="unknown")
        return Rotation(outcome="impossible", clash=clash_of(day, seconds=min(seconds, 20.0)))
    if tell:
        tell(AIMS[0], blocks, blocks if is_proved else least)
    aims = [Aim(name=AIMS[0], value=blocks, bound=blocks if is_proved else least)]
    table, rest = _polish(day, blocks, table, until, tell=tell, near=near)
    aims += rest
    return Rotation(outcome="best" if all(aim.is_proved for aim in aims) else "good", timetable=table, aims=tuple(aims))


def _most_blocks(day: Day, least: int) -> int:
    """A number of blocks that is enough whenever any number is: every visit in a block of its own, with its rests."""
    groups = len(day.group_sizes)
    enough = sum(groups * stop.visits * (1 + stop.rest) for stop in day.stops)
    ready = max((stop.ready_from for stop in day.stops), default=0)
    fixed = max((fixed.block + 1 for fixed in day.fixed), default=0)
    return max(least, ready + enough + fixed)


def _model(day: Day, blocks: int) -> tuple[Any, Board]:
    from ortools.sat.python import cp_model  # noqa: PLC0415 - half a second that only a solve should pay

    model = cp_model.CpModel()
    board = Board(model, day, blocks)
    always = model.new_constant(1)
    for rule in RULES:
        rule.state(board, always)
    return model, board


def _solver(seconds: float) -> Any:
    from ortools.sat.python import cp_model  # noqa: PLC0415

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = SEED
    solver.parameters.max_time_in_seconds = max(seconds, 0.05)
    return solver


def _fits(day: Day, blocks: int, seconds: float) -> tuple[Literal["yes", "no", "unknown"], Timetable | None]:
    from ortools.sat.python import cp_model  # noqa: PLC0415

    model, board = _model(day, blocks)
    solver = _solver(seconds)
    status = solver.solve(model)
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return "yes", _read(board, solver)
    return ("no" if status == cp_model.INFEASIBLE else "unknown"), None


def _read(board: Board, solver: Any) -> Timetable:
    visits = [Visit(block=b, group=g, stop=s) for (g, s, b), var in board.at.items() if solver.value(var)]
    in_use = {(visit.stop, visit.block) for visit in visits}
    posts = [
        Post(block=b, instructor=i, stop=s)
        for (i, s, b), var in board.post.items()
        if solver.value(var) and (s, b) in in_use
    ]
    return Timetable(visits=tuple(sorted(visits)), posts=tuple(sorted(posts)))


def _polish(
    day: Day, blocks: int, table: Timetable, until: float, *, tell: Tell | None, near: Timetable | None
) -> tuple[Timetable, list[Aim]]:
    """Improve the later aims one after the other, holding what was reached before."""
    from ortools.sat.python import cp_model  # noqa: PLC0415

    model, board = _model(day, blocks)
    costs = [(CHANGES, changes, _changes(board, near))] if near else []
    costs += [
        (AIMS[1], idle_blocks, _idle(board)),
        (AIMS[2], instructor_moves, _moves(board)),
        (AIMS[3], costly_blocks, _costly(board)),
    ]
    aims: list[Aim] = []
    for index, (name, measure, cost) in enumerate(costs):
        if isinstance(cost, int):
            aims.append(Aim(name=name, value=cost, bound=cost))
            continue
        model.minimize(cost)
        _hint(model, board, table)
        left = (until - monotonic()) / (len(costs) - index)
        if name == AIMS[2]:
            table = _post_again(day, blocks, table, left / 4)
            _hint(model, board, table)
        solver = _solver(left)
        status = solver.solve(model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            value, least = measure(day, table, near), 0
        else:
            table = _read(board, solver)
            value, least = measure(day, table, near), max(0, round(solver.best_objective_bound))
        aims.append(Aim(name=name, value=value, bound=least))
        if tell:
            tell(name, value, least)
        model.add(cost <= value)
    return table, aims


def _post_again(day: Day, blocks: int, table: Timetable, seconds: float) -> Timetable:
    """The same visits with instructors posted anew, for a good start on the search for few moves."""
    from ortools.sat.python import cp_model  # noqa: PLC0415

    model, board = _model(day, blocks)
    visits = {(visit.group, visit.stop, visit.block) for visit in table.visits}
    for key, var in board.at.items():
        model.add(var == int(key in visits))
    model.minimize(_moves(board))
    _hint(model, board, table)
    solver = _solver(seconds)
    return _read(board, solver) if solver.solve(model) in (cp_model.OPTIMAL, cp_model.FEASIBLE) else table


def _hint(model: Any, board: Board, table: Timetable) -> None:
    model.clear_hints()
    visits = {(visit.group, visit.stop, visit.block) for visit in table.visits}
    for key, var in board.at.items():
        model.add_hint(var, key in visits)
    posts = {(post.instructor, post.stop, post.block) for post in table.posts}
    for place, var in board.post.items():
        model.add_hint(var, place in posts)


def _idle(board: Board) -> Any:
    """Blocks that groups wait before their last visit.

    `busy[group, block]` says that the group still has a visit in this block or a later one. Counted block by block, so
    that the solver sees at once how many groups must still be there to fill the blocks that are left.
    """
    day, model = board.day, board.model
    least = day.visits_of_a_group
    busy = {}
    for group in day.groups:
        for block in board.blocks:
            busy[group, block] = 1 if block < least else model.new_bool_var(f"busy {group} {block}")
            if block >= least:
                model.add(busy[group, block] >= sum(board.at[group, stop.id, block] for stop in day.stops))
                model.add(busy[group, block] <= busy[group, block - 1])
    if _are_alike(day):
        for group in day.groups[1:]:
            model.add(
                sum(busy[group - 1, block] for block in board.blocks)
                >= sum(busy[group, block] for block in board.blocks)
            )
    return sum(busy.values()) - least * len(day.groups)


def _are_alike(day: Day) -> bool:
    """Whether any two groups could change places."""
    if day.fixed:
        return False
    asked = {group: {(b.technique, b.first, b.then) for b in day.before if b.group == group} for group in day.groups}
    return all(rules == asked[0] for rules in asked.values())


def _moves(board: Board) -> Any:
    """Changes of an instructor's station from one post to their next."""
    day, model = board.day, board.model
    moves = []
    seen: dict[str, list[Any]] = {stop.id: [] for stop in day.stops}
    for name, runs in day.instructors.items():
        places = sorted(runs)
        # `stay` is where the instructor stands or last stood, so that a free block in between hides no move.
        stay = {(s, b): model.new_bool_var(f"stay {name} {s} {b}") for s in places for b in board.blocks}
        for block in board.blocks if places else ():
            model.add_exactly_one(stay[s, block] for s in places)
            for s in places:
                model.add_implication(board.post[name, s, block], stay[s, block])
        visited = []
        for s in places:
            arrivals = [model.new_bool_var(f"arrive {name} {s} {b}") for b in board.blocks[1:]]
            for block, arrival in zip(board.blocks[1:], arrivals, strict=True):
                model.add(stay[s, block] - stay[s, block - 1] <= arrival)
            moves += arrivals
            # Redundant, for the proof: a station is run only by those who arrived, and for no longer than it opens.
            there = model.new_bool_var(f"there {name} {s}")
            model.add(stay[s, 0] + sum(arrivals) >= there)
            opened = sum(board.open[s, block] for block in board.blocks)
            model.add(sum(board.post[name, s, block] for block in board.blocks) <= opened)
            for block in board.blocks:
                model.add_implication(board.post[name, s, block], there)
            visited.append(there)
            seen[s].append(there)
    for stop in day.stops:
        if seen[stop.id] and stop.visits:
            model.add(sum(seen[stop.id]) >= stop.instructors)
    return sum(moves) if moves else 0


def _costly(board: Board) -> Any:
    stops = [stop.id for stop in board.day.stops if stop.trainer == board.day.costliest]
    if not stops:
        return 0
    on = []
    for block in board.blocks:
        used = board.model.new_bool_var(f"on {block}")
        board.model.add_max_equality(used, [board.open[stop, block] for stop in stops])
        on.append(used)
    return sum(on)


def _changes(board: Board, near: Timetable) -> Any:
    """Visits of the given timetable that are not kept."""
    kept = [
        board.at[visit.group, visit.stop, visit.block] for visit in near.visits
        if (visit.group, visit.stop, visit.block) in board.at
    ]  # fmt: skip
    return len(near.visits) - sum(kept)


def clash_of(day: Day, *, seconds: float = 20.0) -> tuple[str, ...]:
    """A smallest set of rules found that no timetable can keep together, by name in the order of the rules.

    Starts from the solver's own unsatisfied assumptions and takes rules out one by one while it stays impossible.
    """
    from ortools.sat.python import cp_model  # noqa: PLC0415

    blocks = max(bound(day), day.most_blocks or 0)
    if day.most_blocks is None:
        blocks = _most_blocks(day, blocks)

    def impossible(names: Sequence[str]) -> bool:
        model = cp_model.CpModel()
        board = Board(model, day, blocks)
        always = model.new_constant(1)
        for rule in RULES:
            if rule.name in names:
                rule.state(board, always)
        solver = _solver(seconds)
        return bool(solver.solve(model) == cp_model.INFEASIBLE)

    kept = [rule.name for rule in RULES]
    if not impossible(kept):
        return ()
    for name in list(kept):
        fewer = [other for other in kept if other != name]
        if impossible(fewer):
            kept = fewer
    return tuple(kept)
