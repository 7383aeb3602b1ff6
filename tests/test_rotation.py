"""The rotation against published bounds and against exhaustive search, and the judge against broken timetables."""

from __future__ import annotations

import itertools
import random
from collections import Counter
from dataclasses import replace

import pytest

from generator.analysis.rotation.bounds import least_blocks, least_costly, least_idle
from generator.analysis.rotation.clashing import Asked, clash_of
from generator.analysis.rotation.day import Before, Day, Fixed, Post, Stop, Timetable, Visit, bound
from generator.analysis.rotation.measure import costly_blocks, idle_blocks, instructor_moves
from generator.analysis.rotation.rounds import by_formula, in_rounds, takes_formula, takes_rounds
from generator.analysis.rotation.rules import RULES, breaches
from generator.analysis.rotation.solve import new_solver, rotate
from generator.analysis.rotation.uses import least_idle_by_uses

SECONDS = 60


def day(groups: int, stations: int, **more) -> Day:
    stops = tuple(Stop(id=f"s{i}", trainer=f"t{i}") for i in range(stations))
    return Day(group_sizes=(4,) * groups, stops=stops, trainers={stop.trainer: 1 for stop in stops}, **more)


def staff(count: int, stations: int) -> dict[str, frozenset[str]]:
    return {f"i{number}": frozenset(f"s{i}" for i in range(stations)) for number in range(count)}


def first_for_all(groups: int, stations: int) -> tuple[Before, ...]:
    return tuple(
        Before(group=g, technique="t", first=frozenset({"s0"}), then=f"s{s}")
        for g in range(groups)
        for s in range(1, stations)
    )


# Published bounds


@pytest.mark.parametrize(("groups", "stations"), [(1, 3), (3, 3), (5, 3), (3, 5), (9, 7), (12, 8), (7, 12)])
def test_unit_time_open_shop_needs_the_larger_of_groups_and_stations(groups: int, stations: int) -> None:
    # König 1916, edge colouring of bipartite graphs; Gonzalez and Sahni 1976, open shop.
    found = rotate(day(groups, stations), seconds=SECONDS)
    assert found.timetable is not None
    assert found.aims[0].value == found.aims[0].bound == max(groups, stations) == bound(day(groups, stations))
    assert breaches(day(groups, stations), found.timetable) == ()


