"""A link on a prose page to a page that the handbook does not have.

Why: the reader lands on an error in the middle of a lab.

To put it right: take the nearest page that the message offers. Links are relative to the page they stand on.
"""

from __future__ import annotations

import posixpath
from collections.abc import Iterator, Set
from datetime import date

from generator.analysis.addresses import addresses, strand_page
from generator.checks.support.nearest import did_you_mean
from generator.checks.support.prose import links
from generator.checks.support.texts import prose_at
from generator.diagnostics import Problem
from generator.model import Curriculum

RULE = "prose-link-missing"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each link to a missing Markdown page. Links to other files and anchors are looked at in the built site."""
    if not curriculum.prose:
        return
    pages = known_pages(curriculum)
    for path, text in curriculum.prose.items():
        folder = posixpath.dirname(path)
        for link in links(text):
            target = link.target.split("#")[0].split("?")[0]
            if ":" in target or target.startswith("/") or not target.endswith(".md"):
                continue
            page = posixpath.normpath(posixpath.join(folder, target))
            if page in pages:
                continue
            yield Problem(
                location=prose_at(curriculum, path, link.offset),
                rule=RULE,
                message=f"This links to `{target}`, and there is no page `{page}`.",
                remedy=did_you_mean(page, pages, otherwise="Link to a page that is there, or add it."),
            )


def known_pages(curriculum: Curriculum) -> Set[str]:
    """Every page of the handbook that follows from the curriculum, by its path in the Markdown folder."""
    unread = {id for kind, id in curriculum.unread if kind == "skill"}
    return {
        *(page.path for page in addresses(curriculum)),
        *curriculum.prose,
        *(strand_page(strand.id) for strand in curriculum.program.strands),
        *(f"skills/{strand.id}/{id}.md" for strand in curriculum.program.strands for id in unread),
        *(f"trainers/{id}.md" for kind, id in curriculum.unread if kind == "trainer"),
    }
