"""From marks to attempts: one entry for each attempt of a learner at a skill, in the order in which they were made.

A file knows the day, not the hour. Attempts of one day are taken in the natural order of their ids (2 before 10).

When several evaluators marked one attempt, an instructor's marks decide over a peer's, and of equals the stricter: a
step that one of them saw missed is missed. Who the evaluator was plays no part, only the role.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from operator import attrgetter

from generator.model.attempt import Attempt

_DIGITS = re.compile(r"(\d+)")


def natural(text: str) -> tuple[tuple[int, int, str], ...]:
    """A key that sorts numbers inside a text by their value: a2 before a10, and before b1."""
    parts = _DIGITS.split(text)
    return tuple((0, int(part), part) if place % 2 else (1, 0, part) for place, part in enumerate(parts) if part)


def history_of(rows: Iterable[Attempt]) -> list[Attempt]:
    """The attempts of one learner at one skill, oldest first, each once. The same for any order of the rows."""
    by_day = sorted(rows, key=_day)
    found: list[Attempt] = []
    start = 0
    while start < len(by_day):
        end = start + 1
        while end < len(by_day) and by_day[end].on == by_day[start].on:
            end += 1
        if end - start == 1:
            found.append(by_day[start])
        else:
            found += _in_order(by_day[start:end])
        start = end
    return found


_day = attrgetter("on")


def _in_order(rows: Sequence[Attempt]) -> list[Attempt]:
    by_id: dict[str, list[Attempt]] = {}
    for row in rows:
        by_id.setdefault(row.attempt, []).append(row)
    return [_together(by_id[id]) for id in sorted(by_id, key=natural)]


def _together(rows: Sequence[Attempt]) -> Attempt:
    if len(rows) == 1:
        return rows[0]
    deciding = [row for row in rows if row.role == "instructor"] or list(rows)
    first = min(deciding, key=lambda row: (row.rung, row.trainer, row.missed, row.unseen))
    missed = _union(row.missed for row in deciding)
    return replace(
        first,
        missed=missed,
        unseen=tuple(step for step in _union(row.unseen for row in deciding) if step not in missed),
        failing=_union(row.failing for row in deciding),
    )


def _union(steps: Iterable[tuple[str, ...]]) -> tuple[str, ...]:
    return tuple(sorted({step for some in steps for step in some}))
