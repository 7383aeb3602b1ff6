"""The private report in a real browser, opened from the disk: no request, no sideways scrolling, no axe violation.

Reflow is WCAG 2.2, success criterion 1.4.10; axe-core checks its own default rules.
"""

from __future__ import annotations

import io
import sys
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from browser_helpers import DESKTOP, PHONE
from pypdf import PdfReader

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from invented_standings import invented_report

from generator.reading import read_curriculum

pytestmark = pytest.mark.browser
CURRICULUM = Path(__file__).resolve().parents[1] / "cases" / "base" / "curriculum"


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Address of a report on an invented cohort, in a folder that holds nothing else."""
    curriculum, _ = read_curriculum(CURRICULUM)
    assert curriculum is not None
    text = invented_report(curriculum, 24)
    path = tmp_path_factory.mktemp("private") / "report.html"
    path.write_text(text, encoding="utf-8")
    return path.as_uri()


@pytest.mark.parametrize("device", [PHONE, DESKTOP], ids=["phone", "desktop"])
def test_one_file_and_no_request(visit: Any, report: str, device: dict[str, Any]) -> None:
    made = visit(report, **device)
    made.page.evaluate("() => document.querySelectorAll('details').forEach(each => { each.open = true })")
    made.page.locator("#reading").scroll_into_view_if_needed()
    made.page.wait_for_load_state("networkidle")
    assert made.requests == [report]
    assert made.refused == []


@pytest.mark.parametrize("width", [320, 390, 1280])
def test_no_sideways_scrolling(visit: Any, report: str, width: int) -> None:
    page = visit(report, viewport={"width": width, "height": 800}).page
    page.evaluate("() => document.querySelectorAll('details').forEach(each => { each.open = true })")
    assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("device", [PHONE, DESKTOP], ids=["phone", "desktop"])
def test_axe_finds_nothing(visit: Any, report: str, device: dict[str, Any], scheme: str) -> None:
    # The page's own policy forbids inline scripts, and that is how axe is brought in.
    page = visit(report, bypass_csp=True, color_scheme=scheme, **device).page
    page.evaluate("() => document.querySelectorAll('details').forEach(each => { each.open = true })")
    found = Axe().run(page, options={"resultTypes": ["violations"]})
    assert found.response["passes"], "axe did not run"
    assert found.violations_count == 0, found.generate_report()


def test_axe_finds_nothing_on_paper(visit: Any, report: str) -> None:
    """As print media shows the page. A target's size is left out: paper is not tapped."""
    page = visit(report, bypass_csp=True, **DESKTOP).page
    page.evaluate("() => document.querySelectorAll('details').forEach(each => { each.open = true })")
    page.emulate_media(media="print")
    found = Axe().run(page, options={"rules": {"target-size": {"enabled": False}}})
    assert found.response["passes"], "axe did not run"
    assert found.violations_count == 0, found.generate_report()


def test_heads_of_the_board_stay_in_sight(visit: Any, report: str) -> None:
    page = visit(report, viewport={"width": 360, "height": 420}).page
    frame = page.locator(".frame")
    frame.scroll_into_view_if_needed()
    frame.evaluate("each => each.scrollTo(60, 600)")
    box = frame.bounding_box()
    head = page.locator(".board th.skill").first.bounding_box()
    last = page.locator(".board tbody tr").last.locator("th").bounding_box()
    assert box is not None
    assert head is not None
    assert last is not None
    assert frame.evaluate("each => each.scrollTop") > 0
    assert head["y"] == pytest.approx(box["y"], abs=2)
    assert last["x"] == pytest.approx(box["x"], abs=2)


def test_the_board_prints_on_landscape_pages(visit: Any, report: str) -> None:
    made = PdfReader(io.BytesIO(visit(report, **DESKTOP).page.pdf(prefer_css_page_size=True)))
    wide = [page for page in made.pages if page.mediabox.width > page.mediabox.height]
    assert wide
    assert all("Cohort board" in page.extract_text() or "Learner" in page.extract_text() for page in wide)
    assert made.pages[0].mediabox.width < made.pages[0].mediabox.height
