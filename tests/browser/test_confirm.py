"""The page to confirm doubtful marks: answers are saved as CSV, nothing leaves the page, anyone can use it."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from browser_helpers import DESKTOP, PHONE
from conftest import TOP, Visit

from generator.reading import read_curriculum
from generator.rendering.reports.confirm import Asked, AskedSheet, RefusedPage, confirm_html

pytestmark = pytest.mark.browser
PIXEL = bytes.fromhex(
    "89504e470d0a1a0a0000000d49484452000000010000000108000000003a7e9b550000000a49444154789c6360000000020001e221bc330000"
    "000049454e44ae426082"
)


@pytest.fixture
def page_file(tmp_path: Path) -> Path:
    curriculum, _ = read_curriculum(TOP / "curriculum")
    assert curriculum is not None
    step = curriculum.skills["oral-adjunct"].critical_steps[0].id
    sheet = AskedSheet(
        id="abc123",
        skill="oral-adjunct",
        where="<script>alert(1)</script>.png, page 1",
        asked=(
            Asked(what=f"step:{step}:attempt-2", asks="What does this box hold?",
                  choices=("empty", "marked", "line", "filled"), guess="line", picture=PIXEL),
            Asked(what="learner", asks="Which learner code is written here?", choices=(), guess=None, picture=PIXEL),
        ),
    )  # fmt: skip
    refused = RefusedPage(where="scan.pdf, page 3", reason="no code", remedy="Scan it again.", picture=PIXEL)
    path = tmp_path / "confirm.html"
    path.write_text(confirm_html(curriculum, [sheet], [refused], command="rungbook read …"), encoding="utf-8")
    return path


def test_answers_are_saved_as_rows(page_file: Path, visit: Callable[..., Visit], tmp_path: Path) -> None:
    opened = visit(page_file.as_uri(), **PHONE)
    page = opened.page
    assert "Critical. Attempt 2." in page.locator(".place").inner_text()
    page.get_by_label("Ticked: done").check()
    page.get_by_label("Type it").fill("=L01")
    assert page.locator("#count").inner_text() == "2 of 2 answered"
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Save the answers").click()
    waiting.value.save_as(tmp_path / "answers.csv")
    rows = list(csv.DictReader(io.StringIO((tmp_path / "answers.csv").read_text(), newline="")))
    assert [(row["sheet"], row["answer"]) for row in rows] == [("abc123", "marked"), ("abc123", "'=L01")]
    assert [url for url in opened.requests if not url.startswith(("file:", "blob:", "data:"))] == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("device", [PHONE, DESKTOP], ids=["phone", "desktop"])
def test_anyone_can_use_it(page_file: Path, visit: Callable[..., Visit], device: dict[str, Any], scheme: str) -> None:
    page = visit(page_file.as_uri(), color_scheme=scheme, **device).page
    found = Axe().run(page).response
    assert len(found["passes"]) >= 10, "axe did not run"
    assert found["violations"] == []


def test_anyone_can_use_it_on_paper(page_file: Path, visit: Callable[..., Visit]) -> None:
    page = visit(page_file.as_uri(), **DESKTOP).page
    page.emulate_media(media="print")
    found = Axe().run(page, options={"rules": {"target-size": {"enabled": False}}}).response
    assert len(found["passes"]) >= 8, "axe did not run"
    assert found["violations"] == []
