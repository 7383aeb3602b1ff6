"""Every type of page of the built handbook, in a real browser: width, paper, keyboard, network.

Reflow without sideways scrolling at 320 CSS pixels is WCAG 2.2, success criterion 1.4.10; 390 is a usual phone.
"""

from __future__ import annotations

import io
import re
from pathlib import Path, PurePosixPath
from typing import Any
from urllib.parse import urljoin, urlsplit

import pytest
from browser_helpers import DESKTOP, PHONE, served
from bs4 import BeautifulSoup
from conftest import TOP
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from generator.reading import read_curriculum

pytestmark = pytest.mark.browser

PAGE_TYPES = (
    "home",
    "strand",
    "skill",
    "trainers",
    "trainer",
    "worth",
    "gaps",
    "wear",
    "course map",
    "levels",
    "numbers",
    "evidence",
    "glossary",
    "health",
    "lab days",
    "lab day",
    "stations",
    "station",
    "scenarios",
    "scenario",
    "scenario run",
    "outcomes",
    "review log",
    "review",
    "prose",
    "not found",
)
each_page = pytest.mark.parametrize("kind", PAGE_TYPES)


def address(handbook: Any, kind: str) -> str:
    return urljoin(handbook.address, handbook.pages[kind])


TYPES = (
    ("skills/*/index.html", "strand"),
    ("skills/*/*.html", "skill"),
    ("trainers/*.html", "trainer"),
    ("labs/*.html", "lab day"),
    ("stations/*.html", "station"),
    ("scenarios/*-run.html", "scenario run"),
    ("scenarios/*.html", "scenario"),
    ("review-log/*.html", "review"),
    ("*.html", "prose"),
)
"""Pages of which there are many, by their address; a page of its own is named in the handbook's fixture."""


def test_every_page_is_of_a_type_that_is_tried(handbook: Any) -> None:
    assert tuple(handbook.pages) == PAGE_TYPES
    for page in handbook.pages.values():
        assert (handbook.folder / page).is_file(), page
    curriculum, _ = read_curriculum(TOP / "curriculum")
    assert curriculum is not None
    typed = {name.removesuffix(".md") + ".html" for name in curriculum.prose}
    own = {page: kind for kind, page in handbook.pages.items()}
    found = set()
    for path in handbook.folder.rglob("*.html"):
        name = path.relative_to(handbook.folder).as_posix()
        kind = own.get(name) or next((kind for form, kind in TYPES if fits(name, form)), None)
        assert kind in PAGE_TYPES, name
        assert kind != "prose" or name in typed, f"{name} is generated, and no type of page that is tried"
        found.add(kind)
    assert found == set(PAGE_TYPES)


def fits(name: str, form: str) -> bool:
    return name.count("/") == form.count("/") and PurePosixPath(name).match(form)


@each_page
def test_a_phone_never_scrolls_sideways(visit: Any, handbook: Any, kind: str) -> None:
    page = visit(address(handbook, kind), **PHONE | {"viewport": {"width": 320, "height": 844}}).page
    open_everything(page)
    for width in (320, 390):
        page.set_viewport_size({"width": width, "height": 844})
        wide = page.evaluate(
            """width => {
              const scrolls = node => node && node !== document.body
                && (getComputedStyle(node).overflowX !== "visible" || scrolls(node.parentElement));
              return [document.scrollingElement.scrollWidth, [...document.querySelectorAll("main *")]
                .filter(node => node.getBoundingClientRect().right > width + 1 && !scrolls(node.parentElement))
                .map(node => node.outerHTML.slice(0, 120))];
            }""",
            width,
        )
        assert wide == [width, []]


