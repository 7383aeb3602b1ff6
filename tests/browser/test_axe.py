"""The rules of axe-core on every type of page: light, dark, phone, desktop and paper.

axe-core checks its own default rules, which cover WCAG 2.0 to 2.2 A and AA and its best practices.
"""

from __future__ import annotations

from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from browser_helpers import DESKTOP, PHONE
from test_pages import address, each_page, open_everything

pytestmark = pytest.mark.browser

TOLD = {"resultTypes": ["violations"]}
"""All rules run; nodes that pass are counted and not described one by one, which takes three quarters of the time."""


@each_page
@pytest.mark.parametrize(("device", "scheme"), [("phone", "dark"), ("desktop", "light")])
def test_axe_finds_nothing(visit: Any, handbook: Any, kind: str, scheme: str, device: str) -> None:
    """Two of four pairs: the colors of a scheme are the same names on each device, so each is seen in both schemes."""
    options = PHONE if device == "phone" else DESKTOP
    page = visit(address(handbook, kind), color_scheme=scheme, reduced_motion="reduce", **options).page
    assert page.locator("body").get_attribute("data-md-color-scheme") == ("slate" if scheme == "dark" else "default")
    open_everything(page)
    found = Axe().run(page, options=TOLD)
    assert len(found.response["passes"]) >= 20, "axe did not run all its rules"
    assert found.violations_count == 0, found.generate_report()


@each_page
def test_axe_finds_nothing_on_paper(visit: Any, handbook: Any, kind: str) -> None:
    """As print media shows the page. A target's size is left out: paper is not tapped."""
    page = visit(address(handbook, kind), reduced_motion="reduce", **DESKTOP).page
    open_everything(page)
    page.emulate_media(media="print")
    assert page.evaluate("() => matchMedia('print').matches")
    assert not page.locator(".md-header").is_visible(), "the print styles are not in force"
    found = Axe().run(page, options=TOLD | {"rules": {"target-size": {"enabled": False}}})
    assert found.response["passes"], "axe did not run"
    assert found.violations_count == 0, found.generate_report()
