"""How long rotations take and how good they are, in one run: `python tests/bench/bench_rotation.py`.

Six days of the sizes that a lab meets, with every rule and all four aims, and 36 invented days against a greedy
rotation. Each day is solved by one worker. The solver's own library is loaded first, which takes about half a second
once in a process; a day that the bounds settle does not need it.
"""

from __future__ import annotations

import random
import sys
from dataclasses import replace
from pathlib import Path
from statistics import mean, median
from time import perf_counter

from generator.analysis.rotation.day import Before, Day, Stop, Visit
from generator.analysis.rotation.rules import breaches
from generator.analysis.rotation.solve import Rotation, rotate

HERE = Path(__file__).parent
Row = tuple[str, ...]


def day(groups: int, stations: int, *, instructors: int, runs: int = 2) -> Day:
    """A day with a trainer for each station, and instructors who may each run so many neighbours."""
    stops = tuple(Stop(id=f"s{i}", trainer=f"t{i}") for i in range(stations))
    staff = {
        f"i{n}": frozenset(f"s{(n * stations // instructors + k) % stations}" for k in range(runs))
        for n in range(instructors)
    }
    return Day(
        group_sizes=(4,) * groups, stops=stops, trainers={stop.trainer: 1 for stop in stops}, instructors=staff,
        costliest=f"t{stations - 1}",
    )  # fmt: skip


def shared(units: int) -> Day:
    """30 groups, 10 stations, 10 instructors, two trainers shared by two stations each, four precedences."""
    asked = day(30, 10, instructors=10)
    pairs = (("s0", "s3"), ("s1", "s4"), ("s2", "s5"), ("s3", "s6"))
    before = tuple(
        Before(group=group, technique=f"technique-{then}", first=frozenset({first}), then=then)
        for group in asked.groups for first, then in pairs
    )  # fmt: skip
    both = {"s1": "t0", "s7": "t6"}
    stops = tuple(replace(stop, trainer=both.get(stop.id, stop.trainer)) for stop in asked.stops)
    return replace(asked, stops=stops, trainers={**asked.trainers, "t0": units, "t6": units}, before=before)


SIZES = (
    ("6 groups x 6 stations, 6 instructors", day(6, 6, instructors=6), 5.0, "proved < 0.5 s"),
    ("6 groups x 6 stations, 4 instructors", day(6, 6, instructors=4, runs=6), 20.0, "proved < 0.5 s"),
    ("12 x 8, 8 instructors", day(12, 8, instructors=8), 20.0, "proved < 2 s"),
    ("30 x 10, 10 instructors, 2 shared trainers (2 units), 4 precedences", shared(2), 14.0, "< 15 s"),
    ("30 x 10, the same, 1 unit of each shared trainer", shared(1), 14.0, "< 15 s"),
    ("100 x 15, 15 instructors", day(100, 15, instructors=15), 55.0, "within 2 % in 60 s"),
)


def greedy(asked: Day) -> int | None:
    """Blocks of a greedy rotation: in each block each group in turn takes the first free station that it may visit.

    What somebody with a pencil does. None when it is stuck.
    """
    stops = {stop.id: stop for stop in asked.stops}
    left = {group: {stop.id: stop.visits for stop in asked.stops} for group in asked.groups}
    table: list[Visit] = []
    for block in range(500):
        if not any(sum(mine.values()) for mine in left.values()):
            return block
        here: dict[str, int] = {}
        used: dict[str, int] = {}
        now: list[Visit] = []
        for group in asked.groups:
            seen = {visit.stop for visit in table if visit.group == group}
            for id, stop in stops.items():
                may = all(rule.then != id or rule.first & seen for rule in asked.before if rule.group == group)
                free = here.get(id, 0) < stop.units and used.get(stop.trainer, 0) < asked.trainers[stop.trainer]
                staffed = not asked.instructors or id in here or len(here) < len(asked.instructors)
                if left[group][id] and may and free and staffed and block >= stop.ready_from:
                    here[id], used[stop.trainer] = here.get(id, 0) + 1, used.get(stop.trainer, 0) + 1
                    left[group][id] -= 1
                    now.append(Visit(block=block, group=group, stop=id))
                    break
        if not now and block > 5:
            return None
        table += now
    return None


