"""A cited source older than the program's limit, with nobody having looked lately whether it still stands.

Why: old evidence may still be the best there is, but someone has to have looked.

To put it right: look for something newer; then cite that, or write the day in `custom.reviewed`, or say in
`custom.kept_because` why it stays (a classic, the only study, a definition).
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.analysis.currency import Standing, age_in_years, newest_editions, standing
from generator.checks.support.references import used
from generator.diagnostics import Problem, Severity
from generator.model import Curriculum

RULE = "citation-old"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each cited source that is past the limit and neither reviewed in time nor kept for a reason."""
    program = curriculum.program
    newest = newest_editions(curriculum.sources.values())
    cited = used(curriculum).get("source", frozenset())
    for id, source in curriculum.sources.items():
        if id not in cited or source.custom.kept_because is not None or source.issued is None:
            continue
        if standing(source, program, newest, today=today) is not Standing.OLD:
            continue
        reviewed = source.custom.reviewed
        looked = f"last looked at on {reviewed}" if reviewed else "never reviewed"
        yield Problem(
            location=curriculum.at("source", id, *(("custom", "reviewed") if reviewed else ("issued",))),
            rule=RULE,
            message=f"`{id}` is {age_in_years(source.issued, today=today)} years old, past the limit of "
            f"{program.evidence_limit_years}, and {looked}.",
            remedy="Look for something newer. Then cite that, or write today in `reviewed`, or a reason in "
            "`kept_because`.",
            severity=Severity.WARNING,
        )
