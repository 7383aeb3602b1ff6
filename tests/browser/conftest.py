"""One Chromium, one small page for the scripts and one built handbook for all browser tests of a run."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from browser_helpers import (
    CHROMIUM_ARGUMENTS,
    STRICT_POLICY,
    chromium_path,
    pacer_html,
    practice_html,
    served,
    write_page,
)
from playwright.sync_api import Browser, Page, Route, sync_playwright

STEPS = (
    ("seal", "Seal the mask with both hands.", True),
    ("squeeze", "Squeeze the bag until the chest starts to rise.", True),
    ("release", "Let the bag fill.", False),
    ("watch", "Watch the chest fall, then start again.", False),
)
LADDER = (
    {"rung": "isolate", "name": "Isolate", "trainer": "half-torso", "steps": ["seal", "squeeze"]},
    {"rung": "perform", "name": "Perform", "trainer": "whole-body"},
)
ROLES = ({"id": "mask", "name": "Mask holder"}, {"id": "bag", "name": "Bag squeezer"})
WORDS = ("squeeze", "two", "three", "four", "five", "six")


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """One headless Chromium. Without one the tests are skipped, but never in CI: there they fail."""
    path = chromium_path()
    if path is None:
        reason = "no Chromium: install Debian's chromium package or set RUNGBOOK_CHROMIUM to its path"
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=str(path), args=list(CHROMIUM_ARGUMENTS))
        yield browser
        browser.close()


@dataclass(slots=True)
class Visit:
    """A page with all that went over the wire or went wrong while it was open."""

    page: Page
    requests: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)

    def watch(self) -> None:
        self.page.on("request", lambda request: self.requests.append(request.url))
        self.page.on("pageerror", lambda error: self.errors.append(f"page error: {error}"))
        self.page.on(
            "console",
            lambda message: self.errors.append(message.text) if message.type == "error" else None,
        )

    @property
    def elsewhere(self) -> list[str]:
        """Requests that left this machine's own address, refused ones included."""
        asked = (*self.requests, *self.refused)
        return sorted({url for url in asked if _leaves(url)})


def _leaves(url: str) -> bool:
    parts = urlsplit(url)
    return parts.scheme not in ("data", "blob", "file", "about") and parts.hostname != "127.0.0.1"


@pytest.fixture
def visit(chromium: Browser) -> Iterator[Callable[..., Visit]]:
    """`visit(address, **context options)` opens a page of its own; every script error fails the test."""
    open_visits: list[Visit] = []

    def go(address: str, *, before: Callable[[Page], None] | None = None, **options: Any) -> Visit:
        context = chromium.new_context(**options)
        made = Visit(context.new_page())

        def judge(route: Route) -> None:
            if _leaves(route.request.url):
                made.refused.append(route.request.url)
                route.abort()
            else:
                route.continue_()

        context.route("**/*", judge)
        made.watch()
        open_visits.append(made)
        if before:
            before(made.page)
        made.page.goto(address)
        return made

    yield go
    errors = [error for made in open_visits for error in made.errors]
    for made in open_visits:
        made.page.context.close()
    assert errors == []


@pytest.fixture(scope="session")
def small_site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Small pages for the scripts alone, served under a strict Content-Security-Policy."""
    folder: Path = tmp_path_factory.mktemp("scripts")
    slow = pacer_html("breath", 6000, WORDS, "1 breath every 6 seconds")
    quick = pacer_html("quick", 300, ("one", "two", "three"), "1 squeeze every 0.3 seconds")
    bare = pacer_html("bare", 600, (), "100 presses a minute")
    broken = pacer_html("broken", "soon", ("one",), "no pace")
    write_page(folder, "pacer.html", slow, quick, bare, broken)
    for revision in ("1a2b3c4d", "5e6f7a8b"):
        form = practice_html(STEPS, skill="mask-breath", revision=revision, ladder=LADDER, roles=ROLES)
        write_page(folder, f"practice-{revision}.html", form)
    write_page(folder, "plain.html", practice_html(STEPS, skill="mask-breath", revision="1a2b3c4d"))
    write_page(folder, "other.html", practice_html(STEPS, skill="other-skill", revision="1a2b3c4d"))
    with served(folder, policy=STRICT_POLICY) as address:
        yield address
