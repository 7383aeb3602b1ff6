"""Two things in one record with the same id: two steps, two roles, two levels.

Why: ticks, sheets and ladders find a step by its id, so the second one would take the place of the first.

To put it right: give one of them another id.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date

from generator.diagnostics import Problem, Related
from generator.model import Curriculum

RULE = "id-repeated"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each id that an earlier one in the same list already has."""
    program = curriculum.program
    for field, listed in (
        ("levels", program.levels),
        ("rungs", program.rungs),
        ("strands", program.strands),
        ("populations", program.populations),
    ):
        yield from _repeats(curriculum, "program", "program", field, (named.id for named in listed))
    for skill in curriculum.skills.values():
        yield from _repeats(curriculum, "skill", skill.id, "steps", (step.id for step in skill.steps))
        yield from _repeats(curriculum, "skill", skill.id, "roles", (role.id for role in skill.roles))
    for standard in curriculum.standards.values():
        yield from _repeats(curriculum, "standard", standard.id, "outcomes", (one.id for one in standard.outcomes))
    for lab in curriculum.labs.values():
        yield from _repeats(curriculum, "lab", lab.id, "instructors", (one.id for one in lab.instructors))
        yield from _repeats(
            curriculum, "lab", lab.id, "stations", (stop.station for stop in lab.stations), key="station"
        )


def _repeats(
    curriculum: Curriculum, kind: str, owner: str, field: str, ids: Iterable[str], *, key: str = "id"
) -> Iterator[Problem]:
    first: dict[str, int] = {}
    whose = "the program" if kind == "program" else f"`{owner}`"
    for index, id in enumerate(ids):
        if id not in first:
            first[id] = index
            continue
        yield Problem(
            location=curriculum.at(kind, owner, field, index, key),
            rule=RULE,
            message=f"`{id}` stands twice among the {field} of {whose}.",
            remedy="Give one of them another id, or take one out.",
            related=(Related(location=curriculum.at(kind, owner, field, first[id], key), message="the first is here"),),
        )
