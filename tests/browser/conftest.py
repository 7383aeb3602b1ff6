"""One Chromium, one small page for the scripts and one built handbook for all browser tests of a run."""

from __future__ import annotations

import os
import subprocess
import sys
import time
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
        context.set_default_timeout(10_000)
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


TODAY = "2026-11-25"
"""The day the handbook is judged by, so that a build does not fail when a review falls due."""
TOP = Path(__file__).resolve().parents[2]


@dataclass(frozen=True, slots=True, kw_only=True)
class Handbook:
    """The built handbook: its folder, its address, and one page of each type."""

    folder: Path
    address: str
    pages: dict[str, str]


def _build(folder: Path) -> None:
    command = "import sys; from generator.cli import main; sys.exit(main(sys.argv[1:]))"
    words = ["build", "--site", str(folder), "--on", TODAY]
    done = subprocess.run([sys.executable, "-c", command, *words], cwd=TOP, capture_output=True, text=True, check=False)
    if done.returncode:
        raise RuntimeError(f"the shipped curriculum does not build:\n{done.stdout}{done.stderr}")


def _built_once(base: Path) -> Path:
    """Build the shipped curriculum once for all worker processes of a run; the others wait for it."""
    folder, lock, failed = base / "handbook", base / "handbook.lock", base / "handbook.failed"
    try:
        lock.mkdir()
    except FileExistsError:
        for _ in range(3000):
            if (folder / "index.html").is_file():
                return folder
            if failed.exists():
                break
            time.sleep(0.1)
        raise RuntimeError("another worker process could not build the handbook") from None
    try:
        _build(folder)
    except BaseException:
        failed.touch()
        raise
    return folder


def one_of_each(folder: Path) -> dict[str, str]:
    """One page of each type. The skill is one with a pacer; without one there is nothing to try the pacer on."""
    skills = sorted(path for path in folder.glob("skills/*/*.html") if path.name != "index.html")
    paced = [path for path in skills if 'class="rb-pacer"' in path.read_text(encoding="utf-8")]
    others = ("index.html", "worth.html", "gaps.html", "wear.html")
    trainers = sorted(path for path in folder.glob("trainers/*.html") if path.name not in others)
    chosen = {
        "home": folder / "index.html",
        "strand": min(folder.glob("skills/*/index.html")),
        "skill": paced[0],
        "trainers": folder / "trainers" / "index.html",
        "trainer": trainers[0],
        **{name: folder / "trainers" / f"{name}.html" for name in ("worth", "gaps", "wear")},
        "course map": folder / "course.html",
        **{name: folder / f"{name}.html" for name in ("levels", "numbers", "evidence", "glossary", "health")},
        "lab days": folder / "labs" / "index.html",
        "lab day": min(path for path in folder.glob("labs/*.html") if path.name != "index.html"),
        "stations": folder / "stations" / "all.html",
        "station": min(path for path in folder.glob("stations/*.html") if path.name != "all.html"),
        "scenarios": folder / "scenarios" / "index.html",
        "scenario": folder / "scenarios" / "down-at-the-bus-stop.html",
        "scenario run": folder / "scenarios" / "down-at-the-bus-stop-run.html",
        "outcomes": folder / "outcomes.html",
        "review log": folder / "review-log" / "index.html",
        "review": min(path for path in folder.glob("review-log/*.html") if path.name != "index.html"),
        "prose": folder / "about.html",
        "not found": folder / "404.html",
    }
    return {name: path.relative_to(folder).as_posix() for name, path in chosen.items()}


@pytest.fixture(scope="session")
def handbook(tmp_path_factory: pytest.TempPathFactory, chromium: Browser) -> Iterator[Handbook]:
    """The shipped curriculum as a site, served on this machine. RUNGBOOK_SITE names one that is built already."""
    ready = os.environ.get("RUNGBOOK_SITE")
    base = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        base = base.parent
    folder = Path(ready) if ready else _built_once(base)
    with served(folder) as address:
        yield Handbook(folder=folder, address=address, pages=one_of_each(folder))
