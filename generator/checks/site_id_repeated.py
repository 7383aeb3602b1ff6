"""Two elements of a built page with one id.

Why: links and scripts find only the first, and assistive software may read the wrong label (HTML Standard, 3.2.6).

To put it right: give one heading or step another name; when a page of the handbook's own making holds it, tell the
maintainers.
"""

from __future__ import annotations

from collections.abc import Iterator

from generator.checks.support.site import Site, Use
from generator.diagnostics import Problem, Related

RULE = "site-id-repeated"


def find(site: Site) -> Iterator[Problem]:
    """Each id that an earlier element of the page has."""
    for page in site.pages.values():
        first: dict[str, Use] = {}
        for use in page.ids:
            earlier = first.setdefault(use.value, use)
            if earlier is not use:
                yield Problem(
                    location=use.location,
                    rule=RULE,
                    message=f"This {use.tag} has the id `{use.value}`, which an earlier {earlier.tag} has.",
                    remedy="Give one of them another id.",
                    related=(Related(location=earlier.location, message="the first is here"),),
                )
