"""The best timetable of a day: fewest blocks, then least waiting, then fewest instructor moves, then the fewest blocks
with the costliest trainer switched on. Exact where time allows, and labelled where it does not.

First a timetable is built without a search (`start`). Where it meets the bounds (`bounds`) it is proved best and no
solver is started. What is left goes to CP-SAT with one worker and a fixed seed, so that the same day gives the same
timetable wherever the search ends before its time is up.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from time import monotonic
from typing import Any, Literal

from generator.analysis.rotation.bounds import least_blocks, least_costly, least_idle
from generator.analysis.rotation.day import Day, Post, Timetable, Visit
from generator.analysis.rotation.measure import changes, costly_blocks, idle_blocks, instructor_moves
from generator.analysis.rotation.objectives import changes_cost, costly_cost, idle_cost, moves_cost
from generator.analysis.rotation.pattern import Pattern, pattern_of, shares_of
from generator.analysis.rotation.rounds import by_formula, in_rounds, takes_formula, takes_rounds
from generator.analysis.rotation.rules import RULES, Board, breaches
from generator.analysis.rotation.staffing import post, post_in_turn, staffer, stand, standing
from generator.analysis.rotation.start import first_timetable
from generator.analysis.rotation.uses import least_idle_by_uses

SEED = 20
CHANGES = "changes from the given timetable"
AIMS = ("blocks", "idle group-blocks", "instructor moves", "blocks of the costliest trainer")
Outcome = Literal["best", "good", "impossible", "unknown"]
Tell = Callable[[str, int, int], None]
"""Told the aim, the best value so far and the bound, as they change."""
Places = Mapping[str, tuple[str, ...]]


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
    """What was found.

    `best`: every aim is proved. `good`: a timetable that keeps every rule, not proved best in every aim.
    `impossible`: there is none. `unknown`: time ran out first.
    """

    outcome: Outcome
    timetable: Timetable | None = None
    aims: tuple[Aim, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Scene:
    """A day on its way to a timetable. `core` is the day that still has to be searched: without the instructors where
    they can all stand still.
    """

    day: Day
    core: Day
    places: Places | None
    until: float
    tell: Tell | None
    near: Timetable | None

    @property
    def left(self) -> float:
        """Seconds left."""
        return self.until - monotonic()


def rotate(day: Day, *, seconds: float = 60.0, tell: Tell | None = None, near: Timetable | None = None) -> Rotation:
    """Solve a day within a number of seconds of wall-clock time.

    `near`: change as little of this timetable as the rules and the number of blocks allow; it then comes before
    waiting among the aims.
    """
    places = standing(day) if day.plans_instructors and near is None else None
    core = replace(day, instructors={}, has_instructors=False) if places is not None else day
    scene = _Scene(day=day, core=core, places=places, until=monotonic() + seconds, tell=tell, near=near)
    least = least_blocks(day)
    if day.most_blocks is not None and least > day.most_blocks:
        return Rotation(outcome="impossible")
    found = _fewest_blocks(scene, least)
    if isinstance(found, Rotation):
        return found
    table, proved = found
    if tell:
        tell(AIMS[0], table.blocks, proved)
    table, aims = _polish(scene, table)
    aims = (Aim(name=AIMS[0], value=table.blocks, bound=min(proved, table.blocks)), *aims)
    return Rotation(outcome="best" if all(aim.is_proved for aim in aims) else "good", timetable=table, aims=aims)


def _fewest_blocks(scene: _Scene, least: int) -> Rotation | tuple[Timetable, int]:
    """A timetable of as few blocks as were found, and the number that was proved to be needed."""
    core, most = scene.core, scene.day.most_blocks
    built = None
    top = most_blocks(core, least) if most is None else most
    if scene.near is None and (takes_formula(core) or takes_rounds(core)):
        built = by_formula(core) if takes_formula(core) else in_rounds(core, new_solver(scene.left * 0.3, work=5.0))
        if built is not None and built.blocks <= least and not breaches(core, built):
            return built, least
    if scene.near is None:
        ready_by = monotonic() + min(scene.left * 0.7, 30.0)
        for blocks in range(least, top + 1):
            built = first_timetable(core, blocks, until=ready_by, staffed=staffer(core))
            if built is not None or (monotonic() > ready_by and blocks > least + 2):
                break
    if built is not None and built.blocks <= least:
        return built, least
    proved, ran_out = least, False
    blocks = least
    last = min(top, built.blocks - 1) if built is not None else top
    while blocks <= last:
        share = scene.left * (0.5 if built is not None else 0.8)
        answer, table = _fits(scene, blocks, share)
        if answer == "yes" and table is not None:
            return table, proved if ran_out else blocks
        if answer == "unknown":
            ran_out = True
            if built is not None or scene.left < 0.5:
                break
        elif not ran_out:
            proved = blocks + 1
        blocks += 1
    if built is not None:
        return built, proved
    return Rotation(outcome="unknown" if ran_out else "impossible")


def fewest_blocks(day: Day, *, seconds: float) -> tuple[int, bool] | None:
    """The fewest blocks found, and whether fewer are impossible; None when no timetable was found."""
    places = standing(day) if day.plans_instructors else None
    core = replace(day, instructors={}, has_instructors=False) if places is not None else day
    scene = _Scene(day=day, core=core, places=places, until=monotonic() + seconds, tell=None, near=None)
    least = least_blocks(day)
    found = _fewest_blocks(scene, least) if day.most_blocks is None or least <= day.most_blocks else None
    return None if found is None or isinstance(found, Rotation) else (found[0].blocks, found[0].blocks <= found[1])


def most_blocks(day: Day, least: int) -> int:
    """A number of blocks that is enough whenever any number is: every visit in a block of its own, with its rests."""
    groups = len(day.group_sizes)
    enough = sum(groups * stop.visits * (1 + stop.rest) for stop in day.stops)
    ready = max((stop.ready_from for stop in day.stops), default=0)
    fixed = max((fixed.block + 1 for fixed in day.fixed), default=0)
    return max(least, ready + enough + fixed)


def _with_posts(scene: _Scene, table: Timetable) -> Timetable:
    day = scene.day
    if scene.places is not None:
        return stand(day, table, scene.places)
    if not day.plans_instructors or table.posts:
        return table
    in_turn = post_in_turn(day, table)
    searched, _, _ = post(day, in_turn, solver=new_solver(max(0.5, scene.left * 0.2), work=0.5), near=scene.near)
    return (
        min(in_turn, searched, key=lambda one: _worth(day, one))
        if scene.near is None
        else _whole(day, searched, in_turn)
    )


def _whole(day: Day, first: Timetable, second: Timetable) -> Timetable:
    """The first timetable, unless it breaks a rule."""
    return second if breaches(day, first) else first


def _polish(scene: _Scene, table: Timetable) -> tuple[Timetable, tuple[Aim, ...]]:
    """Improve the later aims one after the other, holding what was reached before."""
    day, blocks = scene.day, table.blocks
    least_moves = 0
    if scene.places is not None:
        table = stand(day, table, scene.places)
    elif scene.near is None and day.plans_instructors:
        table, least_moves = _with_pattern(scene, table)
    else:
        table = _with_posts(scene, table)
    steps: list[tuple[str, Any, Any, int]] = [
        (AIMS[1], idle_blocks, idle_cost, least_idle(day, blocks)),
        (AIMS[2], instructor_moves, moves_cost, least_moves),
        (AIMS[3], costly_blocks, costly_cost, least_costly(day, blocks)),
    ]
    if scene.near is not None:
        lost = sum(visit.group not in day.groups for visit in scene.near.visits)
        steps.insert(0, (CHANGES, changes, changes_cost, lost))
    aims: list[Aim] = []
    search: _Search | None = None
    for index, (name, measure, cost, known) in enumerate(steps):
        least = known
        value = measure(day, table, scene.near)
        if name == AIMS[1] and value > least:
            least = max(least, least_idle_by_uses(day, blocks, new_solver(scene.left * 0.1, work=1.0)))
        if value > least and not (name == AIMS[2] and scene.places is not None):
            if search is None:
                search = _Search(scene, blocks)
                for earlier, (_, _, earlier_cost, _) in zip(aims, steps, strict=False):
                    search.hold(earlier_cost, earlier.value)
            open_later = sum(m(day, table, scene.near) > low for _, m, _, low in steps[index + 1 :])
            share = max(0.2, scene.left / (1 + open_later))
            better, least = search.improve(cost, table, least, share)
            # A search that was cut short may end with a timetable that is worse than the one it began with.
            if better is not None and measure(day, better, scene.near) < value:
                table = better
            value = measure(day, table, scene.near)
            least = min(least, value)
        if search is not None:
            search.hold(cost, value)
        aims.append(Aim(name=name, value=value, bound=least if value > least else value))
        if scene.tell:
            scene.tell(name, value, least)
    return table, tuple(aims)


def _with_pattern(scene: _Scene, table: Timetable) -> tuple[Timetable, int]:
    """A timetable that is as good in blocks and waiting, with fewer moves if there is one; and a bound on moves."""
    day, blocks = scene.day, table.blocks
    best, idle = None, least_idle(day, blocks)
    shares, least = shares_of(day, blocks, new_solver(scene.left * 0.1, work=1.0))
    for is_hurried, chosen in ((True, shares), (False, shares), (True, ()), (False, ())):
        solver = new_solver(scene.left * 0.12, work=2.0)
        pattern = pattern_of(day, blocks, solver, is_hurried=is_hurried, shares=chosen, least=least)
        if pattern is None:
            continue
        if not is_hurried and not chosen:
            least = max(least, pattern.least_moves)
        found = _visits_within(scene, pattern, blocks)
        if found is None:
            continue
        best = found if best is None else min(best, found, key=lambda one: _worth(day, one))
        if _worth(day, best)[1:3] == (idle, least):
            return best, least
    table = _with_posts(scene, table)
    return min(best or table, table, key=lambda one: _worth(day, one)), least


def _visits_within(scene: _Scene, pattern: Pattern, blocks: int) -> Timetable | None:
    """Visits that need no instructor elsewhere than a pattern has them, with as little waiting as was found."""
    free = replace(scene.day, instructors={}, has_instructors=False)
    until = monotonic() + min(2.0, scene.left * 0.1)

    def may_open(stop: str, block: int) -> bool:
        return (stop, block) in pattern.open

    def staffed(table: Timetable) -> Timetable:
        in_use = {(visit.stop, visit.block) for visit in table.visits}
        return replace(table, posts=tuple(p for p in pattern.posts if (p.stop, p.block) in in_use))

    built = first_timetable(free, blocks, until=until, may_open=may_open)
    if built is not None and idle_blocks(free, built) <= least_idle(scene.day, blocks):
        return staffed(built)
    search = _Search(replace(scene, core=free, places=None), blocks)
    for (stop, block), is_open in search.board.open.items():
        if not may_open(stop, block):
            search.model.add(is_open == 0)
    found, _ = search.improve(idle_cost, built, least_idle(scene.day, blocks), scene.left * 0.2, work=2.0)
    return staffed(found) if found is not None else None


def _worth(day: Day, table: Timetable) -> tuple[bool, int, int, int]:
    """Smaller is better, in the order of the aims; a timetable that breaks a rule is worth nothing."""
    broken = bool(breaches(day, table))
    return broken, idle_blocks(day, table), instructor_moves(day, table), costly_blocks(day, table)


class _Search:
    """The solver's model of a day over a number of blocks, to which aims that were reached are added as limits."""

    def __init__(self, scene: _Scene, blocks: int) -> None:
        self.scene = scene
        self.model, self.board = _model(scene.core, blocks)
        self.costs: dict[Any, Any] = {}

    def _cost(self, cost: Any) -> Any:
        if cost not in self.costs:
            self.costs[cost] = cost(self.board, self.scene.near)
        return self.costs[cost]

    def hold(self, cost: Any, value: int) -> None:
        """Accept only timetables that are as good in this aim."""
        expression = self._cost(cost)
        if not isinstance(expression, int):
            self.model.add(expression <= value)

    def improve(
        self, cost: Any, table: Timetable | None, least: int, seconds: float, work: float | None = None
    ) -> tuple[Timetable | None, int]:
        """A timetable at least as good as the one given, if any, and the bound on this aim."""
        from ortools.sat.python import cp_model  # noqa: PLC0415

        expression = self._cost(cost)
        if isinstance(expression, int):
            return table, expression
        until = monotonic() + seconds
        self.model.add(expression >= least)
        self.model.minimize(expression)
        if table is not None:
            self._hint(table)
        solver = new_solver(until - monotonic(), work=work)
        status = solver.solve(self.model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return table, least
        found = _read(self.board, solver)
        if self.scene.places is not None:
            found = stand(self.scene.day, found, self.scene.places)
        return found, max(least, round(solver.best_objective_bound))

    def _hint(self, table: Timetable) -> None:
        self.model.clear_hints()
        visits = {(visit.group, visit.stop, visit.block) for visit in table.visits}
        for key, var in self.board.at.items():
            self.model.add_hint(var, key in visits)
        posts = {(post.instructor, post.stop, post.block) for post in table.posts}
        for place, var in self.board.post.items():
            self.model.add_hint(var, place in posts)


def _model(day: Day, blocks: int) -> tuple[Any, Board]:
    from ortools.sat.python import cp_model  # noqa: PLC0415 - half a second that only a search should pay

    model = cp_model.CpModel()
    board = Board(model, day, blocks)
    for rule in RULES:
        rule.state(board, None)
    return model, board


def new_solver(seconds: float, *, work: float | None = None) -> Any:
    """A solver with one worker and a fixed seed, for so many seconds.

    `work` is a limit in the solver's own measure of work, about a second each, which does not depend on the machine:
    a search that it ends ends the same everywhere.
    """
    from ortools.sat.python import cp_model  # noqa: PLC0415

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = SEED
    solver.parameters.max_time_in_seconds = max(seconds, 0.05)
    if work is not None:
        solver.parameters.max_deterministic_time = work
    return solver


def _fits(scene: _Scene, blocks: int, seconds: float) -> tuple[Literal["yes", "no", "unknown"], Timetable | None]:
    from ortools.sat.python import cp_model  # noqa: PLC0415

    model, board = _model(scene.core, blocks)
    if scene.near is not None:
        near = {(visit.group, visit.stop, visit.block) for visit in scene.near.visits}
        for key, var in board.at.items():
            model.add_hint(var, key in near)
    solver = new_solver(seconds)
    status = solver.solve(model)
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        table = _read(board, solver)
        return "yes", stand(scene.day, table, scene.places) if scene.places is not None else table
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


def staff(day: Day, table: Timetable, *, seconds: float) -> tuple[tuple[Aim, ...], Timetable]:
    """A timetable whose visits are given, with instructors posted, and what it is worth beside the bounds."""
    if day.plans_instructors:
        table, _, _ = post(day, table, solver=new_solver(seconds))
    values = (table.blocks, idle_blocks(day, table), instructor_moves(day, table), costly_blocks(day, table))
    bounds = (least_blocks(day), least_idle(day, table.blocks), 0, least_costly(day, table.blocks))
    is_sound = not breaches(day, table)
    return tuple(
        # A timetable that breaks a rule may beat the bounds; it is worth no more for that.
        Aim(name=name, value=value, bound=min(value, least) if is_sound else least)
        for name, value, least in zip(AIMS, values, bounds, strict=True)
    ), table
