"""Timetables in rounds, against the judge, the bounds and exhaustive search."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from test_rotation import best_by_trying, day

from generator.analysis.rotation.bounds import done_in_turn, least_blocks, least_idle, seats_of
from generator.analysis.rotation.day import Before, Day, Fixed, Stop
from generator.analysis.rotation.measure import idle_blocks
from generator.analysis.rotation.rounds import in_rounds, takes_rounds
from generator.analysis.rotation.rules import breaches
from generator.analysis.rotation.solve import new_solver, rotate


def honest(asked: Day, *pairs: tuple[str, str]) -> Day:
    """The day with the same honest order for every group."""
    before = tuple(
        Before(group=group, technique=f"technique-{then}", first=frozenset(first.split("|")), then=then)
        for group in asked.groups
        for first, then in pairs
    )
    return replace(asked, before=before)


def test_a_seat_is_there_once_its_stations_are() -> None:
    asked = honest(day(30, 10), ("s0", "s3"), ("s1", "s4"), ("s2", "s5"), ("s3", "s6"))
    assert seats_of(asked) == (0, 0, 0, 0, 0, 0, 1, 1, 1, 2)
    assert sum(done_in_turn(asked)) == 615


def test_thirty_groups_at_ten_stations_with_four_precedences_wait_no_longer_than_the_bound() -> None:
    """Every aim is proved. Without rounds the search found one group-block of waiting more, and no proof."""
    asked = honest(day(30, 10), ("s0", "s3"), ("s1", "s4"), ("s2", "s5"), ("s3", "s6"))
    found = rotate(replace(asked, costliest="t9"), seconds=60)
    assert found.outcome == "best"
    assert [aim.value for aim in found.aims] == [32, 315, 0, 30]
    assert found.timetable is not None
    assert breaches(asked, found.timetable) == ()
    assert found == rotate(replace(asked, costliest="t9"), seconds=60), "the same day gives the same timetable"


def random_day(rng: random.Random) -> Day:
    """Two rounds or more at two or three stations, some late, some on one trainer, with one honest order for all."""
    stations = rng.randint(2, 3)
    trainers = {f"t{i}": rng.choice((1, 1, 2)) for i in range(stations)}
    stops = tuple(
        Stop(
            id=f"s{i}",
            trainer=f"t{rng.randrange(stations)}" if rng.random() < 0.3 else f"t{i}",
            ready_from=rng.choice((0, 0, 0, 1)),
        )
        for i in range(stations)
    )
    asked = Day(group_sizes=(4,) * rng.choice((2, 4)), stops=stops, trainers=trainers)
    pairs = [(rng.choice(("s0", "s0", "s1|s0")), f"s{stations - 1}")] if rng.random() < 0.6 else []
    return honest(asked, *(pair for pair in pairs if pair[1] not in pair[0]))


@pytest.mark.parametrize("seed", range(80))
def test_rounds_keep_every_rule_and_have_the_least_waiting_that_there_is(seed: int) -> None:
    asked = random_day(random.Random(seed))
    if not takes_rounds(asked):
        return
    table = in_rounds(asked, new_solver(30))
    if table is None:
        return
    assert breaches(asked, table) == ()
    assert idle_blocks(asked, table) == sum(done_in_turn(asked)) - len(asked.groups) * asked.visits_of_a_group
    best = best_by_trying(asked)
    assert best is not None
    if table.blocks == best[0]:
        assert idle_blocks(asked, table) == best[1] >= least_idle(asked, best[0])
    assert table.blocks >= least_blocks(asked)


def test_the_random_days_do_go_in_rounds() -> None:
    found = [random_day(random.Random(seed)) for seed in range(80)]
    assert sum(takes_rounds(asked) and in_rounds(asked, new_solver(30)) is not None for asked in found) > 15


@pytest.mark.parametrize(
    "asked",
    [
        day(12, 8),  # a round and a half
        day(10, 10),  # one round: nothing to repeat
        replace(day(20, 10), fixed=(Fixed(group=0, stop="s0", block=3),)),
        replace(day(4, 2), stops=(Stop(id="s0", trainer="t0", rest=1), Stop(id="s1", trainer="t1"))),
        replace(day(4, 2), before=(Before(group=0, technique="t", first=frozenset({"s0"}), then="s1"),)),
        replace(day(4, 2), instructors={"i": frozenset({"s0", "s1"})}),
        replace(day(0, 2)),
    ],
    ids=["not full", "one round", "fixed", "rest", "groups differ", "instructors", "nobody"],
)
def test_other_days_do_not_go_in_rounds(asked: Day) -> None:
    assert not takes_rounds(asked)


def test_stations_that_cannot_share_their_trainer_make_no_pattern() -> None:
    """Two stations, each with the only unit of one trainer: one seat, and two visits to make one after the other."""
    asked = replace(
        day(4, 2),
        stops=(Stop(id="s0", trainer="t0"), Stop(id="s1", trainer="t0", ready_from=3)),
        trainers={"t0": 1},
    )
    assert takes_rounds(asked)
    assert in_rounds(asked, new_solver(30)) is None
