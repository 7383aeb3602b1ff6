"""The door for MkDocs: real small builds through the plugin, with and without problems."""

from __future__ import annotations

import json
import logging
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import date
from importlib.util import find_spec
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from bs4 import BeautifulSoup
from mkdocs.commands.build import build
from mkdocs.config import load_config
from mkdocs.exceptions import Abort

from generator import mkdocs_plugin
from generator.build import Again, prepare, problems_of
from generator.diagnostics import Location, Problem, Severity
from generator.mkdocs_plugin.unchanged import Unchanged

ROOT = Path(__file__).parent.parent
SKILL = "skills/airway/mask-breath.html"

Builder = Callable[..., Path]


def on_a_fixed_day(monkeypatch: pytest.MonkeyPatch) -> None:
    """The base curriculum is clean on this day; the plugin reads the clock itself."""

    class Day(date):
        @classmethod
        def today(cls) -> date:
            return date(2026, 3, 1)

    monkeypatch.setattr(mkdocs_plugin, "date", Day)


@pytest.fixture
def project(tiny: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A handbook of its own: the shipped configuration and overrides over the tiny curriculum, without PDFs."""
    on_a_fixed_day(monkeypatch)
    folder = tiny.parent
    text = (ROOT / "mkdocs.yml").read_text(encoding="utf-8")
    assert "      curriculum: curriculum" in text
    text = text.replace("      curriculum: curriculum", "      curriculum: curriculum\n      sheets: false")
    (folder / "mkdocs.yml").write_text(text, encoding="utf-8")
    shutil.copytree(ROOT / "site_overrides", folder / "site_overrides")
    return folder


@pytest.fixture
def built(project: Path) -> Builder:
    """Builds the project as the named command would; gives the site's folder."""

    def make(command: str = "build", *, strict: bool = False) -> Path:
        config = load_config(str(project / "mkdocs.yml"), strict=strict)
        config.plugins.on_startup(command=command, dirty=False)
        build(config, serve_url="http://127.0.0.1:8000/" if command == "serve" else None)
        return Path(config.site_dir)

    return make


@pytest.fixture
def said(caplog: pytest.LogCaptureFixture) -> Iterator[pytest.LogCaptureFixture]:
    with caplog.at_level(logging.WARNING, logger="mkdocs"):
        yield caplog


def soup_of(site: Path, page: str) -> BeautifulSoup:
    return BeautifulSoup((site / page).read_text(encoding="utf-8"), "html.parser")


def break_skill(project: Path, old: str, new: str) -> None:
    path = project / "curriculum" / "skills" / "airway" / "mask-breath.yaml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def test_a_strict_build_is_silent_and_whole(built: Builder, said: pytest.LogCaptureFixture) -> None:
    site = built(strict=True)
    sheets = [r.message for r in said.records if "sheets/" in r.message]
    assert [r.message for r in said.records if r.message not in sheets] == []
    for page in (
        "index.html",
        SKILL,
        "trainers/half-torso.html",
        "numbers.html",
        "evidence.html",
        "health.html",
        "404.html",
    ):
        assert (site / page).is_file(), page
    assert (site / "assets/rungbook/palette.css").is_file()
    assert list((site / "assets/rungbook/fonts").glob("*.woff2"))


def test_chapters_are_in_order_and_the_name_is_the_programs(built: Builder) -> None:
    soup = soup_of(built(), "index.html")
    tabs = [tab.get_text(strip=True) for tab in soup.select(".md-tabs__link")]
    assert tabs == [
        *("Home", "Skills", "Lab days", "Scenarios", "Trainers"),
        *("Numbers", "Evidence", "Glossary", "Levels", "Health", "About"),
    ]
    assert soup.title is not None
    assert soup.title.get_text(strip=True) == "Greywater Valley College, Prehospital Care Lab"
    skill = soup_of(built(), SKILL)
    assert skill.title is not None
    assert skill.title.get_text(strip=True).startswith("Give breaths by mask ·")


def test_links_between_sources_become_links_between_pages(built: Builder) -> None:
    site = built()
    for page in (SKILL, "index.html", "trainers/half-torso.html"):
        hrefs = [str(a["href"]) for a in soup_of(site, page).select("article a[href]")]
        local = [href for href in hrefs if "://" not in href]
        assert local
        assert not [href for href in local if ".md" in href]
        for href in local:
            path = href.partition("#")[0]
            assert path.endswith(".pdf") or not path or ((site / page).parent / path).is_file(), (page, href)


def test_nothing_is_fetched_from_elsewhere(built: Builder) -> None:
    site = built()
    for path in site.rglob("*.html"):
        soup = BeautifulSoup(path.read_text(encoding="utf-8"), "html.parser")
        fetched = [
            str(tag.get("src") or tag.get("href"))
            for tag in soup.select(
                "script[src], img[src], iframe[src], link[rel~=stylesheet], link[rel~=icon], link[rel~=preconnect]"
            )
        ]
        assert fetched
        assert not [address for address in fetched if "//" in address], path
    assert "iframe-worker.js" in (site / "index.html").read_text(encoding="utf-8")


def test_search_knows_synonyms_and_lands_on_steps(built: Builder) -> None:
    site = built()
    index = json.loads((site / "search" / "search_index.json").read_text(encoding="utf-8"))
    entries = {one["location"]: one["title"] + " " + one["text"] for one in index["docs"]}
    assert "mask ventilation" in entries[SKILL]
    assert "Press the mask onto the face." in entries[f"{SKILL}#step-seal"]
    assert f"{SKILL}#practise" not in entries, "the checklist repeats the steps, so it stays out"
    script = (site / "search" / "search_index.js").read_text(encoding="utf-8")
    assert json.loads(script.removeprefix("var __index = ")) == index


def test_a_warning_is_told_with_its_place_and_fails_a_strict_build(
    built: Builder, said: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    warn(monkeypatch)
    built()
    assert any(
        "curriculum/skills/airway/mask-breath.yaml:4:8: warning: Odd words" in r.getMessage() for r in said.records
    )
    with pytest.raises(Abort):
        built(strict=True)


def warn(monkeypatch: pytest.MonkeyPatch) -> None:
    found = Problem(
        location=Location("curriculum/skills/airway/mask-breath.yaml", 4, 8),
        rule="odd",
        message="Odd words",
        severity=Severity.WARNING,
    )
    real = mkdocs_plugin.problems_of

    def with_one(folder: Path, *, today: date, again: Again | None) -> Any:
        curriculum, problems = real(folder, today=today)
        return curriculum, (*problems, found)

    monkeypatch.setattr(mkdocs_plugin, "problems_of", with_one)


def test_an_error_stops_a_build_and_names_the_place(
    project: Path, built: Builder, said: pytest.LogCaptureFixture
) -> None:
    break_skill(project, "minutes_per_attempt: 4", "minutes_per_attempt: four")
    with pytest.raises(Abort):
        built()
    assert any("curriculum/skills/airway/mask-breath.yaml:" in record.getMessage() for record in said.records)
    assert not (project / "site" / "index.html").exists()


def test_an_error_shows_on_the_page_while_serving(project: Path, built: Builder) -> None:
    break_skill(project, "minutes_per_attempt: 4", "minutes_per_attempt: four")
    site = built("serve")
    banner = soup_of(site, "index.html").select_one(".rb-problems")
    assert banner is not None
    assert "1 errors" in banner.get_text()
    assert "curriculum/skills/airway/mask-breath.yaml:" in banner.get_text()


def test_a_warning_shows_on_its_own_page_while_serving_only(built: Builder, monkeypatch: pytest.MonkeyPatch) -> None:
    warn(monkeypatch)
    banner = soup_of(built("serve"), SKILL).select_one(".rb-problems")
    assert banner is not None
    assert "In this file" in banner.get_text()
    assert soup_of(built(), SKILL).select_one(".rb-problems") is None


def test_a_broken_program_gives_a_page_instead_of_ending_the_server(project: Path, built: Builder) -> None:
    (project / "curriculum" / "program.yaml").write_text("name: [unfinished\n", encoding="utf-8")
    text = soup_of(built("serve"), "index.html").get_text()
    assert "The handbook cannot be read" in text
    assert "curriculum/program.yaml:" in text


def test_a_missing_folder_gives_a_page_instead_of_ending_the_server(project: Path, built: Builder) -> None:
    shutil.move(project / "curriculum" / "pages", project / "pages")
    shutil.rmtree(project / "curriculum")
    config = (
        (project / "mkdocs.yml").read_text(encoding="utf-8").replace("docs_dir: curriculum/pages", "docs_dir: pages")
    )
    (project / "mkdocs.yml").write_text(config, encoding="utf-8")
    assert "The handbook cannot be read" in soup_of(built("serve"), "index.html").get_text()


def test_the_curriculum_is_watched(project: Path) -> None:
    watched: list[str] = []
    config = load_config(str(project / "mkdocs.yml"))
    plugin = config.plugins["rungbook"]
    plugin.on_serve(SimpleNamespace(watch=watched.append), config=config, builder=None)
    assert watched == [str(project / "curriculum")]


def test_an_edit_is_seen_by_the_next_rebuild_of_the_same_server(project: Path, built: Builder) -> None:
    config = load_config(str(project / "mkdocs.yml"))
    config.plugins.on_startup(command="serve", dirty=False)
    build(config, serve_url="http://127.0.0.1:8000/")
    break_skill(project, "title: Give breaths by mask", "title: Breathe by mask")
    again = load_config(str(project / "mkdocs.yml"))
    build(again, serve_url="http://127.0.0.1:8000/")
    assert "Breathe by mask" in soup_of(Path(again.site_dir), SKILL).get_text()


def _edit(project: Path, name: str, old: str, new: str) -> None:
    path = project / "curriculum" / name
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def _add_page(project: Path) -> None:
    (project / "curriculum" / "pages" / "extra.md").write_text("# A new page\n\nWords.\n", encoding="utf-8")
    (project / "curriculum" / "pages" / "further.md").write_text("# Not beside the first\n\nX.\n", encoding="utf-8")


MASK = "skills/airway/mask-breath.yaml"
EDITS: tuple[tuple[str, Callable[[Path], object], str, str], ...] = (
    ("body", lambda at: _edit(at, MASK, "Press the mask onto", "Press the mask firmly onto"), SKILL, "mask firmly"),
    ("title", lambda at: _edit(at, MASK, "title: Give breaths by mask", "title: Breathe by mask"), SKILL, "Breathe by"),
    ("new page", _add_page, "extra.html", "A new page"),
    ("neighbor's title", lambda at: _edit(at, "pages/about.md", "# About", "# Of"), "further.html", "Of this"),
    ("removed page", lambda at: (at / "curriculum" / "pages" / "extra.md").unlink(), "index.html", "Skills"),
    (
        "the theme's template",
        lambda at: (at / "site_overrides" / "main.html").write_text(
            (at / "site_overrides" / "main.html").read_text(encoding="utf-8").replace(" · ", " | "), encoding="utf-8"
        ),
        SKILL,
        "mask |",
    ),
    ("configuration", lambda at: _edit(at, "../mkdocs.yml", "name: Switch to dark", "name: Go dark"), SKILL, "Go dark"),
)


def test_a_rebuild_that_reuses_pages_equals_a_clean_build_byte_for_byte(project: Path, tmp_path: Path) -> None:
    """After each edit, one server's next build against a build from nothing, all files of the site."""

    def serve_into(folder: Path, *, forget: bool) -> Any:
        config = load_config(str(project / "mkdocs.yml"), site_dir=str(folder))
        plugin = config.plugins["rungbook"]
        kept = plugin.unchanged, plugin.again
        if forget:
            plugin.unchanged, plugin.again = Unchanged(), Again()
        config.plugins.on_startup(command="serve", dirty=False)
        build(config, serve_url="http://127.0.0.1:8000/")
        used = plugin.unchanged
        plugin.unchanged, plugin.again = kept
        return used

    live, clean = tmp_path / "live", tmp_path / "clean"
    assert serve_into(live, forget=True).reused == 0
    serve_into(live, forget=False)
    for what, edit, page, words in EDITS:
        edit(project)
        rebuilt = serve_into(live, forget=False)
        assert serve_into(clean, forget=True).reused == 0
        found, wanted = _bytes_of(live), _bytes_of(clean)
        assert sorted(found) == sorted(wanted), what
        assert [name for name in wanted if found[name] != wanted[name]] == [], what
        assert words in found[page].decode(), what
        if what == "body":
            assert rebuilt.reused > 3 * rebuilt.made, "an edit of one body leaves nearly all pages as they were"
    assert "extra.html" not in found


def _bytes_of(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and path.name != "sitemap.xml.gz"  # holds the second at which it was made
    }


def test_a_warning_of_a_page_is_said_again_at_every_rebuild(
    project: Path, built: Builder, said: pytest.LogCaptureFixture
) -> None:
    (project / "curriculum" / "pages" / "extra.md").write_text("# Extra\n\n[gone](gone.md)\n", encoding="utf-8")
    for _ in range(2):
        said.clear()
        built("serve")
        assert any("contains a link 'gone.md'" in record.getMessage() for record in said.records), (
            "in MkDocs' own words"
        )


@pytest.mark.skipif(find_spec("properdocs") is None, reason="properdocs, the maintained fork of MkDocs, is not here")
def test_the_maintained_fork_of_mkdocs_makes_the_same_pages(project: Path, built: Builder) -> None:
    """The fork finds the plugin by its own entry point; the theme still needs MkDocs beside it."""
    wanted = {page: soup_of(built(), page).get_text(" ", strip=True) for page in ("index.html", SKILL, "numbers.html")}
    shutil.rmtree(project / "site")
    script = (
        "import datetime, sys\n"
        "from properdocs.__main__ import cli  # first: it then stands in for MkDocs in whatever imports it\n"
        "import generator.mkdocs_plugin as plugin\n"
        "class Day(datetime.date):\n"
        "    today = classmethod(lambda cls: cls(2026, 3, 1))\n"
        "plugin.date = Day\n"
        "cli(['build', '-q', '-f', sys.argv[1]])"
    )
    subprocess.run([sys.executable, "-c", script, str(project / "mkdocs.yml")], cwd=project, check=True, timeout=120)
    for page, text in wanted.items():
        assert soup_of(project / "site", page).get_text(" ", strip=True) == text, page
    assert (project / "site" / "search" / "search_index.js").is_file()


def test_what_a_caller_has_prepared_is_not_read_again(
    project: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    curriculum, problems = problems_of(project / "curriculum", today=date(2026, 3, 1))
    assert curriculum is not None
    ready = prepare(curriculum, problems, today=date(2026, 3, 1), papers=(), store=tmp_path / "store")

    def never(*args: Any, **kwargs: Any) -> Any:
        raise AssertionError("read twice")

    monkeypatch.setattr(mkdocs_plugin, "problems_of", never)
    monkeypatch.setattr(mkdocs_plugin, "prepare", never)
    fresh = tmp_path / "fresh"
    fresh.mkdir()
    mkdocs_plugin.make_site(ready, fresh, config_file=project / "mkdocs.yml")
    assert "Press the mask onto the face." in soup_of(fresh, SKILL).get_text()


def test_a_title_cannot_break_out_of_any_page(project: Path, built: Builder) -> None:
    break_skill(
        project,
        "title: Give breaths by mask",
        "title: '</title></h1><script>alert(1)</script>\" onclick=\"alert(1)'",
    )
    site = built()
    for path in site.rglob("*.html"):
        soup = BeautifulSoup(path.read_text(encoding="utf-8"), "html.parser")
        assert "alert(1)" not in "".join(script.get_text() for script in soup.select("script")), path
        assert not soup.select("[onclick]"), path
    assert "</title></h1><script>alert(1)" in soup_of(site, SKILL).get_text()