@each_page
def test_no_request_leaves_the_origin(visit: Any, handbook: Any, kind: str) -> None:
    made = visit(address(handbook, kind))
    made.page.wait_for_load_state("networkidle")
    made.page.evaluate("() => document.fonts.ready.then(() => true)")
    assert made.requests, "nothing was recorded"
    assert made.elsewhere == []
    # What the browser may fetch by itself without a request that can be seen: hints, frames, sources.
    fetched = made.page.evaluate(
        """() => [...document.querySelectorAll("link[rel]:not([rel~=canonical]), script[src], img[src], iframe[src],"
          + " source[src], video[src], audio[src], object[data], use[href]")]
          .map(node => node.src || node.data || node.href?.baseVal || node.href)"""
    )
    assert {urlsplit(urljoin(made.page.url, each)).hostname for each in fetched if not each.startswith("data:")} == {
        "127.0.0.1"
    }


@pytest.mark.parametrize("kind", ["skill", "worth", "wear", "course map", "outcomes", "health"])
def test_a_table_stays_a_table_where_a_phone_shows_it_as_rows(visit: Any, handbook: Any, kind: str) -> None:
    """The markup has no roles (HTML Standard: implied), the script keeps them where the styles make blocks of cells."""
    pages = handbook.pages
    assert 'role="cell"' not in (handbook.folder / pages[kind]).read_text(encoding="utf-8")
    page = visit(urljoin(handbook.address, pages[kind]), **PHONE).page
    table = page.locator("table.rb-table").first
    assert table.evaluate("node => getComputedStyle(node).display") == "block"
    for tags, roles in (("tr", {"row"}), ("td", {"cell"}), ("th", {"rowheader", "columnheader"})):
        found = table.locator(tags).evaluate_all("nodes => nodes.map(node => node.getAttribute('role'))")
        assert found
        assert set(found) <= roles, (tags, set(found))


def test_no_type_of_page_asks_for_what_the_policy_refuses(visit: Any, handbook: Any) -> None:
    """With the header that the site asks its server for (CSP Level 3), every part opened and every button tried."""
    headers = (handbook.folder / "_headers").read_text(encoding="utf-8").splitlines()
    policy = next(line.split(": ", 1)[1] for line in headers if "Content-Security-Policy" in line)
    assert_strict(policy)
    watch = "window.refused = []; document.addEventListener('securitypolicyviolation',"
    watch += " event => window.refused.push(`${event.violatedDirective} ${event.blockedURI}`))"
    with served(handbook.folder, policy=policy) as at:
        page = visit(at, before=lambda page: page.add_init_script(watch), **DESKTOP).page
        for name in handbook.pages.values():
            answer = page.goto(at + name)
            assert answer is not None
            assert answer.headers["content-security-policy"] == policy
            open_everything(page)
            assert page.evaluate("() => window.refused") == [], name
            inline = page.locator("script:not([src]):not([type='application/json'])").count()
            assert inline, "the theme's own scripts are there, and were let through by their hashes"


def test_every_page_carries_a_strict_policy_itself(handbook: Any) -> None:
    """Before anything that the policy is about: a server's header is not needed, and from a folder there is none."""
    pages = sorted(handbook.folder.rglob("*.html"))
    assert len(pages) > 100
    for path in pages:
        html = path.read_text(encoding="utf-8")
        soup = BeautifulSoup(html, "html.parser")
        (meta,) = soup.select("head > meta[http-equiv=Content-Security-Policy]")
        assert_strict(str(meta["content"]))
        before = html[: html.index('http-equiv="Content-Security-Policy"')]
        assert not re.search(r"<(?:script|link|style|img)", before), path
        # A policy without inline styles makes each of these a thing that is quietly not applied.
        assert not soup.select("[style], main style"), path


def assert_strict(policy: str) -> None:
    """CSP Level 3: nothing by default; own files, and scripts by hash; no inline code, no eval, no other origin."""
    rules = {words[0]: words[1:] for rule in policy.split(";") if (words := rule.split())}
    assert rules["default-src"] == ["'none'"]
    assert rules["base-uri"] == rules["form-action"] == ["'none'"]
    for kind, allowed in rules.items():
        for one in allowed:
            known = {"'none'", "'self'", "file:"} | ({"data:"} if kind == "img-src" else set())
            assert one in known or (kind == "script-src" and re.fullmatch(r"'sha256-[\w+/]{43}='", one)), (kind, one)


