"""The aims as costs in the solver's model; `measure` counts the same in a finished timetable."""

from __future__ import annotations

from typing import Any

from generator.analysis.rotation.day import Timetable
from generator.analysis.rotation.rules import Board


def idle_cost(board: Board, near: Timetable | None = None) -> Any:
    """Blocks that groups wait before their last visit.

    `busy[group, block]` says that the group still has a visit in this block or a later one. Counted block by block, so
    that the solver sees at once how many groups must still be there to fill the blocks that are left.
    """
    del near
    day, model = board.day, board.model
    least = day.visits_of_a_group
    busy = {}
    for group in day.groups:
        for block in board.blocks:
            busy[group, block] = 1 if block < least else model.new_bool_var(f"busy {group} {block}")
            if block >= least:
                model.add(busy[group, block] >= sum(board.at[group, stop.id, block] for stop in day.stops))
                model.add(busy[group, block] <= busy[group, block - 1])
    return sum(busy.values()) - least * len(day.group_sizes)


def moves_cost(board: Board, near: Timetable | None = None) -> Any:
    """Changes of an instructor's station from one post to their next."""
    del near
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
        for s in places:
            arrivals = [model.new_bool_var(f"arrive {name} {s} {b}") for b in board.blocks[1:]]
            for block, arrival in zip(board.blocks[1:], arrivals, strict=True):
                model.add(stay[s, block] - stay[s, block - 1] <= arrival)
            moves += arrivals
            # Redundant, for the proof: a station is run only by those who arrived.
            there = model.new_bool_var(f"there {name} {s}")
            model.add(stay[s, 0] + sum(arrivals) >= there)
            for block in board.blocks:
                model.add_implication(board.post[name, s, block], there)
            seen[s].append(there)
    for stop in day.stops:
        if seen[stop.id] and stop.visits and day.group_sizes:
            model.add(sum(seen[stop.id]) >= stop.instructors)
    return sum(moves) if moves else 0


def costly_cost(board: Board, near: Timetable | None = None) -> Any:
    """Blocks in which the costliest trainer is switched on."""
    del near
    stops = [stop.id for stop in board.day.stops if stop.trainer == board.day.costliest]
    if not stops:
        return 0
    on = []
    for block in board.blocks:
        used = board.model.new_bool_var(f"on {block}")
        for stop in stops:
            board.model.add(used >= board.open[stop, block])
        on.append(used)
    return sum(on)


def changes_cost(board: Board, near: Timetable | None = None) -> Any:
    """Visits of the given timetable that are not kept."""
    kept = [
        board.at[key] for visit in (near.visits if near else ())
        if (key := (visit.group, visit.stop, visit.block)) in board.at
    ]  # fmt: skip
    return (len(near.visits) if near else 0) - sum(kept)
