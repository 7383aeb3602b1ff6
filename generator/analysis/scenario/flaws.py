"""What is wrong with a scenario as a machine, each flaw at the exact place in its file."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import combinations

from generator.analysis.scenario.machine import (
    Machine,
    can_end,
    can_happen,
    if_nobody_acts,
    length,
    machine_of,
    reachable,
)
from generator.model import Curriculum, Path, Scenario, State
from generator.model.scenario import Move, Reading


@dataclass(frozen=True, slots=True, kw_only=True)
class Flaw:
    """One flaw: what it is, where it stands in the scenario's file, and what would mend it."""

    path: Path
    message: str
    remedy: str


def malformed_moves(scenario: Scenario) -> Iterator[Flaw]:
    """Moves that lack what their cause needs, or that do nothing."""
    for path, _, move in _moves(scenario):
        if move.on in ("time", "omission") and move.after_seconds is None:
            yield Flaw(
                path=path,
                message=f"`{move.id}` happens by {move.on}, but nobody knows when.",
                remedy="Add `after_seconds`.",
            )
        if move.on == "omission" and (move.skill is None or move.step is None):
            yield Flaw(
                path=path,
                message=f"`{move.id}` happens when a step is not done, but no step is named.",
                remedy="Add `skill` and `step`.",
            )
        if move.on == "action" and move.after_seconds is not None:
            yield Flaw(
                path=(*path, "after_seconds"),
                message=f"`{move.id}` is an action: it happens when somebody acts, not after some seconds.",
                remedy="Use `takes_seconds` for the least time it takes, or write `on: time`.",
            )
        if move.step is not None and move.skill is None:
            yield Flaw(
                path=(*path, "step"),
                message=f"`{move.id}` names the step `{move.step}`, but not the skill it belongs to.",
                remedy="Add `skill`.",
            )
        if move.on != "action" and move.to is None:
            yield Flaw(
                path=path,
                message=f"`{move.id}` happens by {move.on} and leads nowhere, so nothing would change.",
                remedy="Add `to`, or take it out.",
            )


def endless_states(scenario: Scenario) -> Iterator[Flaw]:
    """States from which no run can end, and exits that go on."""
    machine = machine_of(scenario)
    ends = can_end(machine)
    for index, state in enumerate(scenario.states):
        if state.exit is not None and state.moves:
            yield Flaw(
                path=("states", index, "moves"),
                message=f"The scenario ends in `{state.id}`, so its moves never happen.",
                remedy="Take out `exit` or `moves`.",
            )
        if state.id not in ends:
            what = "has no move that leaves it" if not machine.edges[state.id] else "leads to no exit"
            yield Flaw(
                path=("states", index, "id"),
                message=f"No run can end from `{state.id}`: it {what}.",
                remedy="Add a move towards an exit, or say with `exit` how the scenario ends here.",
            )


def unreachable(scenario: Scenario) -> Iterator[Flaw]:
    """States that no run enters and moves that can never happen."""
    if not _is_whole(scenario):
        return
    machine = machine_of(scenario)
    starts = {machine.start, *(scenario.variants.starts if scenario.variants else ())}
    entered = frozenset[str]().union(*(reachable(replace(machine, start=start)) for start in starts))
    for index, state in enumerate(scenario.states):
        if state.id not in entered:
            yield Flaw(
                path=("states", index, "id"),
                message=f"No run enters `{state.id}`.",
                remedy="Lead a move to it, or take it out.",
            )
        for number, move in enumerate(state.moves):
            if state.exit is None and not can_happen(state, move):
                yield Flaw(
                    path=("states", index, "moves", number, "id"),
                    message=f"`{move.id}` can never happen: something else always leaves `{state.id}` first.",
                    remedy="Make it sooner, or the other later.",
                )


def clashes(scenario: Scenario) -> Iterator[Flaw]:
    """Pairs of moves of one state between which nobody could choose, and ids that two moves share."""
    seen: dict[str, Path] = {}
    for path, _, move in _moves(scenario):
        if move.id in seen:
            yield Flaw(
                path=(*path, "id"),
                message=f"Two moves are called `{move.id}`; the log could not tell them apart.",
                remedy="Give one of them another id.",
            )
        seen.setdefault(move.id, path)
    for index, state in enumerate(scenario.states):
        for (_, one), (number, other) in combinations(enumerate(state.moves), 2):
            why = _clash(one, other)
            if why:
                yield Flaw(
                    path=("states", index, "moves", number),
                    message=f"In `{state.id}`, `{one.id}` and `{other.id}` clash: {why}.",
                    remedy="Keep one of them, or make them happen at different moments.",
                )


def _clash(one: Move, other: Move) -> str:
    if one.on == other.on == "action":
        same_step = one.step is not None and (one.skill, one.step) == (other.skill, other.step)
        if same_step and one.to != other.to:
            return f"both are the step `{one.step}`, and they lead to different states"
        return "both buttons say the same" if one.says == other.says and one.to != other.to else ""
    if "action" in (one.on, other.on):
        return ""
    if one.after_seconds is not None and one.after_seconds == other.after_seconds and one.to != other.to:
        return f"both happen at {one.after_seconds} seconds"
    return ""


