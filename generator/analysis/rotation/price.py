"""What honest order costs: the day with and without the precedence, and which station moved away would save it."""

from __future__ import annotations

from dataclasses import replace
from time import monotonic

from generator.analysis.rotation.bounds import least_blocks
from generator.analysis.rotation.day import Day
from generator.analysis.rotation.from_lab import given_at
from generator.analysis.rotation.plan import Move, Price
from generator.analysis.rotation.solve import Rotation, fewest_blocks
from generator.analysis.told import Told
from generator.analysis.wear import labs_in_order
from generator.model import Curriculum, Lab


def price_of(curriculum: Curriculum, lab: Lab, day: Day, found: Rotation, *, seconds: float) -> Price | None:
    """The price of honest order for a day with a timetable; None when nothing has to come before anything."""
    if not day.before or found.timetable is None:
        return None
    until = monotonic() + seconds
    blocks, proved = found.timetable.blocks, found.aims[0].is_proved
    free = replace(day, before=())
    if least_blocks(free) >= blocks:
        return Price(blocks=0, words=Told("Honest order costs no block."))
    without = fewest_blocks(free, seconds=seconds / 2)
    if without is None:
        return None
    free_blocks, free_proved = without
    cost = blocks - free_blocks
    is_exact = proved and free_proved
    moves = tuple(_moves(curriculum, lab, day, cost, until)) if cost > 0 else ()
    return Price(blocks=max(0, cost), moves=moves, is_exact=is_exact, words=_words(max(0, cost), moves, is_exact))


def _moves(curriculum: Curriculum, lab: Lab, day: Day, cost: int, until: float) -> list[Move]:
    """Stations that must wait for others, each tried without it, and how much less honest order costs then.

    The station's own visits go with it to the other day, so the blocks that they fill are not counted as saved.
    """
    later = next((one.id for one in labs_in_order(curriculum) if (one.on, one.start) > (lab.on, lab.start)), None)
    found = []
    for then in dict.fromkeys(rule.then for rule in day.before):
        if monotonic() > until:
            break
        # Moving it must not leave a later station of this day unearned.
        stops = tuple(stop for stop in day.stops if stop.id != then)
        before = tuple(
            replace(rule, first=rule.first - {then}) for rule in day.before if rule.then != then and rule.first - {then}
        )
        if any(rule.then != then and not rule.first - {then} for rule in day.before):
            continue
        rest = replace(
            day, stops=stops, before=before, fixed=tuple(one for one in day.fixed if one.stop != then),
            instructors={name: runs - {then} for name, runs in day.instructors.items()},
        )  # fmt: skip
        left = _cost(rest, seconds=max(0.3, (until - monotonic()) / 2))
        if left is not None and left < cost and given_at(curriculum, then):
            found.append(Move(station=then, saves=cost - left, to_lab=later))
    return sorted(found, key=lambda move: (-move.saves, move.station))


def _cost(day: Day, *, seconds: float) -> int | None:
    """Blocks that honest order adds to a day; None when nothing was found in the time."""
    if not day.before:
        return 0
    free = replace(day, before=())
    blocks = fewest_blocks(day, seconds=seconds / 2)
    if blocks is None or blocks[0] <= least_blocks(free):
        return None if blocks is None else 0
    without = fewest_blocks(free, seconds=seconds / 2)
    return None if without is None else blocks[0] - without[0]


def _words(cost: int, moves: tuple[Move, ...], is_exact: bool) -> Told:
    if not cost:
        return Told("Honest order costs no block.")
    if is_exact:
        told = Told.many(cost, "Honest order costs {count} block.", "Honest order costs {count} blocks.")
    else:
        told = Told.many(
            cost,
            "Honest order costs {count} block as far as was found in the time.",
            "Honest order costs {count} blocks as far as was found in the time.",
        )
    return Told("{cost} {move}", cost=told, move=_saving(cost, moves[0])) if moves else told


def _saving(cost: int, move: Move) -> Told:
    day = Told("a later lab day") if move.to_lab is None else move.to_lab
    if move.saves == cost == 1:
        return Told("Moving {station} to {day} saves that block.", station=move.station, day=day)
    return Told.many(
        move.saves,
        "Moving {station} to {day} saves {count} block.",
        "Moving {station} to {day} saves {count} blocks.",
        station=move.station,
        day=day,
    )
