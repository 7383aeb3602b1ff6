"""How long `ready` takes for many attempts, and how much memory: `python tests/bench/bench_ready.py [ROWS ...]`.

Each size is read and reported in a process of its own, so that its peak memory is its own. Rows are invented from the
shipped curriculum: learners with about forty attempts a skill, mostly clean, with notes, some of them quoted. Cost a
row is processor time, which other programs on the machine disturb least; the limit is on the clock.
"""

from __future__ import annotations

import gc
import json
import random
import resource
import subprocess
import sys
import tempfile
import time
from datetime import date, timedelta
from pathlib import Path

ROOT = Path(__file__).parents[2]
SIZES = (10_000, 100_000, 1_000_000)
ON = date(2027, 12, 31)
LIMIT_SECONDS = 20.0
LIMIT_BYTES = 1_500_000_000


def write_rows(path: Path, rows: int) -> None:
    """A file of attempts with this many rows."""
    from generator.reading import read_curriculum

    curriculum, _ = read_curriculum(ROOT / "curriculum")
    assert curriculum is not None
    dice = random.Random(rows)
    spots = [
        (skill.id, plan.rung, plan.trainer, [step.id for step in skill.steps_on(plan)], [r.id for r in skill.roles])
        for skill in curriculum.skills.values()
        if skill.strand == "airway"
        for plan in skill.ladder
    ]
    learners = max(1, rows // 520)
    with path.open("w", encoding="utf-8", newline="") as out:
        out.write("date,learner,skill,rung,trainer,evaluator,role,team_role,attempt,revision,missed,unseen,note\r\n")
        for number in range(rows):
            skill, rung, trainer, steps, team = dice.choice(spots)
            on = date(2027, 1, 1) + timedelta(days=dice.randrange(360))
            missed = " ".join(dice.sample(steps, dice.randrange(1, 4))) if dice.random() < 0.3 else ""
            note = '"Hurried, then ""calm"" again."' if dice.random() < 0.05 else ""
            out.write(
                f"{on},L{dice.randrange(learners)},{skill},{rung},{trainer},E{dice.randrange(40)},"
                f"{'peer' if dice.random() < 0.7 else 'instructor'},{team[0] if team else ''},"
                f"a{number:07d},0a1b2c3d,{missed},,{note}\r\n"
            )


def measure(path: Path) -> dict[str, float]:
    """Read and report one file; seconds and bytes."""
    from generator.analysis.readiness import readiness_of
    from generator.reading import read_curriculum
    from generator.reading.attempts import read_attempts
    from generator.rendering.readiness import readiness_csv, readiness_text

    curriculum, _ = read_curriculum(ROOT / "curriculum")
    assert curriculum is not None
    gc.disable()  # as the command does
    start, busy = time.perf_counter(), time.process_time()
    found = read_attempts(path, curriculum, on=ON)
    read = time.perf_counter()
    readiness = readiness_of(curriculum, found.attempts, on=ON)
    judged = time.perf_counter()
    standings = list(readiness.standings.values())
    text = readiness_text(readiness, curriculum, standings) + readiness_csv(standings)
    end, used = time.perf_counter(), time.process_time() - busy
    assert found.rows == len(found.attempts) + len(found.set_aside) == readiness.rows
    return {
        "rows": found.rows,
        "standings": len(standings),
        "read": read - start,
        "judge": judged - read,
        "write": end - judged,
        "seconds": end - start,
        "processor": used,
        "microseconds_a_row": 1e6 * used / found.rows,
        "peak": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024,
        "characters": len(text),
    }


def main() -> int:
    """Measure each size and say whether the limits hold."""
    if sys.argv[1:2] == ["--measure"]:
        print(json.dumps(measure(Path(sys.argv[2]))))
        return 0
    sizes = [int(word) for word in sys.argv[1:]] or SIZES
    print("|      rows | standings | read s | judge s | write s | whole s | processor s | µs a row | peak MB |")
    print("|----------:|----------:|-------:|--------:|--------:|--------:|------------:|---------:|--------:|")
    is_within = True
    for rows in sizes:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "attempts.csv"
            write_rows(path, rows)
            done = subprocess.run(
                [sys.executable, __file__, "--measure", str(path)], capture_output=True, text=True, check=True
            )
        one = json.loads(done.stdout)
        forms = {"rows": "9,", "standings": "9,", "read": "6.2f", "judge": "7.2f", "write": "7.2f", "seconds": "7.2f"}
        forms |= {"processor": "11.2f", "microseconds_a_row": "8.1f"}
        cells = [format(one[name], form) for name, form in forms.items()]
        print(f"| {' | '.join(cells)} | {one['peak'] / 1e6:7.0f} |")
        is_within = is_within and one["seconds"] < LIMIT_SECONDS and one["peak"] < LIMIT_BYTES
    limits = f"{LIMIT_SECONDS:.0f} s and {LIMIT_BYTES / 1e6:.0f} MB"
    print(f"limits for 1,000,000 rows: {limits}; {'kept' if is_within else 'BROKEN'}")
    return 0 if is_within else 1


if __name__ == "__main__":
    sys.exit(main())
