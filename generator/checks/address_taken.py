"""An id, or a page written by hand, whose address another page of the handbook has already.

Why: the page of a trainer called `worth` would stand where the page on the trainers' worth stands, and one of the two
would be gone without a word.

To put it right: give the record another id and its file the same name, or rename the page.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.analysis.addresses import Address, addresses
from generator.checks.support.texts import prose_at
from generator.diagnostics import Problem, Related
from generator.model import Curriculum

RULE = "address-taken"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each record or written page that would take a page's place."""
    first: dict[str, Address] = {}
    for page in addresses(curriculum):
        other = first.setdefault(page.path, page)
        if other is page:
            continue
        whose = f"the {_called(other)} `{other.id}`" if other.kind else "the handbook itself"
        yield Problem(
            location=curriculum.at(page.kind, page.id, "id"),
            rule=RULE,
            message=f"The page of `{page.id}` would stand at `{page.path}`, which is a page of {whose}.",
            remedy=f"Give this {_called(page)} another id, and its file the same name.",
            related=(Related(location=curriculum.at(other.kind, other.id, "id"), message="the other is here"),)
            if other.kind
            else (),
        )
    for path in curriculum.prose:
        if path in first:
            yield Problem(
                location=prose_at(curriculum, path, 0),
                rule=RULE,
                message=f"The handbook writes a page at `{path}` itself, so this one would never be seen.",
                remedy="Give the file another name.",
            )


def _called(page: Address) -> str:
    return {"lab": "lab day"}.get(page.kind, page.kind)
