"""From marks to attempts: one entry for each attempt of a learner at a skill, in the order in which they were made.

A file knows the day, not the hour. Attempts of one day are taken in the natural order of their ids (2 before 10).

When several evaluators marked one attempt, an instructor's marks decide over a peer's, and of equals the stricter: a
step that one of them saw missed is missed. Who the evaluator was plays no part, only the role.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import date
from typing import NamedTuple

from generator.model.attempt import Attempt
from generator.model.skill import EvaluatorRole

_DIGITS = re.compile(r"(\d+)")


class Try(NamedTuple):
    """One attempt after all its marks were put together."""

    on: date
    attempt: str
    rung: str
    trainer: str
    role: EvaluatorRole
    missed: tuple[str, ...]
    unseen: tuple[str, ...]
    failing: tuple[str, ...]

    @property
    def is_clean(self) -> bool:
        """Whether every step was seen to be done."""
        return not self.missed and not self.unseen


def natural(text: str) -> tuple[tuple[int, int, str], ...]:
    """A key that sorts numbers inside a text by their value: a2 before a10, and before b1."""
    parts = _DIGITS.split(text)
    return tuple((0, int(part), part) if place % 2 else (1, 0, part) for place, part in enumerate(parts) if part)


def history_of(attempts: Iterable[Attempt]) -> list[Try]:
    """The attempts of one learner at one skill, oldest first. The same for any order of the rows."""
    rows = sorted(attempts, key=lambda a: a.on)
    tries: list[Try] = []
    start = 0
    while start < len(rows):
        end = start + 1
        while end < len(rows) and rows[end].on == rows[start].on:
            end += 1
        if end - start == 1:
            tries.append(_one(rows[start]))
        else:
            tries += _day(rows[start:end])
        start = end
    return tries


def _day(rows: Sequence[Attempt]) -> list[Try]:
    by_id: dict[str, list[Attempt]] = {}
    for row in rows:
        by_id.setdefault(row.attempt, []).append(row)
    return [_together(by_id[id]) for id in sorted(by_id, key=natural)]


def _one(row: Attempt) -> Try:
    return Try(row.on, row.attempt, row.rung, row.trainer, row.role, row.missed, row.unseen, row.failing)


def _together(rows: Sequence[Attempt]) -> Try:
    if len(rows) == 1:
        return _one(rows[0])
    deciding = [row for row in rows if row.role == "instructor"] or list(rows)
    first = min(deciding, key=lambda row: (row.rung, row.trainer, row.missed, row.unseen))
    missed = _union(row.missed for row in deciding)
    return first_with(
        _one(first),
        missed=missed,
        unseen=tuple(step for step in _union(row.unseen for row in deciding) if step not in missed),
        failing=_union(row.failing for row in deciding),
    )


def first_with(one: Try, *, missed: tuple[str, ...], unseen: tuple[str, ...], failing: tuple[str, ...]) -> Try:
    """The same attempt with other marks."""
    return one._replace(missed=missed, unseen=unseen, failing=failing)


def _union(steps: Iterable[tuple[str, ...]]) -> tuple[str, ...]:
    return tuple(sorted({step for some in steps for step in some}))
