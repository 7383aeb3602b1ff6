"""Queries that people type, and the page or section that must answer: all in one page, through the theme's own worker.

The list is ours (common practice, no source): abbreviations, other names, plain words, one-edit misspellings, and words
of one step. A query with `#` in its page must lead to that section.
"""

from __future__ import annotations

import csv
import html
import json
import re
from typing import Any
from urllib.parse import urlsplit

import pytest
from browser_helpers import DESKTOP
from conftest import TOP

pytestmark = pytest.mark.browser

# The set-up message that the theme sends is noted, so that a worker of our own searches exactly as the theme does.
NOTE_SETUP = """
const Browser = window.Worker;
window.Worker = class extends Browser {
  postMessage(message) {
    if (message.type === 0) window.setupMessage = message;
    super.postMessage(message);
  }
};
"""
ASK = """async (queries) => {
  const config = JSON.parse(document.getElementById("__config").textContent);
  const worker = new Worker(new URL(config.search, new URL(config.base, location.href)));
  const answer = (type, message) => new Promise((resolve) => {
    const listen = (event) => {
      if (event.data.type !== type) return;
      worker.removeEventListener("message", listen);
      resolve(event.data.data);
    };
    worker.addEventListener("message", listen);
    worker.postMessage(message);
  });
  await answer(1, window.setupMessage);
  const found = [];
  for (const query of queries) {
    const result = await answer(3, { type: 2, data: query });
    found.push(result.items.map((items) => items.filter((item) => item.score > 0).map((item) => item.location)));
  }
  worker.terminate();
  return found;
}"""


@pytest.fixture(scope="module")
def ask(chromium: Any, handbook: Any) -> Any:
    """`ask(queries)`: for each query its pages, best first, each as the locations that hit in it."""
    context = chromium.new_context(**DESKTOP)
    page = context.new_page()
    page.add_init_script(NOTE_SETUP)
    page.goto(handbook.address)
    page.locator("input.md-search__input").click()
    page.wait_for_function("() => window.setupMessage")
    yield lambda queries: page.evaluate(ASK, list(queries))
    context.close()


def page_of(location: str) -> str:
    return urlsplit(location).path


def test_every_golden_query_finds_its_page(ask: Any) -> None:
    with (TOP / "tests" / "golden" / "queries.csv").open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert len(rows) >= 60
    assert sum("#" in row["page"] for row in rows) >= 3, "sections too"
    lost = []
    for row, found in zip(rows, ask(row["query"] for row in rows), strict=True):
        wanted, within = row["page"], int(row["within"])
        assert within in (1, 3), row
        best = found[:within]
        pages = [page_of(group[0]) for group in best if group]
        if page_of(wanted) not in pages or ("#" in wanted and wanted not in best[pages.index(page_of(wanted))][:2]):
            lost.append((row["query"], wanted, [group[:2] for group in found[:4]]))
    assert not lost, "\n".join(map(str, lost))


def edits(word: str) -> set[str]:
    """Every word that is one slip of the fingers away: a letter wrong, missing, added or swapped with its neighbor."""
    parts = [(word[:at], word[at:]) for at in range(1, len(word) + 1)]
    return {
        *(head + tail[1:] for head, tail in parts if tail),
        *(f"{head}x{tail[1:]}" for head, tail in parts if tail),
        *(f"{head}x{tail}" for head, tail in parts),
        *(head + tail[1] + tail[0] + tail[2:] for head, tail in parts if len(tail) > 1),
    } - {word}


def test_every_slip_in_a_word_still_finds_its_page(ask: Any) -> None:
    for word, page in (
        ("tourniquet", "skills/bleeding/tourniquet.html"),
        ("supraglottic", "skills/airway/supraglottic-airway.html"),
    ):
        slips = sorted(edits(word))
        assert len(slips) > 30
        lost = [slip for slip, found in zip(slips, ask(slips), strict=True) if page not in pages_of(found[:1])]
        assert lost == []


def pages_of(found: Any) -> set[str]:
    return {page_of(group[0]) for group in found if group}


def test_a_word_that_is_found_never_finds_its_neighbors(ask: Any, handbook: Any) -> None:
    """Words of the index itself that are one edit apart: each hit holds a word that begins as it was typed."""
    index = json.loads((handbook.folder / "search" / "search_index.json").read_text(encoding="utf-8"))
    texts = {one["location"]: set(re.findall(r"[a-z]+", plain(one))) for one in index["docs"]}
    known = set().union(*texts.values())
    close = sorted(
        word
        for word in known
        if 4 <= len(word) <= 9 and any(other in known and not other.startswith(word) for other in edits_of(word))
    )
    assert len(close) > 40, "there are such pairs"
    tried = close[:: max(1, len(close) // 60)]
    hits = 0
    for word, found in zip(tried, ask(tried), strict=True):
        for location in (location for group in found for location in group):
            assert any(one.startswith(word) for one in texts[location]), (word, location)
            hits += 1
    assert hits > 100


def plain(entry: Any) -> str:
    words = " ".join((entry["title"], entry["text"], *entry.get("tags", ())))
    return html.unescape(re.sub(r"<[^>]*>", " ", words)).casefold()


def edits_of(word: str) -> set[str]:
    letters = "abcdefghijklmnopqrstuvwxyz"
    return {word[:at] + one + word[at + 1 :] for at in range(len(word)) for one in letters if one != word[at]}


def test_only_a_word_that_finds_nothing_is_loosened(ask: Any) -> None:
    right, with_operator, wrong, two_edits, short, mixed, known = ask(
        ["tourniquet", "tourniqet*", "tourniqet", "tornqet", "ivx", "tourniqet limb", "limb"]
    )
    assert right
    assert with_operator == [], "whoever types an operator gets exactly that"
    assert [page_of(group[0]) for group in wrong[:1]] == [page_of(group[0]) for group in right[:1]]
    assert two_edits == []
    assert short == []
    assert "skills/bleeding/tourniquet.html" in {page_of(group[0]) for group in mixed[:1] if group}
    assert len(known) > 1
