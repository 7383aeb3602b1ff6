"""A page or style sheet that loads something from another site.

Why: it fails without a network, and it tells someone else who reads what.

To put it right: keep the file with the site. A link that a reader taps is fine.
"""

from __future__ import annotations

from collections.abc import Iterator

from generator.checks.support.site import Site
from generator.diagnostics import Problem

RULE = "site-off-origin"


def find(site: Site) -> Iterator[Problem]:
    """Each script, image, frame, style, font or form address with another origin."""
    for page in site.pages.values():
        for use in page.loads:
            if not site.is_own(use.value):
                yield Problem(
                    location=use.location,
                    rule=RULE,
                    message=f"This {use.tag} asks another site for `{use.value}`.",
                    remedy="Keep the file with the site, and point to it there.",
                )