@pytest.mark.parametrize(("groups", "stations", "instructors"), [(4, 4, 3), (6, 6, 4), (5, 3, 2), (4, 6, 5)])
def test_instructors_who_may_run_everything_bound_the_day_by_visits_over_instructors(
    groups: int, stations: int, instructors: int
) -> None:
    # König 1916: a bipartite graph of maximum degree d also has an edge colouring with k >= d colours whose classes
    # are of nearly equal size (de Werra 1971, McDiarmid 1972; value from memory), so ceil(edges / k) is reached.
    asked = day(groups, stations, instructors=staff(instructors, stations))
    found = rotate(asked, seconds=SECONDS)
    assert found.timetable is not None
    assert found.aims[0].value == max(groups, stations, -(-groups * stations // instructors))
    assert found.aims[0].is_proved
    assert breaches(asked, found.timetable) == ()


@pytest.mark.parametrize(("groups", "stations"), [(4, 3), (2, 5), (6, 4), (8, 8)])
def test_one_common_first_station_for_n_groups_and_m_stations_takes_n_plus_m_minus_one(
    groups: int, stations: int
) -> None:
    # A permutation flow shop's first machine: the last group starts in block n and then has m - 1 more (textbook
    # identity; value from memory).
    found = rotate(day(groups, stations, before=first_for_all(groups, stations)), seconds=SECONDS)
    assert found.timetable is not None
    assert found.aims[0].value == found.aims[0].bound == groups + stations - 1


def test_equal_jobs_on_equal_machines_wait_as_long_as_shortest_first_makes_them() -> None:
    # McNaughton 1959: with equal machines an interruption does not lower the sum of completion times (value from
    # memory). 30 groups with 10 visits at 10 stations are done after 10, 20 and 30 blocks: 600 blocks, 300 of them
    # waiting.
    found = rotate(day(30, 10), seconds=SECONDS)
    assert [(aim.value, aim.bound) for aim in found.aims[:2]] == [(30, 30), (300, 300)]


# Rounds


@pytest.mark.parametrize("stations", range(1, 10))
def test_the_formula_keeps_every_rule_and_meets_both_bounds(stations: int) -> None:
    for groups in range(stations, 4 * stations + 1):
        asked = day(groups, stations)
        assert takes_formula(asked)
        table = by_formula(asked)
        assert breaches(asked, table) == ()
        assert table.blocks == groups == least_blocks(asked)
        assert idle_blocks(asked, table) == least_idle(asked, groups)


def test_a_hundred_groups_at_fifteen_stations_wait_as_little_as_can_be() -> None:
    # By hand: 75 groups are done in five rounds of 15 blocks, 10 after block 90 and 15 after block 100, in which every
    # station was always in use: 15 (15 + 30 + 45 + 60 + 75) + 10 x 90 + 15 x 100 - 1500 visits.
    found = rotate(day(100, 15), seconds=SECONDS)
    assert [(aim.value, aim.bound) for aim in found.aims[:2]] == [(100, 100), (4275, 4275)]


def in_order(groups: int, stations: int, pairs: tuple[tuple[int, int], ...], **more) -> Day:
    before = tuple(
        Before(group=g, technique=f"t{then}", first=frozenset({f"s{first}"}), then=f"s{then}")
        for g in range(groups) for first, then in pairs
    )  # fmt: skip
    return day(groups, stations, before=before, **more)


def test_thirty_groups_with_four_orders_and_two_shared_trainers_are_proved() -> None:
    asked = in_order(30, 10, ((0, 3), (1, 4), (2, 5), (3, 6)))
    both = {"s1": "t0", "s7": "t6"}
    stops = tuple(replace(stop, trainer=both.get(stop.id, stop.trainer)) for stop in asked.stops)
    asked = replace(asked, stops=stops, trainers={**asked.trainers, "t0": 2, "t6": 2})
    found = rotate(asked, seconds=SECONDS)
    assert found.timetable is not None
    assert found.outcome == "best"
    assert breaches(asked, found.timetable) == ()
    assert [aim.value for aim in found.aims[:2]] == [32, 315]
    assert rotate(asked, seconds=SECONDS) == found


def test_rounds_keep_every_rule_and_wait_no_longer_than_the_bound() -> None:
    found = 0
    for seed in range(40):
        rng = random.Random(seed)
        stations = rng.randint(3, 6)
        pairs = tuple((rng.randrange(i), i) for i in range(1, stations) if rng.random() < 0.3)
        asked = in_order(stations * rng.randint(2, 3), stations, pairs)
        assert takes_rounds(asked)
        table = in_rounds(asked, new_solver(SECONDS, work=5.0))
        # A strict order of few stations may leave no pattern; then the search goes on without.
        if table is not None:
            found += 1
            assert breaches(asked, table) == ()
            assert idle_blocks(asked, table) <= least_idle(asked, table.blocks)
    assert found >= 30


@pytest.mark.parametrize(
    "asked",
    [
        day(4, 4, fixed=(Fixed(group=1, stop="s2", block=0),)),
        in_order(4, 4, ((0, 1),)),
        replace(day(4, 4), trainers={f"t{i}": int(i != 2) for i in range(4)}),
        day(4, 4, instructors=staff(3, 4)),
        day(3, 4),
    ],
)
def test_the_formula_is_for_plain_days_only(asked: Day) -> None:
    assert not takes_formula(asked)


# Exhaustive search


def best_by_trying(asked: Day) -> tuple[int, int, int] | None:
    """Blocks, waiting and moves of the best timetable, by trying every block of every timetable."""
    stops = {stop.id: stop for stop in asked.stops}
    start = tuple(frozenset(stops) for _ in asked.groups), tuple(None for _ in asked.instructors)
    layer = {start: (0, 0)}
    for block in range(12):
        done = [cost for (left, _), cost in layer.items() if not any(left)]
        if done:
            waiting, moves = min(done)
            return block, waiting - sum(len(stops) for _ in asked.groups), moves
        following: dict[object, tuple[int, int]] = {}
        for (left, places), (waiting, moves) in layer.items():
            busy = sum(bool(mine) for mine in left)
            for choice in itertools.product(*([None, *sorted(mine)] for mine in left)):
                if not allowed(asked, stops, left, choice, block):
                    continue
                after = tuple(mine - {stop} for mine, stop in zip(left, choice, strict=True))
                for where, moved in postings(asked, {stop for stop in choice if stop}, places):
                    cost = (waiting + busy, moves + moved)
                    key = (after, where)
                    if key not in following or cost < following[key]:
                        following[key] = cost
        layer = following
    return None


def allowed(asked: Day, stops, left, choice, block: int) -> bool:
    here = Counter(stop for stop in choice if stop)
    used: Counter[str] = Counter()
    for stop, groups in here.items():
        if groups > stops[stop].units or block < stops[stop].ready_from:
            return False
        used[stops[stop].trainer] += groups
    if any(units > asked.trainers[trainer] for trainer, units in used.items()):
        return False
    return not any(
        choice[rule.group] == rule.then and rule.first <= left[rule.group] for rule in asked.before
    )


def postings(asked: Day, stops, places):
    """Every way to run the stations in use, with each instructor's place after it and the moves that it costs."""
    if not asked.instructors:
        yield places, 0
        return
    for names in itertools.permutations(range(len(places)), len(stops)):
        posts = dict(zip(names, sorted(stops), strict=True))
        if all(stop in list(asked.instructors.values())[name] for name, stop in posts.items()):
            where = tuple(posts.get(name, place) for name, place in enumerate(places))
            yield where, sum(places[name] not in (None, stop) for name, stop in posts.items())


def random_day(rng: random.Random, *, instructors: int = 0) -> Day:
    groups, stations = rng.randint(2, 3), rng.randint(2, 3 if instructors else 4)
    trainers = {f"t{i}": rng.choice((1, 1, 2)) for i in range(stations)}
    stops = tuple(
        Stop(
            id=f"s{i}",
            trainer=rng.choice(list(trainers)) if rng.random() < 0.4 else f"t{i}",
            units=rng.choice((1, 1, 2)),
            ready_from=rng.choice((0, 0, 0, 1)),
        )
        for i in range(stations)
    )
    def some_of(count: int) -> frozenset[str]:
        return frozenset(f"s{i}" for i in rng.sample(range(count), rng.randint(1, count)))

    before = tuple(
        Before(group=group, technique="t", first=some_of(then), then=f"s{then}")
        for group in range(groups) for then in range(1, stations) if rng.random() < 0.4
    )  # fmt: skip
    names = {
        f"i{number}": frozenset(stop.id for stop in stops if rng.random() < 0.7 or number == 0)
        for number in range(instructors)
    }
    return Day(
        group_sizes=(4,) * groups, stops=stops, trainers=trainers, before=before, instructors=names,
        costliest=rng.choice(list(trainers)),
    )  # fmt: skip


@pytest.mark.parametrize("seed", range(60))
def test_blocks_and_waiting_are_those_of_the_best_of_all_timetables(seed: int) -> None:
    asked = random_day(random.Random(seed))
    best = best_by_trying(asked)
    found = rotate(asked, seconds=SECONDS)
    assert best is not None
    assert found.timetable is not None
    assert found.outcome == "best"
    assert breaches(asked, found.timetable) == ()
    assert [aim.value for aim in found.aims[:2]] == list(best[:2])
    assert least_blocks(asked) <= best[0]
    assert least_idle(asked, best[0]) <= best[1]
    assert found.aims[3].value == costly_blocks(asked, found.timetable) >= least_costly(asked, best[0])


def queue_day(rng: random.Random) -> Day:
    """Groups that queue for one trainer of several stations, with an order among the stations."""
    groups, stations = rng.randint(2, 3), rng.randint(3, 4)
    shared_by = rng.randint(2, stations - 1)
    stops = [Stop(id=f"s{i}", trainer="t" if i < shared_by else f"t{i}") for i in range(stations)]
    rng.shuffle(stops)
    pairs = [(a.id, b.id) for a, b in itertools.combinations(stops, 2) if rng.random() < 0.4]
    before = tuple(
        Before(group=g, technique=f"{first}{then}", first=frozenset({first}), then=then)
        for g in range(groups) for first, then in pairs if rng.random() < 0.9
    )  # fmt: skip
    return Day(
        group_sizes=(4,) * groups, stops=tuple(stops), before=before,
        trainers={stop.trainer: rng.choice((1, 1, 2)) if stop.trainer == "t" else 1 for stop in stops},
    )  # fmt: skip


def test_the_bound_by_uses_is_never_above_the_best_of_all_timetables() -> None:
    closer = 0
    for seed in range(60):
        asked = queue_day(random.Random(seed))
        best = best_by_trying(asked)
        assert best is not None
        blocks, waiting, _ = best
        least = least_idle_by_uses(asked, blocks, new_solver(SECONDS, work=5.0))
        assert least <= waiting
        closer += least > least_idle(asked, blocks)
    # It is of use: on some of these days it says more than the other bound.
    assert closer >= 3


def test_the_last_of_several_visits_needs_nothing_after_it() -> None:
    # By hand: group 1 is at s0, s1, s0 in blocks 1 to 3 and group 2 in blocks 2 to 4, so s0 is used once in each of the
    # 4 blocks, and no day is shorter.
    asked = in_order(2, 2, ((0, 1),))
    asked = replace(asked, stops=(replace(asked.stops[0], visits=2), asked.stops[1]))
    visits = [(0, 0, "s0"), (1, 0, "s1"), (2, 0, "s0"), (1, 1, "s0"), (2, 1, "s1"), (3, 1, "s0")]
    table = Timetable(visits=tuple(sorted(Visit(block=b, group=g, stop=s) for b, g, s in visits)))
    assert breaches(asked, table) == ()
    assert least_blocks(asked) == table.blocks == 4
    assert least_idle_by_uses(asked, 4, new_solver(SECONDS)) == 0
    assert least_idle(asked, 4) <= idle_blocks(asked, table) == 1


@pytest.mark.parametrize("seed", range(40))
def test_moves_are_those_of_the_best_of_all_timetables(seed: int) -> None:
    asked = random_day(random.Random(1000 + seed), instructors=2)
    best = best_by_trying(asked)
    found = rotate(asked, seconds=SECONDS)
    assert best is not None
    assert found.timetable is not None
    assert breaches(asked, found.timetable) == ()
    assert found.outcome == "best"
    assert [aim.value for aim in found.aims[:3]] == list(best)


# The aims are counted from the timetable


def test_the_aims_are_what_the_timetable_costs() -> None:
    asked = day(6, 6, instructors=staff(4, 6), costliest="t2")
    found = rotate(asked, seconds=SECONDS)
    assert found.timetable is not None
    table = found.timetable
    counted = (table.blocks, idle_blocks(asked, table), instructor_moves(asked, table), costly_blocks(asked, table))
    assert tuple(aim.value for aim in found.aims) == counted
    assert found.outcome == "best"


@pytest.mark.parametrize("asked", [day(6, 6, instructors=staff(4, 6)), day(5, 4, before=first_for_all(5, 4))])
def test_the_same_day_gives_the_same_timetable(asked: Day) -> None:
    assert rotate(asked, seconds=SECONDS) == rotate(asked, seconds=SECONDS)


# The judge

FULL = Day(
    group_sizes=(4, 4),
    stops=(
        Stop(id="s0", trainer="t0", ready_from=0),
        Stop(id="s1", trainer="t1", ready_from=1, rest=1),
        Stop(id="s2", trainer="t0"),
    ),
    trainers={"t0": 1, "t1": 1},
    instructors={"i0": frozenset({"s0", "s2"}), "i1": frozenset({"s1"}), "i2": frozenset({"s2", "s1"})},
    learners_per_instructor=4,
    before=(Before(group=0, technique="seal", first=frozenset({"s0"}), then="s1"),),
    fixed=(Fixed(group=1, stop="s2", block=0),),
    most_blocks=4,
)
GOOD = Timetable(
    visits=tuple(
        sorted(
            Visit(block=b, group=g, stop=s)
            for b, g, s in [(1, 0, "s0"), (2, 0, "s2"), (3, 0, "s1"), (0, 1, "s2"), (1, 1, "s1"), (3, 1, "s0")]
        )
    ),
    posts=tuple(
        sorted(
            Post(block=b, instructor=i, stop=s)
            for b, i, s in [(0, "i2", "s2"), (1, "i0", "s0"), (1, "i1", "s1"), (2, "i2", "s2"), (3, "i0", "s0"),
                            (3, "i1", "s1")]
        )
    ),
)  # fmt: skip


def visited(**change: tuple[int, int, str]) -> Timetable:
    """GOOD with visits taken out, put in, or both; `i0` and so on number the sorted visits."""
    visits = list(GOOD.visits)
    for name, (block, group, stop) in change.items():
        new = Visit(block=block, group=group, stop=stop)
        if name.startswith("add"):
            visits.append(new)
        else:
            visits[int(name.removeprefix("at"))] = new
    return replace(GOOD, visits=tuple(sorted(visits)))


def posted(*posts: tuple[int, str, str], without: int | None = None) -> Timetable:
    kept = [post for number, post in enumerate(GOOD.posts) if number != without]
    return replace(GOOD, posts=tuple(sorted([*kept, *(Post(block=b, instructor=i, stop=s) for b, i, s in posts)])))


MUTATIONS = {
    "visits": (replace(GOOD, visits=GOOD.visits[:-1]), FULL),
    "one-place": (visited(add=(1, 0, "s2")), FULL),
    "capacity": (visited(add=(1, 0, "s1")), FULL),
    "shared-trainer": (visited(add=(3, 1, "s2")), FULL),
    "instructor-present": (posted(without=0), FULL),
    "instructor-ratio": (GOOD, replace(FULL, learners_per_instructor=3)),
    "instructor-qualified": (posted((2, "i1", "s2")), FULL),
    "instructor-place": (posted((3, "i1", "s0")), FULL),
    "set-up": (visited(at2=(0, 1, "s1")), FULL),
    "rest": (visited(at5=(2, 0, "s1")), FULL),
    "fixed": (GOOD, replace(FULL, fixed=(Fixed(group=0, stop="s0", block=3),))),
    "honest-first": (visited(at1=(3, 0, "s0"), at5=(1, 0, "s1")), FULL),
    "day-length": (GOOD, replace(FULL, most_blocks=3)),
}


def test_the_unbroken_timetable_is_accepted() -> None:
    assert breaches(FULL, GOOD) == ()


def test_there_is_a_mutation_for_every_rule() -> None:
    assert set(MUTATIONS) == {rule.name for rule in RULES}


@pytest.mark.parametrize("rule", MUTATIONS)
def test_the_judge_names_the_rule_that_a_broken_timetable_breaks(rule: str) -> None:
    table, asked = MUTATIONS[rule]
    found = breaches(asked, table)
    assert rule in {breach.rule for breach in found}
    assert all(breach.what for breach in found)


def test_the_solver_keeps_every_rule_of_a_day_that_has_them_all() -> None:
    found = rotate(FULL, seconds=SECONDS)
    assert found.timetable is not None
    assert breaches(FULL, found.timetable) == ()
    assert found.outcome == "best"


# Impossible days


def test_an_impossible_day_names_the_requirements_that_clash() -> None:
    asked = replace(day(1, 1), trainers={"t0": 0})
    assert rotate(asked, seconds=10).outcome == "impossible"
    assert clash_of(asked) == (Asked(rule="visits", subject="s0"), Asked(rule="shared-trainer", subject="t0"))


def test_a_day_that_is_too_short_clashes_with_its_end_and_as_few_stations_as_do_it() -> None:
    asked = day(3, 4, most_blocks=2)
    found = clash_of(asked)
    assert rotate(asked, seconds=10).outcome == "impossible"
    # Three stations are more than a group can visit in two blocks; the fourth need not be named.
    assert [one.rule for one in found] == ["visits", "visits", "visits", "day-length"]


def test_fixed_visits_that_clash_are_named_by_their_number() -> None:
    fixed = tuple(Fixed(group=g, stop="s1", block=0) for g in (0, 1))
    found = clash_of(day(2, 2, fixed=fixed))
    assert {one.subject for one in found if one.rule == "fixed"} == {"0", "1"}


@pytest.mark.parametrize("seed", range(12))
def test_a_day_one_block_too_short_clashes_with_its_end(seed: int) -> None:
    asked = random_day(random.Random(seed))
    best = best_by_trying(asked)
    assert best is not None
    short = replace(asked, most_blocks=best[0] - 1)
    assert rotate(short, seconds=SECONDS).outcome == "impossible"
    assert Asked(rule="day-length", subject="") in clash_of(short)
    assert clash_of(replace(asked, most_blocks=best[0])) == ()


def test_a_possible_day_has_no_clash() -> None:
    assert clash_of(day(2, 2)) == ()


# What if


def test_little_changes_from_the_given_timetable() -> None:
    asked = day(4, 4)
    before = rotate(asked, seconds=SECONDS).timetable
    assert before is not None
    # The same day again changes nothing; a fifth group leaves all visits where they were.
    same = rotate(asked, seconds=SECONDS, near=before)
    assert same.timetable is not None
    assert same.timetable.visits == before.visits
    more = rotate(day(5, 4), seconds=SECONDS, near=before)
    assert more.timetable is not None
    assert more.timetable.blocks == 5
    assert set(before.visits) - set(more.timetable.visits) == set() or more.aims[1].value <= 4
    assert more.aims[1].is_proved
