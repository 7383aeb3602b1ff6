"""Skills that are prerequisites of each other, in a circle.

Why: a learner could never start any of them.

To put it right: take out one of the prerequisites that the message names.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from itertools import pairwise

from generator.diagnostics import Problem, Related
from generator.model import Curriculum

RULE = "prerequisite-circle"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """One problem a circle, at the prerequisite that closes it."""
    done: set[str] = set()
    for start in curriculum.skills:
        yield from _walk(curriculum, start, done)


def _walk(curriculum: Curriculum, start: str, done: set[str]) -> Iterator[Problem]:
    """Depth first without recursion, so that a chain of any length is followed."""
    way: list[str] = []
    ahead: list[tuple[str, int]] = [(start, 0)]
    while ahead:
        id, index = ahead.pop()
        if index == 0:
            if id in done:
                continue
            way.append(id)
        wanted = curriculum.skills[id].prerequisites if id in curriculum.skills else ()
        if index == len(wanted):
            way.pop()
            done.add(id)
            continue
        ahead.append((id, index + 1))
        if wanted[index] in way:
            yield _problem(curriculum, way[way.index(wanted[index]) :], index)
        elif wanted[index] in curriculum.skills:
            ahead.append((wanted[index], 0))


def _problem(curriculum: Curriculum, circle: list[str], index: int) -> Problem:
    if len(circle) == 1:
        message = f"`{circle[0]}` is a prerequisite of itself."
    else:
        message = "Prerequisites run in a circle: " + " needs ".join(f"`{id}`" for id in (*circle, circle[0])) + "."
    return Problem(
        location=curriculum.at("skill", circle[-1], "prerequisites", index),
        rule=RULE,
        message=message,
        remedy="Take out one of these prerequisites.",
        related=tuple(
            Related(
                location=curriculum.at("skill", id, "prerequisites"),
                message=f"`{id}` needs `{following}`",
            )
            for id, following in pairwise(circle)
        ),
    )
