"""A source without the parts that a reader needs to find it.

Why: a reference that cannot be found supports nothing. The parts asked for follow what the United States National
Library of Medicine's guide for authors (Citing Medicine, 2nd edition) calls required for each type; value from memory.

To put it right: add the fields that the message names, or change `type`; where they were looked for and cannot be
found, say so in `custom.incomplete_because`, which is printed with the reference.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.checks.support.nearest import in_words
from generator.diagnostics import Problem, Severity
from generator.model import Curriculum, Source

RULE = "citation-incomplete"

WHO = ("author", "editor", "authority", "publisher")
PLACE_IN_JOURNAL = ("volume", "page", "number", "DOI", "PMID", "URL")
FINDABLE = ("publisher", "URL", "DOI", "ISBN")

REQUIRED: dict[str, tuple[tuple[str, ...], ...]] = {
    "article-journal": (("author", "editor"), ("issued",), ("container-title",), PLACE_IN_JOURNAL),
    "article-magazine": (("issued",), ("container-title",)),
    "article-newspaper": (("issued",), ("container-title",)),
    "book": (("author", "editor"), ("issued",), ("publisher",)),
    "chapter": (("author", "editor"), ("issued",), ("container-title",), ("publisher",)),
    "paper-conference": (("author", "editor"), ("issued",), ("container-title", "event")),
    "thesis": (("author",), ("issued",), ("publisher",)),
    "report": (WHO, ("issued",), FINDABLE),
    "standard": (WHO, ("issued",), ("number",)),
    "legislation": (("issued",), ("number", "URL", "container-title")),
    "regulation": (("issued",), ("number", "URL", "container-title")),
    "webpage": ((*WHO, "container-title"), ("URL",), ("accessed",)),
    "post": ((*WHO, "container-title"), ("URL",), ("accessed",)),
    "post-weblog": ((*WHO, "container-title"), ("URL",), ("accessed",)),
}
"""For each type, the fields of which one in each group must be there."""
OTHERWISE: tuple[tuple[str, ...], ...] = (WHO, ("issued",))


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """One problem a source, naming every missing part."""
    for id, source in curriculum.sources.items():
        if source.custom.incomplete_because is not None:
            continue
        missing = [group for group in REQUIRED.get(source.type, OTHERWISE) if not any(_has(source, f) for f in group)]
        if missing:
            yield Problem(
                location=curriculum.at("source", id),
                rule=RULE,
                message=f"The {source.type} `{id}` lacks {in_words(group[0] for group in missing)}.",
                remedy="Add "
                + "; and ".join(" or ".join(f"`{field}`" for field in group) for group in missing)
                + "; or say in `incomplete_because` why it cannot be found.",
                severity=Severity.WARNING,
            )


def _has(source: Source, field: str) -> bool:
    value = getattr(source, field.replace("-", "_"), None)
    if field in ("issued", "accessed"):
        return value is not None and bool(value.year or value.raw or value.literal)
    return bool(value)
