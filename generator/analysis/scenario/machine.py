"""A scenario's graph: states, edges with the seconds they take, and what can be said of every run.

A run begins in the start state with the clock at nought. In a state, an action may be done at any moment from its
`takes_seconds` on; a `time` move happens when its seconds have passed; an `omission` happens when its seconds have
passed and its step was not done in this state. Entering a state, also the same one again, sets its clock to nought.
Whatever happens first happens. Moves without `to` are noted and change nothing, except that they count as the step
being done, which holds off an omission of that step.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import inf

from generator.model import Scenario, State
from generator.model.scenario import Move

Done = tuple[str, str]
"""A step that was done: (skill, step)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """A move that leads from one state to another. `shortest` and `longest` are the seconds spent before it."""

    origin: str
    to: str
    move: str
    shortest: int
    longest: float
    """Infinite when the group may wait as long as it likes."""
    done: frozenset[Done]


@dataclass(frozen=True, slots=True, kw_only=True)
class Length:
    """How long runs last, in seconds; None where no run ends, infinite where a run need not end."""

    shortest: int | None
    longest: float | None
    endless_because: tuple[str, ...] = ()
    """States of a circle, or the one state that can be held for ever."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ending:
    """One way to end: the steps that every run to it does, and those that some run to it may do."""

    state: str
    always: frozenset[Done]
    sometimes: frozenset[Done]


@dataclass(frozen=True, slots=True, kw_only=True)
class Idle:
    """What happens if nobody acts: states in order with the second at which each is entered."""

    states: tuple[tuple[str, int], ...]
    ends: bool
    """Whether an exit is reached; if not, the last state is held for ever or comes round again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """The graph of a scenario. `edges` by the state they leave, in the order of the file."""

    start: str
    states: tuple[str, ...]
    exits: frozenset[str]
    edges: Mapping[str, tuple[Edge, ...]]


def machine_of(scenario: Scenario) -> Machine:
    """The graph. Moves to states that nobody knows are left out; moves that can never happen have no edge."""
    known = {state.id: state for state in reversed(scenario.states)}
    return Machine(
        start=scenario.start,
        states=tuple(dict.fromkeys(state.id for state in scenario.states)),
        exits=frozenset(id for id, state in known.items() if state.exit is not None),
        edges={id: tuple(_edges(state, known)) for id, state in known.items()},
    )


def _edges(state: State, known: Mapping[str, State]) -> Iterable[Edge]:
    if state.exit is not None:
        return
    for move in state.moves:
        if move.to not in known or move.to is None or not can_happen(state, move):
            continue
        acts = move.on == "action"
        seconds = move.after_seconds or 0
        yield Edge(
            origin=state.id,
            to=move.to,
            move=move.id,
            shortest=move.takes_seconds if acts else seconds,
            longest=longest_stay(state) if acts else seconds,
            done=frozenset([(move.skill, move.step)]) if acts and move.skill and move.step else frozenset(),
        )


def longest_stay(state: State) -> float:
    """The most seconds that a group can stay in a state, whatever it does; infinite when nothing ends it."""
    return min(
        (m.after_seconds or 0 for m in state.moves if _leaves(m) and not _can_be_held_off(state, m)), default=inf
    )


def can_happen(state: State, move: Move) -> bool:
    """Whether a move can ever be the first to happen in its state."""
    rivals = [
        other for other in state.moves if other is not move and _leaves(other) and _strikes_before(state, other, move)
    ]
    sooner = min((other.after_seconds or 0 for other in rivals), default=inf)
    if move.on == "action":
        return move.takes_seconds <= sooner
    seconds = move.after_seconds or 0
    # Two moves at one second are a clash; the first in the file is taken, so that a run is still defined.
    return seconds < sooner or (
        seconds == sooner
        and all(state.moves.index(move) < state.moves.index(o) for o in rivals if o.after_seconds == seconds)
    )


def _strikes_before(state: State, other: Move, move: Move) -> bool:
    """Whether nothing the group does keeps `other` from happening in a stay in which `move` could happen."""
    if move.on == other.on == "omission" and (move.skill, move.step) == (other.skill, other.step):
        return True
    return not _can_be_held_off(state, other)


def _leaves(move: Move) -> bool:
    return move.on != "action" and move.to is not None


def _can_be_held_off(state: State, move: Move) -> bool:
    """Whether the group can do the omitted step without leaving the state."""
    return move.on == "omission" and any(
        other.on == "action" and other.to is None and (other.skill, other.step) == (move.skill, move.step)
        and other.takes_seconds <= (move.after_seconds or 0)
        for other in state.moves
    )  # fmt: skip


def reachable(machine: Machine) -> frozenset[str]:
    """The states that some run enters."""
    return _spread([machine.start] if machine.start in machine.edges else [], machine, backwards=False)


def can_end(machine: Machine) -> frozenset[str]:
    """The states from which some run reaches an exit."""
    return _spread(machine.exits, machine, backwards=True)


def _spread(origins: Iterable[str], machine: Machine, *, backwards: bool) -> frozenset[str]:
    nexts: dict[str, list[str]] = {}
    for edges in machine.edges.values():
        for edge in edges:
            origin, to = (edge.to, edge.origin) if backwards else (edge.origin, edge.to)
            nexts.setdefault(origin, []).append(to)
    found = set(origins)
    waiting = list(found)
    while waiting:
        for to in nexts.get(waiting.pop(), ()):
            if to not in found:
                found.add(to)
                waiting.append(to)
    return frozenset(found)


