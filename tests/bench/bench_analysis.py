"""How long the whole analysis takes on a large invented lab: 100 trainers, 300 skills, 60 techniques, 20 lab days.

    python tests/bench/bench_analysis.py [REPEATS]

Prints medians in seconds. The goal is 2 s for everything, the solver's import included, which is why the first run is
timed apart. The lab is drawn with a fixed seed, so every run does the same work.
"""

from __future__ import annotations

import random
import statistics
import sys
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from small_labs import curriculum, lab, rung, skill, station, step, trainer

from generator.analysis.course import course_of
from generator.analysis.gaps import find_gaps
from generator.analysis.inventory import inventory_of
from generator.analysis.ladders import BestLadder, compare
from generator.analysis.wear import savings, wear_of
from generator.analysis.whole import analyse
from generator.model import Curriculum

GOAL_SECONDS = 2.0


def large_lab(
    *, trainers: int = 100, skills: int = 300, techniques: int = 60, labs: int = 20, seed: int = 1
) -> Curriculum:
    """Each trainer speaks of 15 techniques, each skill of 12 steps rests on 4 to 8; one trainer in five is for sale."""
    rng = random.Random(seed)
    names = [f"technique-{n}" for n in range(techniques)]
    devices = [f"device-{n}" for n in range(12)]
    worths = ("earned", "earned", "measured", "given", "silent")
    kinds = [
        trainer(
            f"trainer-{n}",
            # What the lab owns is silent about the last quarter of the techniques, so that there are gaps to close.
            " ".join(
                f"{name}:{rng.choice(worths)}"
                for name in rng.sample(names if n % 5 == 0 else names[: techniques * 3 // 4], 15)
            ),
            wear=f"{rng.random() * 5:.2f}",
            accepts=" ".join(device for device in devices if rng.random() < 0.7),
            units=0 if n % 5 == 0 else 1,
            setup=rng.randrange(20),
            buy=str(rng.randrange(100, 5000)),
            rated=1000,
        )
        for n in range(trainers)
    ]
    made = []
    for n in range(skills):
        rests = rng.sample(names, rng.randrange(4, 9))
        steps = [
            step(
                f"step-{m}",
                " ".join(dict.fromkeys((rests[m % len(rests)], rng.choice(rests)))),
                uses=rng.choice(devices) if rng.random() < 0.3 else "",
                critical=m < 9,
            )
            for m in range(12)
        ]
        ladder = tuple(rung(f"trainer-{k}") for k in rng.sample(range(trainers), 3))
        made.append(skill(f"skill-{n}", *steps, ladder=ladder))
    stations = [station(f"station-{n}", one.id, one.ladder[n % 3].trainer) for n, one in enumerate(made)]
    days = [
        lab(f"lab-{n:02}", " ".join(s.id for s in rng.sample(stations, 8)), day=7 * n, learners=32, group_size=4)
        for n in range(labs)
    ]
    return curriculum(*kinds, *made, *stations, *days, fitted=" ".join(devices))


def seconds(work: Callable[[], object], repeats: int) -> tuple[float, float]:
    """The median wall-clock and processor time of some repeats; they differ when the machine is busy with others."""
    times = []
    for _ in range(repeats):
        wall, processor = time.perf_counter(), time.process_time()
        work()
        times.append((time.perf_counter() - wall, time.process_time() - processor))
    return statistics.median(wall for wall, _ in times), statistics.median(processor for _, processor in times)


def main(repeats: int) -> int:
    """Print the table; exit code 1 when the goal is missed."""
    made = large_lab()
    first = seconds(lambda: analyse(made), 1)
    whole = seconds(lambda: analyse(made), repeats)
    inventory = inventory_of(made)
    results = [compare(made, inventory, one) for one in made.skills.values()]
    rungs = Counter(len(r.best.rungs) if isinstance(r.best, BestLadder) else 0 for r in results)
    rows = (
        ("whole analysis, first run (imports the solver)", first),
        ("whole analysis", whole),
        ("best ladders", seconds(lambda: [compare(made, inventory, one) for one in made.skills.values()], repeats)),
        ("gaps", seconds(lambda: find_gaps(made), repeats)),
        ("course", seconds(lambda: course_of(made), repeats)),
        ("wear", seconds(lambda: (wear_of(made), savings(made)), repeats)),
    )
    gaps, course = find_gaps(made), course_of(made)
    print(f"{'':50} {'wall s':>8} {'cpu s':>8}")
    for name, (wall, processor) in rows:
        print(f"{name:50} {wall:8.3f} {processor:8.3f}")
    print(
        f"rungs of the best ladders: {dict(sorted(rungs.items()))}; gaps {len(gaps.gaps)}, closed by "
        f"{len(gaps.cover.trainers)} kinds; carry-over findings {len(course.findings)}"
    )
    return int(first[1] > GOAL_SECONDS)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 5))
