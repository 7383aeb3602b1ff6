"""What a timetable costs, counted from the timetable itself; the solver minimises the same counts."""

from __future__ import annotations

from itertools import pairwise

from generator.analysis.rotation.day import Day, Timetable


def idle_blocks(day: Day, table: Timetable, near: Timetable | None = None) -> int:
    """Blocks that groups wait before their last visit, all groups together."""
    del near
    idle = 0
    for group in day.groups:
        used = {visit.block for visit in table.visits if visit.group == group}
        idle += max(used, default=-1) + 1 - len(used)
    return idle


def instructor_moves(day: Day, table: Timetable, near: Timetable | None = None) -> int:
    """Changes of station between an instructor's posts, one block to their next."""
    del near
    moves = 0
    for name in day.instructors:
        places = [post.stop for post in sorted(table.posts) if post.instructor == name]
        moves += sum(before != after for before, after in pairwise(places))
    return moves


def costly_blocks(day: Day, table: Timetable, near: Timetable | None = None) -> int:
    """Blocks in which the costliest trainer is switched on."""
    del near
    costly = {stop.id for stop in day.stops if stop.trainer == day.costliest}
    return len({visit.block for visit in table.visits if visit.stop in costly})


def changes(day: Day, table: Timetable, near: Timetable | None = None) -> int:
    """Visits of an earlier timetable that this one does not keep; nought without an earlier one."""
    del day
    return len(set(near.visits) - set(table.visits)) if near else 0
