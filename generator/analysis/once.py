"""Answers about one record, worked out once for each object.

Records never change, so being the same object is enough. Their values are too large to be hashed at every question.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from generator.model.base import Record

R = TypeVar("R", bound=Record)
T = TypeVar("T")

MOST = 20_000
"""Records whose answers are held. A curriculum of a thousand skills has fewer of any kind."""


def once_each(function: Callable[[R], T]) -> Callable[[R], T]:
    """The same function, remembering its answer for each record object that it was asked about."""
    known: dict[int, tuple[R, T]] = {}

    def remembering(record: R) -> T:
        found = known.get(id(record))
        if found is None or found[0] is not record:
            if len(known) >= MOST:
                known.clear()
            found = known[id(record)] = (record, function(record))
        return found[1]

    return remembering
