"""Many pieces of work on one curriculum in a few processes."""

from __future__ import annotations

import multiprocessing
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from typing import Any, TypeVar

T = TypeVar("T")

_work: Sequence[Callable[[], Any]] = ()
"""What child processes find when they begin: a child that is forked has all that was read before it."""


def together(work: Sequence[Callable[[], T]], *, processes: int) -> Iterator[T]:
    """The result of each piece, in order. The pieces are shared out in turn, and this process does its share.

    Only their results travel between processes, so a piece may hold a curriculum of any size. Where a process cannot be
    forked, or another thread is running that a child would do without, the pieces run here one after another.
    """
    global _work  # noqa: PLW0603 - the only thing that a forked child can see
    if processes < 2 or "fork" not in multiprocessing.get_all_start_methods() or threading.active_count() > 1:
        yield from (piece() for piece in work)
        return
    shares = [range(first, len(work), processes) for first in range(processes)]
    _work = work
    try:
        with ProcessPoolExecutor(processes - 1, mp_context=multiprocessing.get_context("fork")) as pool:
            others = [pool.submit(_share, share) for share in shares[1:]]
            results = {index: work[index]() for index in shares[0]}
            for other in others:
                results.update(other.result())
    finally:
        _work = ()
    yield from (results[index] for index in range(len(work)))


def _share(indexes: range) -> dict[int, Any]:
    return {index: _work[index]() for index in indexes}
