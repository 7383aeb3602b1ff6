"""Long hostile text costs no more than its length: twice as much text takes about twice as long, never four times.

Each pattern that a module keeps is tried on runs of what patterns like to try again: spaces, brackets, quotes, tags
that nobody closes. Only what takes long enough to be measured is judged, and by the ratio of two lengths in one run. A
field holds at most 20,000 characters; a page of a site, a scan's or a spreadsheet's cell may hold more.
"""

from __future__ import annotations

import importlib
import pkgutil
import re
import time
from collections.abc import Callable
from functools import cache

import pytest

import generator
from generator.checks.support.site import read_page

LENGTH = 4_000
WORTH_MEASURING = 0.03
"""Seconds of the processor's own time, below which nothing is judged."""
MOST = 3.2
"""Twice the text: 2 for linear work, 4 for quadratic; exponential work would never come back."""
BAITS = (
    " ", "\t", "\n", "a", "A", "0", "-", ".", "_", "<", "<a", "<a ", "<a href=", "<a href=\"", "<!--", "<script",
    "<script>",
    "</", "&", "&#", "[", "](", "[a](", "![", "{", "{a", "}", "(", "\"", "'", "`", "*", "**", "|", "\\", "/", "../",
    "@",
    "a ", "a-", "a.", "1.", "1,", "1 000 ", "=", "a=", "a=\"", ":", ": ", ";", "\"\"", ",\"", "é", "\u00a0", "\r\n",
    "a\n",
    "# ", "> ", "url(", "/*", "~", "$", "%", "http://a.", "www.",
)  # fmt: skip


@cache
def patterns() -> dict[str, re.Pattern[str]]:
    found = {}
    for module in pkgutil.walk_packages(generator.__path__, "generator."):
        for name, value in vars(importlib.import_module(module.name)).items():
            if isinstance(value, re.Pattern) and isinstance(value.pattern, str):
                found.setdefault((value.pattern, value.flags), (f"{module.name}.{name}", value))
    return dict(found.values())


QUADRATIC = {
    "generator.checks.support.prose._FENCE",
    "generator.checks.support.site._CSS_ADDRESS",  # style sheets are the site's own
    "generator.checks.support.site._TAG",  # the reader stops it at the last `>`: see the second test
    "generator.checks.support.site._TAG_OR_END",
    "generator.checks.support.verbs._JOINT",
    "generator.rendering.scripts._STRING",  # reads our own scripts only
    "generator.reading.scans.codes._CODE",  # a code on paper holds at most some hundred characters
}
"""Known to take four times as long for twice the text; some seconds for the longest field there can be, never more."""


def takes(work: Callable[[str], object], text: str) -> float:
    begun = time.process_time()
    work(text)
    return time.process_time() - begun


def grows(work: Callable[[str], object], bait: str, end: str, length: int = LENGTH) -> float | None:
    """How many times longer twice the text takes; None where it is too quick to matter. The better of two."""
    text = bait * (length // len(bait))
    if takes(work, text + end) < WORTH_MEASURING:
        return None
    return min(takes(work, text + text + end) / takes(work, text + end) for _ in range(2))


def test_no_pattern_tries_long_text_again_and_again() -> None:
    assert len(patterns()) > 60
    slow = {}
    for name, pattern in patterns().items():
        if name in QUADRATIC:
            continue
        for bait in BAITS:
            ratio = grows(lambda text, pattern=pattern: sum(1 for _ in pattern.finditer(text)), bait, "\0")
            if ratio is not None and ratio > MOST:
                slow[name, bait] = ratio
    assert slow == {}


@pytest.mark.parametrize("end", ["", ">", '">', "-->"])
def test_a_page_of_unclosed_tags_is_read_once(end: str) -> None:
    for bait in (
        "<",
        "<a",
        "<a ",
        "<a b",
        '<a href="',
        "<a href='",
        "<!--",
        "<script>",
        "<style>",
        "</a",
        "<a\n",
        "&lt;<",
    ):
        ratio = grows(lambda text: read_page(text, "index.html", "site/index.html"), bait, end, length=200_000)
        assert ratio is None or ratio < MOST, (bait, end, ratio)
