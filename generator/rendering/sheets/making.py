"""Sheets to finished PDFs, through the store, one by one or many at once."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path

from generator.model import Paper
from generator.rendering.sheets.sheet import Job, Sheet, Typeset
from generator.rendering.sheets.store import keep, kept, key_of
from generator.rendering.sheets.typesetter import set_sheet

Progress = Callable[[int, int], None]
"""Told how many are done, and of how many."""
POOL_PAYS_FROM = 40
"""Fewer sheets than this are done before other processes have started."""


def typeset(sheet: Sheet, paper: Paper, store: Path) -> Typeset:
    """A finished sheet, from the store when nothing that it depends on has changed."""
    key = key_of(sheet, paper)
    made = kept(store, key)
    if made is None:
        made = keep(store, key, set_sheet(sheet, paper))
    return made


def typeset_all(
    jobs: Sequence[Job],
    store: Path,
    workers: int = 1,
    progress: Progress | None = None,
) -> Iterator[Typeset]:
    """Finished sheets in the order of `jobs`. `progress` is told how many are done, and of how many."""
    missing: dict[str, Job] = {}
    if workers > 1:
        missing = {key: job for job in jobs if kept(store, key := key_of(job.sheet, job.paper)) is None}
    pooled = len(missing) >= POOL_PAYS_FROM
    made = _in_pool(tuple(missing.values()), store, workers) if pooled else iter(())
    for done, job in enumerate(jobs, 1):
        is_pooled = pooled and missing.pop(key_of(job.sheet, job.paper), None) is not None
        finished = next(made, None) if is_pooled else None
        yield finished if finished is not None else typeset(job.sheet, job.paper, store)
        if progress:
            progress(done, len(jobs))


def _in_pool(jobs: Sequence[Job], store: Path, workers: int) -> Iterator[Typeset]:
    """Results in order; ends early if the pool dies, and the caller does the rest itself."""
    # A fresh process, because a typesetter with threads of its own must not be forked.
    with ProcessPoolExecutor(workers, mp_context=multiprocessing.get_context("spawn")) as pool:
        results = pool.map(_one, jobs, [store] * len(jobs), chunksize=4)
        for _ in jobs:
            try:
                yield next(results)
            except BrokenProcessPool:
                break


def _one(job: Job, store: Path) -> Typeset:
    return typeset(job.sheet, job.paper, store)
