"""Read drawn marks on real sheets after every kind of wear: wrong and doubtful decisions, unread pages, pages a second.

    python tests/bench/bench_scans.py [--sheets 2000] [--seed 9] [--workers 2]

Sheets are the shipped checklists on both papers; marks are drawn by `tests/scans/pens.py` and worn by
`tests/scans/wear.py`. The seed is not one that the network was trained with. Wear that was never tuned on is reported
apart. A decision is wrong when the reader was sure and the box holds something else than was drawn.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from functools import cache
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pypdfium2

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests" / "scans"))
import pens  # noqa: E402
import wear  # noqa: E402

from generator.reading import read_curriculum  # noqa: E402
from generator.reading.scans.pictures import Picture  # noqa: E402
from generator.reading.scans.sheets import ReadPage, read_page  # noqa: E402
from generator.rendering.sheets import Job, sheets_of, typeset_all  # noqa: E402

SCALE = 300 / 25.4
STORE = Path(".rungbook/store")
WEAR = {**wear.TUNED_ON, **wear.NEVER_TUNED_ON}


@cache
def prints() -> tuple[tuple[Any, dict[str, Any]], ...]:
    """Every fourth checklist on both papers: its pages at 300 dpi, and its geometry."""
    curriculum, _ = read_curriculum(ROOT / "curriculum")
    assert curriculum is not None
    chosen = [sheet for sheet in sheets_of(curriculum) if sheet.kind == "checklist"][::4]
    jobs = [Job(sheet=sheet, paper=paper) for sheet in chosen for paper in ("a4", "us-letter")]
    found = []
    for made in typeset_all(jobs, store=STORE):
        document = pypdfium2.PdfDocument(made.pdf)
        pages = [document[n].render(scale=300 / 72, grayscale=True).to_numpy().squeeze() for n in range(len(document))]
        found.append((pages, made.geometry))
    return tuple(found)


def marked(number: int, seed: int) -> tuple[np.ndarray[Any, Any], dict[str, str], dict[str, Any], str]:
    """One marked and worn page: the picture, what was drawn in each box, its geometry, and the wear."""
    rng = np.random.default_rng([seed, number])
    pages, geometry = prints()[number % len(prints())]
    page = int(rng.integers(0, len(pages)))
    ink = np.zeros(pages[page].shape, np.float32)
    drawn: dict[str, str] = {}
    pen = pens.any_pen(rng)  # one pen a sheet, and now and then another
    for place in geometry["places"]:
        if place["sort"] != "box" or place["page"] != page + 1:
            continue
        at = (place["x"], place["y"], place["width"])
        kind = str(rng.choice(pens.KINDS, p=(0.32, 0.5, 0.1, 0.08)))
        drawn[place["what"]] = kind
        pens.mark(ink, at, kind, scale=SCALE, rng=rng, pen=pen if rng.random() < 0.9 else pens.any_pen(rng))
        if rng.random() < 0.1:
            pens.stray(ink, at, scale=SCALE, rng=rng, pen=pens.any_pen(rng))
    name = list(WEAR)[number % len(WEAR)]
    return WEAR[name]((pages[page] * (1 - ink)).astype(np.uint8), rng), drawn, geometry, name


def one(job: tuple[int, int]) -> tuple[str, Counter[str], float]:
    """Counts of one sheet, and the seconds that reading it took."""
    cv2.setNumThreads(1)
    gray, drawn, geometry, name = marked(*job)
    known = {(geometry["kind"], geometry["id"], geometry["revision"], geometry["paper"]): geometry}
    started = time.perf_counter()
    page = read_page(Picture(file="bench", page=1, gray=gray), known)
    seconds = time.perf_counter() - started
    counts: Counter[str] = Counter(pages=1)
    if not isinstance(page, ReadPage):
        counts["unread"] += 1
        return name, counts, seconds
    for box in page.boxes:
        counts["boxes"] += 1
        if not box.is_sure:
            counts["doubtful"] += 1
        elif box.held.value != drawn[box.what]:
            counts["wrong"] += 1
            counts[f"wrong {drawn[box.what]} as {box.held.value}"] += 1
    return name, counts, seconds


def main() -> None:
    """Run and print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sheets", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=9)
    parser.add_argument("--workers", type=int, default=2)
    options = parser.parse_args()
    prints()
    total: dict[str, Counter[str]] = {name: Counter() for name in WEAR}
    spent = 0.0
    started = time.perf_counter()
    with ProcessPoolExecutor(options.workers) as pool:
        for name, counts, seconds in pool.map(one, [(n, options.seed) for n in range(options.sheets)], chunksize=8):
            total[name] += counts
            spent += seconds
    for title, names in (("tuned on", wear.TUNED_ON), ("never tuned on", wear.NEVER_TUNED_ON)):
        print(f"\n| wear ({title}) | sheets | unread | boxes | doubtful | wrong |")
        print("|---|---|---|---|---|---|")
        sums: Counter[str] = Counter()
        for name in names:
            sums += total[name]
            print(_row(name, total[name]))
        print(_row("all", sums))
        for what, count in sorted(sums.items()):
            if what.startswith("wrong "):
                print(f"  {what}: {count}")
    print(f"\n{options.sheets / spent:.1f} pages a second on one core, {options.workers} workers at work")
    print(f"drawing, wearing and reading together took {time.perf_counter() - started:.0f} s")


def _row(name: str, counts: Counter[str]) -> str:
    boxes = max(counts["boxes"], 1)
    return (
        f"| {name} | {counts['pages']} | {counts['unread']} | {counts['boxes']} "
        f"| {counts['doubtful'] / boxes:.2%} | {counts['wrong']} |"
    )


if __name__ == "__main__":
    main()
