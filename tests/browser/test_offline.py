"""The handbook without a network: kept after one visit, told when it is old, opened from a folder and from a zip.

Every test counts requests that would leave this machine; `visit` fails on any script error.
"""

from __future__ import annotations

import json
import shutil
import sys
import zipfile
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from browser_helpers import DESKTOP, PHONE, served
from playwright.sync_api import Browser, Page, expect

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from attack_strings import attacks, with_texts
from tiny_handbook import BASE, built, laid_out

from generator.build import prepare, publish
from generator.mkdocs_plugin import make_site
from generator.reading import read_curriculum

pytestmark = pytest.mark.browser
SKILL = "skills/airway/mask-breath.html"
SHEET = "sheets/checklist-mask-breath-a4.pdf"


@pytest.fixture(scope="module")
def handbook_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return laid_out(tmp_path_factory.mktemp("offline"))


@pytest.fixture(scope="module")
def site(handbook_folder: Path) -> Path:
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(handbook_folder)
        return built(handbook_folder, "--zip")


@pytest.fixture(scope="module")
def newer(handbook_folder: Path, site: Path) -> Path:
    """The same handbook with one word changed: another edition, of which most files are the same."""
    skill = handbook_folder / "curriculum" / "skills" / "airway" / "mask-breath.yaml"
    text = skill.read_text(encoding="utf-8")
    skill.write_text(text.replace("Put on gloves.", "Put on clean gloves.", 1), encoding="utf-8")
    try:
        with pytest.MonkeyPatch.context() as patch:
            patch.chdir(handbook_folder)
            return built(handbook_folder, site="newer")
    finally:
        skill.write_text(text, encoding="utf-8")


@pytest.fixture
def live(site: Path, tmp_path: Path) -> Iterator[tuple[Path, str]]:
    """A copy of the site that a test may replace, served with the policy of its own `_headers` file."""
    folder = Path(shutil.copytree(site, tmp_path / "live"))
    with served(folder, policy=policy_in(folder)) as address:
        yield folder, address


def pages_in(site: Path) -> list[str]:
    """Every page but the one for missing addresses, which is made for the published address alone."""
    found = (path.relative_to(site).as_posix() for path in site.rglob("*.html"))
    return sorted(name for name in found if name != "404.html")


def policy_in(site: Path) -> str:
    lines = (site / "_headers").read_text(encoding="utf-8").splitlines()
    return next(line.split(": ", 1)[1] for line in lines if "Content-Security-Policy" in line)


def edition_in(site: Path) -> str:
    name = json.loads((site / "edition.json").read_text(encoding="utf-8"))["edition"]
    assert len(name) == 8
    return str(name)


def wait_until_kept(page: Page) -> None:
    expect(page.locator(".rb-edition")).to_contain_text("kept on this device and opens without a network")


def search_for(page: Page, words: str) -> list[str]:
    page.locator("input.md-search__input").click()
    page.locator("input.md-search__input").press_sequentially(words, delay=5)
    page.locator(".md-search-result__item a").first.wait_for(state="attached")
    return page.locator(".md-search-result__item a").evaluate_all("links => links.map(link => link.pathname)")


def start_pacer(page: Page) -> None:
    pacer = page.locator(".rb-pacer").first
    pacer.scroll_into_view_if_needed()
    before = pacer.inner_text()
    pacer.locator("button").first.click()
    page.wait_for_function("([node, before]) => node.innerText !== before", arg=[pacer.element_handle(), before])


def test_after_one_visit_every_page_opens_without_a_network(visit: Any, live: tuple[Path, str], site: Path) -> None:
    seen = visit(live[1] + "index.html", **DESKTOP)
    page = seen.page
    wait_until_kept(page)
    assert edition_in(site) in page.locator(".rb-edition").inner_text()
    page.context.set_offline(True)
    assert len(pages_in(site)) > 15
    for name in pages_in(site):
        answer = page.goto(live[1] + name)
        assert answer is not None
        assert (answer.status, answer.from_service_worker) == (200, True), name
    page.goto(live[1] + SKILL)
    expect(page.locator(".rb-edition")).to_contain_text("No network")
    start_pacer(page)
    assert any(SKILL in path for path in search_for(page, "mask"))
    assert seen.elsewhere == []


