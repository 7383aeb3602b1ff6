"""What a page shows while YAML is being edited: the problems, where they are, and what to do."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence

from markupsafe import Markup

from generator.diagnostics import Problem, Severity
from generator.rendering.pages.inert import inert
from generator.rendering.pages.shapes import mark


def banner_of(problems: Sequence[Problem], page: str) -> Markup:
    """A visible box for one page: problems of the page's own file in full, the others folded; empty without any.

    `page` is docs-relative, such as `skills/airway/choking.md`.
    """
    told = [problem for problem in problems if problem.severity is not Severity.NOTE]
    if not told:
        return Markup()
    own = [problem for problem in told if _is_about(problem, page)]
    others = [problem for problem in told if problem not in own]
    errors = sum(problem.is_error for problem in told)
    words = f"{errors} errors, {len(told) - errors} warnings in the curriculum"
    kind = "critical" if errors else "warning"
    out = Markup('<div class="rb-problems" role="alert" data-search-exclude><p class="rb-problems-word">{}</p>').format(
        mark(kind, words)
    )
    if own:
        out += Markup("<p>In this file:</p>{}").format(_list(own))
    if others:
        opened = Markup(" open") if errors and not own else Markup()
        summary = "In other files" if own else "Show them"
        out += Markup('<details class="rb-fold"{}><summary>{}</summary>{}</details>').format(
            opened, summary, _list(others)
        )
    return out + Markup("</div>")


def broken_page(problems: Sequence[Problem]) -> str:
    """The only page of a handbook whose program cannot be read."""
    title = json.dumps("The handbook cannot be read")
    return (
        f"---\ntitle: {title}\n---\n\n<h1>The handbook cannot be read</h1>\n"
        f"<p>Put the problems below right; this page reloads by itself.</p>\n{_list(problems)}\n"
    )


def _is_about(problem: Problem, page: str) -> bool:
    stem = page.removesuffix(".md")
    return stem.count("/") > 0 and problem.location.file.rpartition(".")[0].endswith(f"/{stem}")


def _list(problems: Iterable[Problem]) -> Markup:
    items = Markup().join(
        Markup('<li class="rb-finding"><p>{} {}</p><p class="rb-where"><code>{}</code> {}</p><p>{}</p></li>').format(
            mark("critical" if problem.is_error else "warning", str(problem.severity)),
            inert(problem.message),
            inert(problem.location),
            inert(problem.rule),
            inert(problem.remedy),
        )
        for problem in problems
    )
    return Markup('<ul class="rb-findings">{}</ul>').format(items)
