"""The flow of a scenario as a layered picture, in whole numbers: which box stands where, and how arrows run.

Layers go down the page, one box to a row, so that the picture can be as narrow as a phone. A box stands below every
box that leads to it, arrows that close a circle left out. Arrows run in lanes beside the boxes. Arrows with one target
and one cause share a lane, because they mean the same from there on; no two other lanes of one column touch.
"""

from __future__ import annotations

from dataclasses import dataclass

from generator.model import Scenario, State
from generator.model.scenario import Cause, Move


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrow:
    """A move. `to` is the row it leads to, or None when it is only noted or leads to a state that nobody knows."""

    move: Move
    origin: int
    to: int | None
    lane: int | None
    """The lane, from 0 next to the boxes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A state with its row, from 0 at the top, and its layer: how many moves it is from the start at the most."""

    state: int
    """Place among the scenario's states."""
    row: int
    layer: int
    arrows: tuple[Arrow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Flow:
    """Boxes from the top down, and how many lanes their arrows need."""

    boxes: tuple[Box, ...]
    lanes: int


def flow_of(scenario: Scenario) -> Flow:
    """The layered picture of a scenario: each state once, each move once, in whatever shape the file is."""
    first: dict[str, int] = {}
    for place, state in enumerate(scenario.states):
        first.setdefault(state.id, place)
    nexts = [
        [] if state.exit is not None else [first[move.to] for move in state.moves if move.to in first]
        for state in scenario.states
    ]
    layers = _layers(nexts, first.get(scenario.start, 0))
    order = sorted(range(len(nexts)), key=lambda place: (layers[place], place))
    row_of = {place: row for row, place in enumerate(order)}
    wanted: dict[tuple[int, Cause], tuple[float, float]] = {}
    for place, state in enumerate(scenario.states):
        for move in state.moves:
            if move.to in first:
                to = row_of[first[move.to]]
                # An arrow leaves under its box and enters beside the other, so its span ends at half a row.
                low, high = sorted((row_of[place] + 0.5, float(to)))
                before = wanted.get((to, move.on), (low, high))
                wanted[to, move.on] = (min(low, before[0]), max(high, before[1]))
    lanes = _lanes(wanted)
    boxes = []
    for row, place in enumerate(order):
        arrows = []
        for move in scenario.states[place].moves:
            target = row_of[first[move.to]] if move.to in first else None
            arrows.append(
                Arrow(move=move, origin=row, to=target, lane=None if target is None else lanes[target, move.on])
            )
        boxes.append(Box(state=place, row=row, layer=layers[place], arrows=tuple(arrows)))
    return Flow(boxes=tuple(boxes), lanes=max(lanes.values(), default=-1) + 1)


def in_flow_order(scenario: Scenario) -> tuple[State, ...]:
    """The states from the top of the flow down; their numbers on cards and pages are their places here, from 1."""
    return tuple(scenario.states[box.state] for box in flow_of(scenario).boxes)


def _layers(nexts: list[list[int]], start: int) -> list[int]:
    """The longest way to each place from the start, arrows back to a place on the way left out; what cannot be
    reached comes below all that can."""
    forward: list[list[int]] = [[] for _ in nexts]
    state = [0] * len(nexts)
    done: list[int] = []
    origins = [start, *range(len(nexts))] if nexts else []
    for origin in origins:
        if state[origin]:
            continue
        state[origin] = 1
        path = [(origin, iter(nexts[origin]))]
        while path:
            place, rest = path[-1]
            following = next(rest, None)
            if following is None:
                state[place] = 2
                done.append(place)
                path.pop()
            elif state[following] != 1:
                forward[place].append(following)
                if state[following] == 0:
                    state[following] = 1
                    path.append((following, iter(nexts[following])))
    inside = {start} if nexts else set()
    for place in reversed(done):
        if place in inside:
            inside.update(forward[place])
    layers = [0] * len(nexts)
    for place in reversed(done):
        for following in forward[place]:
            if (place in inside) == (following in inside):
                layers[following] = max(layers[following], layers[place] + 1)
    below = max((layers[place] for place in inside), default=-1) + 1
    return [layer if place in inside else below + layer for place, layer in enumerate(layers)]


def _lanes(wanted: dict[tuple[int, Cause], tuple[float, float]]) -> dict[tuple[int, Cause], int]:
    """Lanes for spans, short ones next to the boxes; spans that touch never share one."""
    taken: list[list[tuple[float, float]]] = []
    found: dict[tuple[int, Cause], int] = {}
    for key, (low, high) in sorted(wanted.items(), key=lambda item: (item[1][1] - item[1][0], item[0])):
        for lane, spans in enumerate(taken):
            if all(high < other_low or low > other_high for other_low, other_high in spans):
                spans.append((low, high))
                found[key] = lane
                break
        else:
            found[key] = len(taken)
            taken.append([(low, high)])
    return found
