"""A link to a place in a page, such as `choking.md#steps`, that the page does not have.

Why: the reader lands at the top of a long page and looks for what was promised.

To put it right: use an anchor that the page has; headings make theirs from their words.
"""

from __future__ import annotations

from collections.abc import Iterator

from generator.checks.support.nearest import did_you_mean
from generator.checks.support.site import Site
from generator.diagnostics import Problem

RULE = "site-anchor-broken"


def find(site: Site) -> Iterator[Problem]:
    """Each link whose page exists but whose fragment names nothing on it."""
    for page in site.pages.values():
        for use in page.links:
            file, fragment = site.target(page.path, use.value) or ("", "")
            there = site.pages.get(file)
            # `#top` and an empty fragment always work (HTML Standard, 7.4.6.4); `#:~:` searches for text.
            if there is None or fragment.lower() in ("", "top") or fragment.startswith(":~:"):
                continue
            if fragment not in there.names and file.endswith((".html", ".htm")):
                yield Problem(
                    location=use.location,
                    rule=RULE,
                    message=f"This link leads to `{use.value}`, and `{file}` has nothing called `{fragment}`.",
                    remedy=did_you_mean(fragment, there.names, otherwise="Use an anchor that the page has."),
                )