def open_everything(page: Page) -> None:
    """Folds opened, a pacer on its way, the panels of the practice checklist out: all that a visitor can see."""
    page.evaluate("() => document.querySelectorAll('main details').forEach(each => { each.open = true })")
    for button in page.locator(".rb-pacer button").all()[:1]:
        button.click()
    for box in page.locator(".rb-tick input").all()[:2]:
        box.check()
    for name in ("Clear all ticks", "Save this attempt as CSV", "Save as a CSV file"):
        for button in page.get_by_role("button", name=name).all():
            button.click()


@each_page
def test_paper_holds_the_content_and_no_navigation(visit: Any, handbook: Any, kind: str) -> None:
    page = visit(address(handbook, kind), **DESKTOP).page
    page.emulate_media(media="print")
    expect(page.locator("h1").first).to_be_visible()
    for part in (".md-header", ".md-tabs", ".md-sidebar", ".md-search", ".md-footer"):
        assert page.locator(f"{part}:visible").count() == 0, part


def test_a_printed_skill_holds_cautions_steps_errors_and_the_deferral(visit: Any, handbook: Any) -> None:
    made = visit(address(handbook, "skill"), **DESKTOP)
    html = BeautifulSoup((handbook.folder / handbook.pages["skill"]).read_text(encoding="utf-8"), "html.parser")
    pdf = PdfReader(io.BytesIO(made.page.pdf(format="A4")))
    printed = squeezed(" ".join(sheet.extract_text() for sheet in pdf.pages))
    wanted = [node.get_text() for node in html.select(".rb-caution-what, .rb-step h3, .rb-errors dt, .rb-always li")]
    assert len(wanted) >= 10
    missing = [text for text in wanted if squeezed(text) not in printed]
    assert missing == []
    for absent in ("Table of contents", "Save this attempt as CSV", "Switch to dark"):
        assert squeezed(absent) not in printed


def test_a_printed_lab_day_holds_the_timetable_four_ways(visit: Any, handbook: Any) -> None:
    made = visit(address(handbook, "lab day"), **DESKTOP)
    html = BeautifulSoup((handbook.folder / handbook.pages["lab day"]).read_text(encoding="utf-8"), "html.parser")
    for hidden in html.select(".rb-visually-hidden"):
        hidden.decompose()
    pdf = PdfReader(io.BytesIO(made.page.pdf(format="Letter")))
    printed = squeezed(" ".join(sheet.extract_text() for sheet in pdf.pages))
    rows = [node.get_text() for node in html.select(".rb-timetable th, .rb-timetable td strong, .rb-turn-card h3")]
    wanted = [*rows, *(node.get_text() for node in html.select(".rb-turns > li, .rb-set-up-station h3"))]
    assert len(wanted) >= 60
    missing = [text for text in wanted if squeezed(text) not in printed]
    assert missing == []
    # The table is not cut at the edge of the paper: its last column prints too.
    last = html.select(".rb-timetable thead th")[-1].get_text()
    assert squeezed(last) in printed


def test_a_wide_timetable_scrolls_by_keyboard_in_a_frame_of_its_own(visit: Any, handbook: Any) -> None:
    page = visit(address(handbook, "lab day"), **PHONE).page
    frame = page.locator(".rb-wide")
    frame.focus()
    before = frame.evaluate("node => [node.scrollLeft, node.scrollWidth > node.clientWidth]")
    assert before == [0, True]
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    page.wait_for_function("() => document.querySelector('.rb-wide').scrollLeft > 0")
    head = page.locator(".rb-timetable tbody th").first.bounding_box()
    box = frame.bounding_box()
    assert head is not None
    assert box is not None
    assert head["x"] >= box["x"] - 1, "the times stay in view"


