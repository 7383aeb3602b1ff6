"""A link inside the built site that leads to no page or file.

Why: a learner taps it in the lab and gets an error.

To put it right: mend the link where the page is written; when a page of the handbook's own making holds it, tell the
maintainers.
"""

from __future__ import annotations

from collections.abc import Iterator

from generator.checks.support.nearest import did_you_mean
from generator.checks.support.site import Site
from generator.diagnostics import Problem

RULE = "site-link-broken"


def find(site: Site) -> Iterator[Problem]:
    """Each link, and each file a page loads, that is not there."""
    for page in site.pages.values():
        for use in (*page.links, *page.loads):
            target = site.target(page.path, use.value)
            if target is None or target[0] in site.files or not use.value.strip():
                continue
            yield Problem(
                location=use.location,
                rule=RULE,
                message=f"This {'link leads' if use.tag in ('a', 'area') else use.tag + ' points'} to `{use.value}`, "
                f"and the site has no `{target[0]}`.",
                remedy=did_you_mean(
                    target[0], site.like(target[0]), otherwise="Mend the link, or add what it leads to."
                ),
            )
