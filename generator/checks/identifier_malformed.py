"""A DOI, PMID, PMCID, ISBN or ISSN that cannot be right, by its form or its check digit.

Why: the link on the evidence page would lead nowhere, or to another paper.

To put it right: copy it again from the paper or the publisher's page.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date

from generator.analysis.identifiers import doi_fault, isbn_fault, issn_fault, pmcid_fault, pmid_fault
from generator.diagnostics import Problem
from generator.model import Curriculum

RULE = "identifier-malformed"

FAULTS: dict[str, Callable[[str], str | None]] = {
    "DOI": doi_fault,
    "PMID": pmid_fault,
    "PMCID": pmcid_fault,
    "ISBN": isbn_fault,
    "ISSN": issn_fault,
}


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each identifier with a fault."""
    for id, source in curriculum.sources.items():
        for field, fault_of in FAULTS.items():
            text = getattr(source, field)
            fault = fault_of(text) if text is not None else None
            if fault:
                yield Problem(
                    location=curriculum.at("source", id, field),
                    rule=RULE,
                    message=f"The {field} `{' '.join(text.split())}` {fault}.",
                    remedy="Copy it again from the paper or the publisher's page.",
                )
