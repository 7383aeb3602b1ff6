"""Work that several rules need from one curriculum, done once."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from generator.model import Curriculum

T = TypeVar("T")

_held: list[list[Any]] = []


def forget() -> None:
    """Let go of the last curriculum and of all that was worked out about it."""
    for last in _held:
        last.clear()


def kept(function: Callable[[Curriculum], T]) -> Callable[[Curriculum], T]:
    """The same function, remembering its answer for the curriculum that it saw last.

    A curriculum never changes after reading, so being the same object is enough. Only the last one is held.
    """
    last: list[tuple[Curriculum, T]] = []
    _held.append(last)

    def remembering(curriculum: Curriculum) -> T:
        if last and last[0][0] is curriculum:
            return last[0][1]
        answer = function(curriculum)
        last[:] = [(curriculum, answer)]
        return answer

    return remembering