def invented(seed: int) -> Day:
    """A day of 4 to 12 groups and 4 to 10 stations with shared trainers, late stations and precedence."""
    rng = random.Random(seed)
    groups, stations = rng.randint(4, 12), rng.randint(4, 10)
    trainers = {f"t{i}": 1 for i in range(stations)}
    stops = []
    for i in range(stations):
        trainer = f"t{rng.randrange(i)}" if i and rng.random() < 0.15 else f"t{i}"
        stops.append(Stop(id=f"s{i}", trainer=trainer, ready_from=rng.choice((0, 0, 0, 0, 1))))
    rng.shuffle(stops)
    pairs = {(rng.randrange(i), i) for i in range(1, stations) if rng.random() < 0.3}
    before = tuple(
        Before(group=group, technique=f"technique-{then}", first=frozenset({f"s{first}"}), then=f"s{then}")
        for group in range(groups) for first, then in sorted(pairs)
    )  # fmt: skip
    staff = {f"i{n}": frozenset(f"s{i}" for i in range(stations)) for n in range(stations - rng.choice((0, 0, 1)))}
    return Day(
        group_sizes=(4,) * groups, stops=tuple(stops), trainers=trainers, instructors=staff, before=before,
        costliest="t0",
    )  # fmt: skip


def told(name: str, found: Rotation, seconds: float, goal: str) -> Row:
    """A row about one of the sizes."""
    aims = [f"{aim.value}{'' if aim.is_proved else f' (>= {aim.bound})'}" for aim in found.aims]
    return (name, *aims, "yes" if found.outcome == "best" else "no", f"{seconds:.2f}", goal)


def table(head: Row, rows: list[Row]) -> str:
    """A Markdown table."""
    lines = [head, tuple("---" for _ in head), *rows]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def main() -> None:
    """Run everything and print the report."""
    began = perf_counter()
    from ortools.sat.python import cp_model

    cp_model.CpModel()
    loading = perf_counter() - began
    rows = []
    for name, asked, limit, goal in SIZES:
        start = perf_counter()
        found = rotate(asked, seconds=limit)
        seconds = perf_counter() - start
        assert found.timetable is not None and not breaches(asked, found.timetable)
        rows.append(told(name, found, seconds, goal))
        print(rows[-1], file=sys.stderr)
    ratios, proved, times = [], 0, []
    stuck = 0
    for seed in range(36):
        asked = invented(seed)
        by_hand = greedy(asked)
        start = perf_counter()
        found = rotate(asked, seconds=3.0)
        times.append(perf_counter() - start)
        assert found.timetable is not None and not breaches(asked, found.timetable)
        proved += found.aims[0].is_proved
        if by_hand is None:
            stuck += 1
        else:
            ratios.append(found.timetable.blocks / by_hand)
    head = ("day", "blocks", "idle group-blocks", "moves", "costliest trainer's blocks", "all proved", "s", "goal")
    print(f"Loading the solver's library took {loading:.2f} s and is not in the times below.\n")
    print(table(head, rows))
    print(
        f"\n36 invented days against a greedy rotation: {mean(ratios):.2f} of its blocks on average (best "
        f"{min(ratios):.2f}, worst {max(ratios):.2f}), fewer on {sum(r < 1 for r in ratios)}, equal on "
        f"{sum(r == 1 for r in ratios)}, more on {sum(r > 1 for r in ratios)}; greedy got stuck on {stuck}. "
        f"Blocks were proved fewest on {proved} of 36. Median {median(times):.2f} s, longest {max(times):.2f} s, with "
        f"a limit of 3 s each.\n\nWhole run: {perf_counter() - began:.0f} s."
    )


if __name__ == "__main__":
    main()
