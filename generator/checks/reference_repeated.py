"""The same id twice in one list, such as one source cited twice for one claim.

Why: the page would print it twice, and one of the two is often a slip for another id.

To put it right: take one out, or write the id that was meant.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.checks.support.references import Reference, references
from generator.diagnostics import Problem, Related, Severity
from generator.model import Curriculum

RULE = "reference-repeated"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each id that its own list already holds."""
    first: dict[tuple[object, ...], Reference] = {}
    for reference in references(curriculum):
        if not reference.path or not isinstance(reference.path[-1], int) or reference.wanted == "stop":
            continue  # not in a list of ids, or an order of visits, where coming back is meant
        field = reference.path[-2] if len(reference.path) > 1 else ""
        if field not in LISTS:
            continue
        earlier = first.setdefault((reference.owner, reference.owner_id, reference.path[:-1], reference.id), reference)
        if earlier is reference:
            continue
        yield Problem(
            location=reference.at(curriculum),
            rule=RULE,
            message=f"`{reference.id}` stands twice in this list of {field}.",
            remedy="Take one out, or write the id that was meant.",
            severity=Severity.WARNING,
            related=(Related(location=earlier.at(curriculum), message="the first is here"),),
        )


LISTS = frozenset({
    "accepts", "equipment", "evidence", "levels", "levels_evidence", "populations", "prerequisites", "rests_on",
    "runs", "skills", "sources", "steps", "uses",
})  # fmt: skip
"""Fields that hold ids only. In a text field, naming one quantity twice is fine."""
