"""Sheets to finished PDFs, through the store, one by one or many at once."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable, Iterator, Mapping, Sequence
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
    return _by_key(Job(sheet=sheet, paper=paper), store, key_of(sheet, paper))


def _by_key(job: Job, store: Path, key: str) -> Typeset:
    return kept(store, key) or keep(store, key, set_sheet(job.sheet, job.paper))


def typeset_all(
    jobs: Sequence[Job],
    store: Path,
    workers: int = 1,
    progress: Progress | None = None,
) -> Iterator[Typeset]:
    """Finished sheets in the order of `jobs`. `progress` is told how many are done, and of how many."""
    keys = [key_of(job.sheet, job.paper) for job in jobs]
    missing: dict[str, Job] = {}
    if workers > 1:
        missing = {key: job for key, job in zip(keys, jobs, strict=True) if kept(store, key) is None}
    pooled = len(missing) >= POOL_PAYS_FROM
    made = _in_pool(dict(missing), store, workers) if pooled else iter(())
    for done, (key, job) in enumerate(zip(keys, jobs, strict=True), 1):
        is_pooled = pooled and missing.pop(key, None) is not None
        finished = next(made, None) if is_pooled else None
        yield finished if finished is not None else _by_key(job, store, key)
        if progress:
            progress(done, len(jobs))


def _in_pool(jobs: Mapping[str, Job], store: Path, workers: int) -> Iterator[Typeset]:
    """Results in order; ends early if the pool dies, and the caller does the rest itself."""
    # A fresh process, because a typesetter with threads of its own must not be forked.
    with ProcessPoolExecutor(workers, mp_context=multiprocessing.get_context("spawn")) as pool:
        results = pool.map(_by_key, jobs.values(), [store] * len(jobs), jobs, chunksize=4)
        for _ in range(len(jobs)):
            try:
                yield next(results)
            except BrokenProcessPool:
                break