def readings_out_of_range(curriculum: Curriculum, scenario: Scenario) -> Iterator[Flaw]:
    """Readings beyond what the curriculum calls plausible."""
    for index, state in enumerate(scenario.states):
        for id, value in state.readings.items():
            kind = curriculum.readings.get(id)
            if kind is not None and not kind.low <= value <= kind.high:
                yield Flaw(
                    path=("states", index, "readings", id),
                    message=f"{kind.name} of {value} {kind.unit} is outside {kind.low}–{kind.high} {kind.unit}.",
                    remedy="Correct the value, or widen the plausible range in readings.yaml, with its source.",
                )


def readings_too_fast(curriculum: Curriculum, scenario: Scenario) -> Iterator[Flaw]:
    """Readings that change faster from one state to the next than the curriculum calls plausible.

    A reading that a state does not name keeps the value that it had, so a state may be entered with several.
    """
    machine = machine_of(scenario)
    values = _values(scenario, machine)
    told: set[tuple[str, str]] = set()
    for edges in machine.edges.values():
        for edge in edges:
            index, state = next((i, s) for i, s in enumerate(scenario.states) if s.id == edge.to)
            for id, value in state.readings.items():
                kind = curriculum.readings.get(id)
                if kind is None or kind.most_per_minute is None or (edge.to, id) in told:
                    continue
                before = max(values[edge.origin].get(id, {value}), key=lambda old: abs(value - old))
                if _too_fast(kind, abs(value - before), state.over_seconds):
                    told.add((edge.to, id))
                    need = -(-abs(value - before) * 60 // kind.most_per_minute)
                    yield Flaw(
                        path=("states", index, "readings", id),
                        message=f"{kind.name} goes from {before} in `{edge.origin}` to {value} {kind.unit} within "
                        f"{state.over_seconds} seconds; at most {kind.most_per_minute} a minute is plausible.",
                        remedy=f"Write `over_seconds: {need}` or more, or a value nearer to {before}.",
                    )


def _too_fast(kind: Reading, change: Decimal, seconds: int) -> bool:
    return kind.most_per_minute is not None and change * 60 > kind.most_per_minute * seconds


def _values(scenario: Scenario, machine: Machine) -> dict[str, dict[str, set[Decimal]]]:
    """The values that each reading can have in each state."""
    values: dict[str, dict[str, set[Decimal]]] = {id: {} for id in machine.edges}
    for state in reversed(scenario.states):
        values[state.id] = {id: {value} for id, value in state.readings.items()}
    own = {state.id: frozenset(state.readings) for state in reversed(scenario.states)}
    waiting = list(machine.edges)
    while waiting:
        origin = waiting.pop()
        for edge in machine.edges[origin]:
            for id, found in values[origin].items():
                held = values[edge.to].setdefault(id, set())
                if id not in own[edge.to] and not found <= held:
                    held |= found
                    waiting.append(edge.to)
    return values


def uncleared_steps(curriculum: Curriculum, scenario: Scenario) -> Iterator[Flaw]:
    """Steps of skills that the group is not said to bring, and skills beyond the level of the scenario."""
    for index, id in enumerate(scenario.skills):
        skill = curriculum.skills.get(id)
        beyond = [level for level in scenario.levels if skill is not None and level not in skill.levels]
        if beyond:
            yield Flaw(
                path=("skills", index),
                message=f"`{id}` is not a skill of {', '.join(beyond)}, for whom this scenario is.",
                remedy="Take the level or the skill out.",
            )
    for path, _, move in _moves(scenario):
        if move.skill is not None and move.skill in curriculum.skills and move.skill not in scenario.skills:
            yield Flaw(
                path=(*path, "skill"),
                message=f"`{move.id}` is a step of `{move.skill}`, for which the group need not be cleared.",
                remedy="Add it to `skills`, or use a step of a skill that is there.",
            )
    for index, state in enumerate(scenario.states):
        for number, need in enumerate(state.calls_for):
            if need.skill in curriculum.skills and need.skill not in scenario.skills:
                yield Flaw(
                    path=("states", index, "calls_for", number, "skill"),
                    message=f"`{state.id}` calls for `{need.skill}`, for which the group need not be cleared.",
                    remedy="Add it to `skills`, or take it out.",
                )


def idle_and_long(scenario: Scenario) -> Iterator[Flaw]:
    """What happens if nobody acts does not end, or no run fits in the planned minutes."""
    if not _is_whole(scenario):
        return
    idle = if_nobody_acts(scenario)
    if not idle.ends and idle.states:
        last = idle.states[-1][0]
        index = next(i for i, state in enumerate(scenario.states) if state.id == last)
        yield Flaw(
            path=("states", index, "id"),
            message=f"If nobody acts, the call never ends: it stays in `{last}` or comes round to it again.",
            remedy="Add a `time` or `omission` move there.",
        )
    shortest = length(machine_of(scenario)).shortest
    if shortest is not None and shortest > scenario.minutes * 60:
        yield Flaw(
            path=("minutes",),
            message=f"The shortest run takes {shortest} seconds, more than the {scenario.minutes} minutes planned.",
            remedy="Plan more minutes, or make the states shorter.",
        )


def _is_whole(scenario: Scenario) -> bool:
    """Whether every state that is named exists: a misspelled one is a problem of its own and not the cause of more."""
    known = {state.id for state in scenario.states}
    return scenario.start in known and all(move.to in known for _, _, move in _moves(scenario) if move.to is not None)


def _moves(scenario: Scenario) -> Iterator[tuple[Path, State, Move]]:
    for index, state in enumerate(scenario.states):
        for number, move in enumerate(state.moves):
            yield ("states", index, "moves", number), state, move