def test_a_sheet_is_kept_when_it_was_opened_and_said_to_be_missing_when_not(
    visit: Any, live: tuple[Path, str], site: Path
) -> None:
    page = visit(live[1] + "index.html", **DESKTOP).page
    wait_until_kept(page)
    fetch = "address => fetch(address).then(r => r.arrayBuffer().then(b => [r.status, b.byteLength]))"
    size = (site / SHEET).stat().st_size
    assert page.evaluate(fetch, live[1] + SHEET) == [200, size]
    page.context.set_offline(True)
    assert page.evaluate(fetch, live[1] + SHEET) == [200, size]
    other = page.context.new_page()
    answer = other.goto(live[1] + SHEET.replace("checklist", "practice").replace("a4", "us-letter"))
    assert answer is not None
    assert answer.status == 503
    expect(other.locator("main")).to_contain_text("never opened on this device")
    expect(other.locator("main")).to_contain_text("practice-mask-breath-us-letter.pdf")
    other.get_by_role("link", name="Back to the handbook").click()
    expect(other.locator(".rb-edition")).to_contain_text("No network")


def replace_site(folder: Path, by: Path) -> None:
    for path in sorted(by.rglob("*")):
        target = folder / path.relative_to(by)
        if path.is_dir():
            target.mkdir(exist_ok=True)
        else:
            shutil.copyfile(path, target)


def test_a_newer_edition_is_told_and_taken_by_a_button_only(
    visit: Any, live: tuple[Path, str], site: Path, newer: Path
) -> None:
    seen = visit(live[1] + SKILL, **PHONE)
    page = seen.page
    wait_until_kept(page)
    fetch = "address => fetch(address).then(r => r.arrayBuffer()).then(b => b.byteLength)"
    page.evaluate(fetch, live[1] + SHEET)
    replace_site(live[0], newer)
    asked = len(seen.requests)
    page.reload()
    bar = page.locator(".rb-newer")
    expect(bar).to_contain_text(edition_in(newer))
    expect(page.locator("#step-gloves")).to_contain_text("Put on gloves.")
    page.goto(live[1] + SKILL)
    expect(page.locator(".rb-edition")).to_contain_text(edition_in(site))
    expect(page.locator("#step-gloves")).to_contain_text("Put on gloves.")
    box = bar.get_by_role("button").bounding_box()
    assert box is not None
    assert box["height"] >= 44
    bar.get_by_role("button", name="Show it").click()
    expect(page.locator("#step-gloves")).to_contain_text("Put on clean gloves.")
    expect(page.locator(".rb-edition")).to_contain_text(edition_in(newer))
    expect(page.locator(".rb-newer")).to_have_count(0)
    page.context.set_offline(True)
    page.reload()
    expect(page.locator("#step-gloves")).to_contain_text("Put on clean gloves.")
    # The sheet that was opened is another one now, so the old one is gone and not shown as if it were current.
    assert page.evaluate("address => fetch(address).then(r => r.status)", live[1] + SHEET) == 503
    assert len(seen.errors) == 1
    assert "503" in seen.errors.pop()
    assert page.evaluate("() => caches.keys().then(names => names.length)") == 2
    assert asked < len(seen.requests)
    assert seen.elsewhere == []


def test_a_half_placed_edition_is_not_taken(visit: Any, live: tuple[Path, str], site: Path, newer: Path) -> None:
    page = visit(live[1] + "index.html", **DESKTOP).page
    wait_until_kept(page)
    replace_site(live[0], newer)
    (live[0] / SKILL).write_bytes((site / SKILL).read_bytes())
    page.reload()
    page.evaluate("() => navigator.serviceWorker.ready.then(r => r.update()).catch(() => null)")
    page.wait_for_timeout(800)
    expect(page.locator(".rb-newer")).to_have_count(0)
    page.context.set_offline(True)
    page.goto(live[1] + SKILL)
    expect(page.locator(".rb-edition")).to_contain_text(edition_in(site))


