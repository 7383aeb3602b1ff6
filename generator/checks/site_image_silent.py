"""An image on a built page with no text alternative.

Why: a reader who cannot see it gets nothing (WCAG 2.2, success criterion 1.1.1).

To put it right: give it an `alt` that says what it shows, or an empty one when it is decoration beside words.
"""

from __future__ import annotations

from collections.abc import Iterator

from generator.checks.support.site import Site
from generator.diagnostics import Problem

RULE = "site-image-silent"


def find(site: Site) -> Iterator[Problem]:
    """Each image without `alt`, or with an empty one where it is all that a link holds."""
    for page in site.pages.values():
        for use in page.silent_images:
            yield Problem(
                location=use.location,
                rule=RULE,
                message=f"The image `{use.value}` has no text alternative.",
                remedy="Give it an `alt` that says what it shows.",
            )
