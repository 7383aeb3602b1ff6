"""A source that is cited although a newer edition has taken its place.

Why: guidelines change numbers between editions, and a handbook that cites the old one goes on teaching them.

To put it right: read the newer one and cite it; or, where the old one is cited on purpose, say why in
`custom.kept_because`.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.analysis.currency import newest_editions, superseded_by
from generator.checks.support.references import references
from generator.diagnostics import Problem, Related, Severity
from generator.model import Curriculum

RULE = "citation-superseded"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each cited source with a newer edition and no reason; where it is first cited is named too."""
    newest = newest_editions(curriculum.sources.values())
    replaced = {
        id: newer
        for id, source in curriculum.sources.items()
        if source.custom.kept_because is None and (newer := superseded_by(source, newest)) is not None
    }
    uses: dict[str, list[Related]] = {}
    for reference in references(curriculum):
        if reference.wanted == "source" and reference.owner != "source" and reference.id in replaced:
            uses.setdefault(reference.id, []).append(
                Related(location=reference.at(curriculum), message=f"cited by {reference.owner} `{reference.owner_id}`")
            )
    for id, cited in uses.items():
        field = "superseded_by" if curriculum.sources[id].custom.superseded_by else "edition_of"
        more = f", {len(cited)} times" if len(cited) > 1 else ""
        yield Problem(
            location=curriculum.at("source", id, "custom", field),
            rule=RULE,
            message=f"`{id}` is cited{more}, but `{replaced[id]}` has superseded it.",
            remedy=f"Read `{replaced[id]}` and cite it, or say in `kept_because` why the old one stays.",
            severity=Severity.WARNING,
            related=tuple(cited[:3]),
        )