def test_the_zip_opens_from_a_folder_with_its_search(visit: Any, site: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(site.with_name("site.zip")) as archive:
        assert {one.date_time for one in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        archive.extractall(tmp_path / "stick with spaces é")
    folder = tmp_path / "stick with spaces é" / "site"
    seen = visit((folder / SKILL).as_uri(), **DESKTOP)
    page = seen.page
    expect(page.locator(".rb-edition")).to_have_text(f"Edition {edition_in(site)}.")
    start_pacer(page)
    # A slip of the fingers is forgiven here too, where the worker runs in a frame.
    assert any(SKILL in path for path in search_for(page, "breahts"))
    page.keyboard.press("Escape")
    page.get_by_role("link", name="Evidence").first.click()
    expect(page).to_have_title("Evidence · " + page.title().split(" · ")[1])
    assert (folder / SHEET).read_bytes() == (site / SHEET).read_bytes()
    assert seen.elsewhere == []


POLICY_EVENTS = """() => {
  window.refused = [];
  document.addEventListener("securitypolicyviolation",
    (event) => window.refused.push(`${event.violatedDirective} ${event.blockedURI}`));
}"""


@pytest.mark.parametrize("over", ["http", "file"])
def test_no_page_asks_for_what_its_policy_refuses(visit: Any, site: Path, over: str) -> None:
    with served(site, policy=policy_in(site)) as address:
        base = address if over == "http" else site.as_uri() + "/"
        seen = visit(base + "index.html", before=lambda page: page.add_init_script(f"({POLICY_EVENTS})()"), **DESKTOP)
        page = seen.page
        for name in pages_in(site):
            page.goto(base + name)
            page.wait_for_load_state("load")
            assert page.evaluate("() => window.refused") == [], name
            assert page.evaluate("() => document.documentElement.classList.contains('js')"), "the theme's script ran"
        page.locator("label[for=__palette_1], label[for=__palette_0]").locator("visible=true").first.click()
        scheme = page.evaluate("() => document.body.getAttribute('data-md-color-scheme')")
        page.goto(base + SKILL)
        assert page.evaluate("() => document.body.getAttribute('data-md-color-scheme')") == scheme


def test_a_script_in_a_page_of_prose_does_not_run(chromium: Browser, handbook_folder: Path, site: Path) -> None:
    about = handbook_folder / "curriculum" / "pages" / "about.md"
    text = about.read_text(encoding="utf-8")
    attacks = (
        "<script>window.ran = 1</script>",
        '<script>__md_scope=new URL(".",location);window.ran = 2</script>',
        '<img src="nothing.png" alt="x" onerror="window.ran = 3">',
    )
    about.write_text(f"{text}\n\n" + "\n\n".join(attacks) + "\n", encoding="utf-8")
    (about.parent / "nothing.png").write_bytes(b"not a picture")
    try:
        with pytest.MonkeyPatch.context() as patch:
            patch.chdir(handbook_folder)
            hostile = built(handbook_folder, "--no-sheets", site="hostile")
    finally:
        about.write_text(text, encoding="utf-8")
        (about.parent / "nothing.png").unlink()
    page = chromium.new_page()
    page.add_init_script(f"({POLICY_EVENTS})()")
    for base in (None, hostile.as_uri() + "/"):
        if base:
            page.goto(base + "about.html")
        else:
            with served(hostile) as address:
                page.goto(address + "about.html")
                page.wait_for_function("() => window.refused.length >= 3")
        page.wait_for_function("() => window.refused.length >= 3")
        assert page.evaluate("() => window.ran") is None
    page.close()


def test_search_shows_hostile_words_as_words(visit: Any, handbook_folder: Path, tmp_path: Path) -> None:
    """The theme puts what it finds into the page as HTML; no attack may become an element there."""
    given = [one for kind in ("html", "events", "svg", "links") for one in attacks()[kind]]
    turn = iter(range(10**6))
    curriculum, _ = read_curriculum(BASE)
    assert curriculum is not None
    hostile = with_texts(curriculum, lambda path: f"zebra {given[next(turn) % len(given)]}")
    prepared = prepare(hostile, (), today=date(2026, 3, 1), papers=(), store=tmp_path / "store")
    config = handbook_folder / "mkdocs.yml"
    publish(prepared, tmp_path / "site", make_site=lambda ready, out: make_site(ready, out, config_file=config))
    with served(tmp_path / "site", policy=policy_in(tmp_path / "site")) as address:
        seen = visit(address + SKILL, **DESKTOP)
        assert len(search_for(seen.page, "zebra")) > 5
        found = seen.page.locator(".md-search-result")
        assert "<" in found.inner_text()
        names = found.evaluate(
            "node => [...new Set([...node.querySelectorAll('.md-search-result__item *')].map(e => e.localName))]"
        )
        assert not {*names} & {"script", "img", "svg", "iframe", "object", "embed", "style", "input", "form", "video"}
        handlers = (
            "node => [...node.querySelectorAll('*')].some(e => e.getAttributeNames().some(n => n.startsWith('on')))"
        )
        assert not found.evaluate(handlers)
        away = "node => [...node.querySelectorAll('a')].filter(a => a.origin !== location.origin).length"
        assert found.evaluate(away) == 0
        assert seen.elsewhere == []
