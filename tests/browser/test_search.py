"""Search in the built handbook: by abbreviation, by synonym, by a step's words, and from a folder without a server."""

from __future__ import annotations

from typing import Any
from urllib.parse import unquote, urldefrag, urlsplit

import pytest
from browser_helpers import DESKTOP, PHONE
from conftest import TOP
from playwright.sync_api import Page, expect

from generator.model import Curriculum
from generator.reading import read_curriculum

pytestmark = pytest.mark.browser

RESULTS = ".md-search-result__item a"


@pytest.fixture(scope="module")
def curriculum() -> Curriculum:
    read, _ = read_curriculum(TOP / "curriculum")
    assert read is not None
    return read


def open_search(page: Page) -> None:
    # A wide page shows the field; a narrow one shows a button in the header that opens it.
    wide = page.evaluate("() => innerWidth >= 960")
    page.locator("input.md-search__input" if wide else ".md-header__button[for=__search]").click()
    expect(page.locator("input.md-search__input")).to_be_focused()


def results(page: Page, words: str, wanted: str) -> list[str]:
    """Addresses of the results, best first, once `wanted` is among them."""
    page.locator("input.md-search__input").fill("")
    expect(page.locator(RESULTS)).to_have_count(0)
    page.locator("input.md-search__input").press_sequentially(words, delay=5, timeout=60_000)
    page.locator(f'{RESULTS}[href*="{wanted}"]').first.wait_for(state="attached")
    before: list[str] = []
    while before != (now := page.locator(RESULTS).evaluate_all("links => links.map(link => link.href)")):
        before = now
        page.wait_for_timeout(150)
    return before


def places(addresses: list[str]) -> list[str]:
    """The pages of the results, each once, in order."""
    return list(dict.fromkeys(urlsplit(urldefrag(each).url).path.lstrip("/") for each in addresses))


LISTEN = """() => {
  const Real = Worker
  window.answers = []
  window.Worker = class extends Real {
    constructor(...given) {
      super(...given)
      this.addEventListener("message", ({ data }) => {
        if (data.type === 3) answers.shift()?.(data.data.items.map(group => group.map(item => item.location)))
      })
    }
  }
}"""
"""Notes what the page's own search worker answers: 3 is the theme's number of a message that holds results."""

ASK_ALL = """async names => {
  const field = document.querySelector("input.md-search__input")
  const found = {}
  for (const name of names) {
    const answer = new Promise(resolve => answers.push(resolve))
    field.value = name
    field.dispatchEvent(new KeyboardEvent("keyup", { bubbles: true }))
    found[name] = await answer
  }
  return found
}"""


def test_every_abbreviation_and_synonym_finds_its_skill(visit: Any, handbook: Any, curriculum: Curriculum) -> None:
    """Each name goes through the page's own field and worker; the answer is taken before it is drawn."""
    page = visit(handbook.address, before=lambda page: page.add_init_script(f"({LISTEN})()"), **DESKTOP).page
    open_search(page)
    names = sorted({name for skill in curriculum.skills.values() for name in skill.also_called})
    assert len(names) >= 150
    # The last name is typed as a person does, which also waits until the index is there.
    typed = next(skill for skill in curriculum.skills.values() if names[-1] in skill.also_called)
    drawn = places(results(page, names[-1], f"skills/{typed.strand}/{typed.id}.html"))
    answers = page.evaluate(ASK_ALL, names)
    found = {name: places([at for group in groups for at in group]) for name, groups in answers.items()}
    assert found[names[-1]][: len(drawn)] == drawn
    lost = []
    for skill in curriculum.skills.values():
        target = f"skills/{skill.strand}/{skill.id}.html"
        for name in skill.also_called:
            sharing = sum(name in other.also_called for other in curriculum.skills.values())
            # A page of the glossary may come first; skills that share a name share the places after it.
            if target not in found[name][: sharing + 2]:
                lost.append((name, target, found[name]))
    assert lost == []


@pytest.mark.parametrize(
    ("words", "skill"),
    [
        ("BVM", "bag-mask-two-person"),
        ("OPA", "oral-adjunct"),
        ("NPA", "nasal-adjunct"),
        ("FBAO", "choking-adult"),
        ("nasopharyngeal airway", "nasal-adjunct"),
        ("head tilt chin lift", "open-airway-by-hand"),
    ],
)
def test_usual_names_lead_to_the_page_on_a_phone(visit: Any, handbook: Any, words: str, skill: str) -> None:
    page = visit(handbook.address, **PHONE).page
    open_search(page)
    target = f"skills/airway/{skill}.html"
    results(page, words, target)
    page.locator(f'{RESULTS}[href*="{target}"]').first.click()
    page.wait_for_url(f"**/{target}*")
    expect(page.locator("h1").first).to_be_visible()


def test_a_step_is_found_by_its_words_and_the_hit_lands_on_it(visit: Any, handbook: Any) -> None:
    page = visit(f"{handbook.address}{handbook.pages['skill']}", **DESKTOP).page
    heading = page.locator(".rb-step h3").last
    anchor = str(heading.get_attribute("id"))
    words = " ".join(heading.inner_text().replace("¶", "").replace('"', "").rstrip(".").split())
    page.goto(handbook.address)
    open_search(page)
    hits = results(page, words, f"{handbook.pages['skill']}?h=")
    wanted = f'{RESULTS}[href*="{handbook.pages["skill"]}"][href$="#{anchor}"]'
    assert page.locator(wanted).count() == 1, hits
    for more in page.locator(".md-search-result__more > summary:visible").all():
        more.click()
    page.locator(wanted).click()
    page.wait_for_url(f"**#{anchor}")
    assert unquote(urldefrag(page.url).fragment) == anchor
    expect(page.locator(f"#{anchor}")).to_be_in_viewport()
    header = page.locator(".md-header").bounding_box()
    box = page.locator(f"#{anchor}").bounding_box()
    assert header is not None
    assert box is not None
    assert box["y"] >= header["y"] + header["height"] - 1, "the fixed header hides it"


def test_search_works_from_a_folder(visit: Any, handbook: Any) -> None:
    made = visit((handbook.folder / "index.html").resolve().as_uri(), **DESKTOP)
    open_search(made.page)
    target = "skills/airway/oral-adjunct.html"
    results(made.page, "OPA", target)
    made.page.locator(f'{RESULTS}[href*="{target}"]').first.click()
    made.page.wait_for_url(f"**/{target}*")
    assert made.elsewhere == []