def length(machine: Machine) -> Length:
    """The shortest and longest run from start to any exit."""
    on_the_way = reachable(machine) & can_end(machine)
    if machine.start not in on_the_way:
        return Length(shortest=None, longest=None)
    shortest = _shortest(machine)
    circle = _circle(machine, on_the_way)
    if circle:
        return Length(shortest=shortest, longest=inf, endless_because=circle)
    longest: dict[str, float] = {}
    for state in _backwards(machine, on_the_way):
        ways = [e.longest + longest[e.to] for e in machine.edges[state] if e.to in longest]
        longest[state] = max(ways, default=0.0)
    held = [s for s in machine.states if s in on_the_way and any(e.longest == inf for e in machine.edges[s])]
    return Length(shortest=shortest, longest=longest[machine.start], endless_because=tuple(held[:1]))


def _shortest(machine: Machine) -> int | None:
    best = {machine.start: 0}
    waiting = [(0, machine.start)]
    while waiting:
        seconds, state = heapq.heappop(waiting)
        if state in machine.exits:
            return seconds
        if seconds > best[state]:
            continue
        for edge in machine.edges[state]:
            total = seconds + edge.shortest
            if total < best.get(edge.to, total + 1):
                best[edge.to] = total
                heapq.heappush(waiting, (total, edge.to))
    return None


def _circle(machine: Machine, inside: frozenset[str]) -> tuple[str, ...]:
    """The states of some circle among `inside`, in order, or nothing."""
    colour: dict[str, int] = {}
    for origin in machine.states:
        if origin not in inside or origin in colour:
            continue
        path = [origin]
        steps = [iter(machine.edges[origin])]
        colour[origin] = 1
        while steps:
            edge = next(steps[-1], None)
            if edge is None:
                colour[path.pop()] = 2
                steps.pop()
            elif edge.to in inside and colour.get(edge.to) == 1:
                return tuple(path[path.index(edge.to) :])
            elif edge.to in inside and edge.to not in colour:
                colour[edge.to] = 1
                path.append(edge.to)
                steps.append(iter(machine.edges[edge.to]))
    return ()


def _backwards(machine: Machine, inside: frozenset[str]) -> list[str]:
    """The states of a graph without circles, each after all that it leads to."""
    order: list[str] = []
    seen: set[str] = set()
    for origin in machine.states:
        waiting = [(origin, False)] if origin in inside else []
        while waiting:
            state, is_done = waiting.pop()
            if is_done:
                order.append(state)
            elif state not in seen:
                seen.add(state)
                waiting.append((state, True))
                waiting += [(e.to, False) for e in machine.edges[state] if e.to in inside and e.to not in seen]
    return order


def endings(machine: Machine, scenario: Scenario) -> tuple[Ending, ...]:
    """For each exit that can be reached: the steps that every run to it does, and those that some run may do.

    `always` is the greatest fixed point of: what every edge into a state adds to what its origin always has.
    """
    within = reachable(machine)
    into: dict[str, list[Edge]] = {}
    every: set[Done] = set()
    for state in within:
        for edge in machine.edges[state]:
            into.setdefault(edge.to, []).append(edge)
            every |= edge.done
    always: dict[str, frozenset[Done]] = {state: frozenset(every) for state in within}
    always[machine.start] = frozenset()
    changed = True
    while changed:
        changed = False
        for state in within - {machine.start}:
            new = frozenset.intersection(*(always[e.origin] | e.done for e in into[state]))
            if new != always[state]:
                always[state] = new
                changed = True
    noted = {state.id: _noted(state) for state in scenario.states}
    found = []
    for exit in machine.states:
        if exit not in machine.exits or exit not in within:
            continue
        before = _spread([exit], machine, backwards=True) & within
        sometimes: set[Done] = set()
        for state in before:
            sometimes |= noted.get(state, frozenset())
            for edge in machine.edges[state]:
                if edge.to in before:
                    sometimes |= edge.done
        found.append(Ending(state=exit, always=always[exit], sometimes=frozenset(sometimes)))
    return tuple(found)


def _noted(state: State) -> frozenset[Done]:
    return frozenset(
        (move.skill, move.step)
        for move in state.moves
        if move.on == "action" and move.to is None and move.skill and move.step
        and move.takes_seconds <= longest_stay(state)
    )  # fmt: skip


def if_nobody_acts(scenario: Scenario) -> Idle:
    """The run in which no action is ever done."""
    known = {state.id: state for state in reversed(scenario.states)}
    at, seconds, seen = scenario.start, 0, set()
    states: list[tuple[str, int]] = []
    while at in known and at not in seen:
        seen.add(at)
        states.append((at, seconds))
        state = known[at]
        if state.exit is not None:
            return Idle(states=tuple(states), ends=True)
        timers = [move for move in state.moves if _leaves(move) and move.to in known]
        if not timers:
            return Idle(states=tuple(states), ends=False)
        first = min(timers, key=lambda move: move.after_seconds or 0)
        seconds += first.after_seconds or 0
        at = first.to or ""
    return Idle(states=tuple(states), ends=False)
