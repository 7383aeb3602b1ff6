"""Scripts whose words were exchanged are still scripts, whatever a translator typed."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from importlib import resources

import pytest
from playwright.sync_api import Browser, Page
from turned import ENGLISH, english, labelled

from generator.rendering.pages import pages_of
from generator.rendering.scripts import NAMES, script_in_own_words

pytestmark = pytest.mark.browser

NASTY = "“it’s” \"quoted\" `ticked` ${gone} \\ back \\u </script> \u2028 ' //"
PARSED = "source => { try { new Function(source); return ''; } catch (error) { return String(error); } }"


@pytest.fixture
def page(chromium: Browser) -> Iterator[Page]:
    """An empty page: nothing but the browser's own reading of a script."""
    page = chromium.new_page()
    yield page
    page.close()


@pytest.mark.parametrize("name", NAMES)
def test_a_script_with_a_translators_worst_words_is_read_by_the_browser(page: Page, name: str) -> None:
    folder = "offline" if name in ("offline.js", "worker.js") else "assets"
    source = (resources.files("generator.rendering") / folder / name).read_text(encoding="utf-8")
    assert page.evaluate(PARSED, source) == ""
    spoiled = script_in_own_words(source, lambda words: f"{words} {NASTY}")
    assert spoiled != source
    assert page.evaluate(PARSED, spoiled) == ""


def test_the_browser_does_find_a_script_that_is_none(page: Page) -> None:
    assert "SyntaxError" in page.evaluate(PARSED, 'const words = "broken;')


def test_exchanged_words_are_what_the_script_says(page: Page) -> None:
    said = page.evaluate(
        "source => new Function('count', 'left', `return ${source}`)(3, 2)",
        script_in_own_words("`${count}, ${left} critical left`", lambda _: NASTY + " {left} of {count}"),
    )
    assert said == NASTY + " 2 of 3"


PLACES = """() => {
  const text = document.createTreeWalker(document.querySelector("#step-gloves"), NodeFilter.SHOW_TEXT).nextNode();
  return [...text.data].map((letter, at) => {
    const range = document.createRange();
    range.setStart(text, at);
    range.setEnd(text, at + 1);
    return [letter, range.getBoundingClientRect().left];
  });
}"""


def test_a_full_stop_stands_at_the_end_of_english_text_on_a_page_from_right_to_left(page: Page) -> None:
    made = pages_of(labelled(english()), sheets=(), problems=(), today=date(2026, 3, 1))
    body = made["skills/anchors/sling-anchor.md"].split("---\n", 2)[2]

    def ends(html: str) -> str:
        page.set_content(f'<body dir="rtl" style="width: 60rem">{html}</body>')
        return "".join(letter for letter, _ in sorted(page.evaluate(PLACES), key=lambda placed: placed[1]))

    assert ends(body) == ENGLISH
    assert ends(re.sub(r"</?bdi>", "", body)).startswith("."), "the look at the places can fail"
