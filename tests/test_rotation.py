"""The rotation's bounds against published theorems, and the judge against broken timetables."""

from dataclasses import replace

import pytest

from generator.analysis.rotation.day import Before, Day, Stop, Timetable, Visit, bound
from generator.analysis.rotation.rules import breaches
from generator.analysis.rotation.solve import rotate


def day(groups: int, stations: int, **more) -> Day:
    stops = tuple(Stop(id=f"s{i}", trainer=f"t{i}") for i in range(stations))
    return Day(group_sizes=(4,) * groups, stops=stops, trainers={stop.trainer: 1 for stop in stops}, **more)


@pytest.mark.parametrize(("groups", "stations"), [(1, 3), (3, 3), (5, 3), (3, 5)])
def test_unit_time_open_shop_needs_the_larger_of_groups_and_stations(groups: int, stations: int) -> None:
    # König 1916, edge colouring of bipartite graphs; Gonzalez and Sahni 1976, open shop.
    found = rotate(day(groups, stations), seconds=20)
    assert found.timetable is not None
    assert found.aims[0].value == found.aims[0].bound == max(groups, stations) == bound(day(groups, stations))
    assert breaches(day(groups, stations), found.timetable) == ()


def test_one_common_first_station_for_n_groups_and_m_stations_takes_n_plus_m_minus_one() -> None:
    # A permutation flow shop's first machine: the last group starts in block n and then has m - 1 more (textbook
    # identity; value from memory).
    first = [Before(group=g, technique="t", first=frozenset({"s0"}), then=f"s{s}") for g in range(4) for s in (1, 2)]
    found = rotate(day(4, 3, before=tuple(first)), seconds=20)
    assert found.timetable is not None
    assert found.aims[0].value == found.aims[0].bound == 4 + 3 - 1


def test_an_impossible_day_names_the_rules_that_clash() -> None:
    found = rotate(replace(day(1, 1), trainers={"t0": 0}), seconds=10)
    assert found.outcome == "impossible"
    assert found.clash == ("visits", "shared-trainer")


def test_the_judge_names_what_a_hand_typed_timetable_breaks() -> None:
    table = Timetable(visits=(Visit(block=0, group=0, stop="s0"), Visit(block=0, group=1, stop="s0")))
    rules = {breach.rule for breach in breaches(day(2, 1), table)}
    assert rules == {"capacity", "shared-trainer"}
    assert {b.rule for b in breaches(day(2, 2), table)} == {"visits", "capacity", "shared-trainer"}