def squeezed(text: str) -> str:
    """Letters and digits only: a PDF breaks and hyphenates lines where it likes."""
    return (
        "".join(character for character in text.casefold() if character.isalnum()).replace("ﬁ", "fi").replace("ﬂ", "fl")
    )


def tab_to(page: Page, selector: str, most: int = 400) -> None:
    for _ in range(most):
        page.keyboard.press("Tab")
        if page.evaluate("selector => document.activeElement.matches(selector)", selector):
            return
    raise AssertionError(f"the keyboard does not reach {selector}")


def test_the_keyboard_alone_works_a_skill_page(visit: Any, handbook: Any) -> None:
    page = visit(address(handbook, "skill"), **DESKTOP).page
    page.keyboard.press("Tab")
    assert page.evaluate("() => document.activeElement.matches('.md-skip')"), "the first stop skips to the content"
    page.keyboard.press("Enter")
    tab_to(page, ".rb-pacer button")
    button = page.locator(".rb-pacer button").first
    page.keyboard.press("Space")
    expect(button).to_have_attribute("aria-pressed", "true")
    expect(page.locator(".rb-pacer-word").first).not_to_be_empty()
    page.keyboard.press("Escape")
    expect(button).to_have_attribute("aria-pressed", "false")
    tab_to(page, ".rb-fold > summary")
    page.keyboard.press("Enter")
    assert page.evaluate("() => document.activeElement.parentElement.open")
    tab_to(page, ".rb-tick input")
    page.keyboard.press("Space")
    expect(page.locator(".rb-tick input").first).to_be_checked()
    expect(page.locator(".rb-practice-progress")).to_contain_text("1 of ")


def test_a_skill_page_paces_by_its_quantity(visit: Any, handbook: Any) -> None:
    page = visit(address(handbook, "skill"), before=lambda page: page.clock.install(), **DESKTOP).page
    pacer = page.locator(".rb-pacer").first
    interval = int(pacer.get_attribute("data-interval-ms") or 0)
    words = (pacer.get_attribute("data-words") or "").split("|")
    pacer.get_by_role("button").click()
    seen = []
    for _ in words:
        seen.append(pacer.locator(".rb-pacer-word").text_content())
        page.clock.run_for(interval / len(words))
    assert [text for text in seen if text] == words
    assert "2 ×" in (pacer.locator(".rb-pacer-tally").text_content() or "")


def test_ticks_on_a_skill_page_survive_a_reload(visit: Any, handbook: Any) -> None:
    page = visit(address(handbook, "skill"), **PHONE).page
    boxes = page.locator(".rb-tick input")
    total = boxes.count()
    critical = page.locator(".rb-tick[data-critical]").count()
    assert total > critical > 0
    page.locator(".rb-tick:not([data-critical])").first.tap()
    page.locator(".rb-tick[data-critical]").first.tap()
    page.reload()
    expect(page.locator(".rb-tick input:checked")).to_have_count(2)
    left = f"{critical - 1} critical left" if critical > 1 else "no critical step left"
    expect(page.locator(".rb-practice-progress")).to_have_text(f"2 of {total} steps, {left}")


def test_the_scripts_work_from_a_folder(visit: Any, handbook: Any) -> None:
    page = visit(Path(handbook.folder, handbook.pages["skill"]).resolve().as_uri(), **DESKTOP).page
    page.locator(".rb-pacer button").first.click()
    expect(page.locator(".rb-pacer button").first).to_have_attribute("aria-pressed", "true")
    page.locator(".rb-tick").first.click()
    page.reload()
    expect(page.locator(".rb-tick input").first).to_be_checked()


def test_without_script_a_skill_page_can_still_be_read_and_ticked(visit: Any, handbook: Any) -> None:
    page = visit(address(handbook, "skill"), java_script_enabled=False, **DESKTOP).page
    expect(page.locator(".rb-pacer-plain").first).to_contain_text("Count aloud")
    page.locator(".rb-tick").first.click()
    expect(page.locator(".rb-tick input").first).to_be_checked()
