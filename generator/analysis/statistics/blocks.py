"""How many blocks a lab day needs at least, when each group visits each station once; and rounds for pairs.

These are the bounds that a timetable is judged against. Each is attained when it is the only limit; several limits
at once may need more blocks than the largest bound.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class FewestBlocks:
    """The fewest blocks, and what sets them."""

    blocks: int
    because: str


def fewest_blocks(
    *, groups: int, stations: int, capacities: Sequence[int] | None = None, instructors: int | None = None
) -> FewestBlocks:
    """Return the fewest blocks in which every group visits every station once, in any order.

    `capacities` says how many groups each station takes at once (1 unless said); `instructors` how many stations
    can run at once, one instructor for each group at a station.
    Errors: ValueError for a number below 1 or a list of capacities of another length.
    Source: Konig 1916 (bipartite edge colouring); Gonzalez and Sahni 1976 (open shop).
    """
    _require(groups=groups, stations=stations)
    takes = tuple(capacities) if capacities is not None else (1,) * stations
    if len(takes) != stations:
        raise ValueError(f"{len(takes)} capacities for {stations} stations")
    _require(**{f"capacity {number}": take for number, take in enumerate(takes, 1)})
    bounds = [
        FewestBlocks(blocks=stations, because="each group has that many stations to visit"),
        FewestBlocks(blocks=-(-groups // min(takes)), because="the smallest station takes the groups in turn"),
    ]
    if instructors is not None:
        _require(instructors=instructors)
        bounds.append(
            FewestBlocks(blocks=-(-groups * stations // instructors), because="the instructors share all the visits")
        )
    return max(bounds, key=lambda bound: bound.blocks)


def fewest_blocks_in_order(*, groups: int, stations: int) -> FewestBlocks:
    """Return the fewest blocks when all groups visit the stations, one group each, in the same fixed order.

    Source: permutation flow shop with unit times.
    """
    _require(groups=groups, stations=stations)
    return FewestBlocks(
        blocks=groups + stations - 1, because="the last group starts when all others have left the first station"
    )


def fewest_blocks_one_first(*, groups: int, stations: int) -> FewestBlocks:
    """Return the fewest blocks when one station, taking one group at once, must come before all the others.

    The last group through it still has every other station to visit, so it is as long as a fixed order.
    Source: head and tail bound, attained.
    """
    return fewest_blocks_in_order(groups=groups, stations=stations)


def rounds_of_pairs(people: int) -> tuple[tuple[tuple[int, int], ...], ...]:
    """Return rounds in which everybody (0, 1, ...) meets everybody once; with an odd number one sits out a round.

    Errors: ValueError for fewer than 2. Source: circle method (1-factorisation of complete graphs, Lucas 1883).
    """
    if people < 2:
        raise ValueError(f"pairs need at least 2 people, not {people}")
    seats = people + people % 2
    rounds = []
    circle = list(range(seats))
    for _ in range(seats - 1):
        met = ((circle[i], circle[seats - 1 - i]) for i in range(seats // 2))
        rounds.append(tuple((min(pair), max(pair)) for pair in met if max(pair) < people))
        circle = [circle[0], circle[-1], *circle[1:-1]]
    return tuple(rounds)


def _require(**numbers: int) -> None:
    for name, number in numbers.items():
        if number < 1:
            raise ValueError(f"{name} must be at least 1, not {number}")
