"""The same pages by other engines: each page of the manifest is there, with its title and its words.

The manifest is what the handbook is made of before any engine: `rungbook pages`. MkDocs is the usual engine. Its
maintained fork, Sphinx with MyST, and a plain CommonMark reader are others; the first two are tried where they are
installed, as the `test` extra does.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path

import pytest
from bs4 import BeautifulSoup
from tiny_handbook import BASE, TODAY, TOP, built, laid_out

from generator.cli import main

STRANGER = TOP / "tests" / "stranger" / "curriculum"
CURRICULA = {"tiny": BASE, "rope": STRANGER, "shipped": TOP / "curriculum"}
SHIPPED_DAY = "2026-11-25"


def manifest(curriculum: Path, folder: Path, on: str = TODAY) -> dict[str, str]:
    """Every page as Markdown by its name without an ending, written by the command."""
    assert main(["pages", "--out", str(folder), "--curriculum", str(curriculum), "--on", on]) == 0
    pages = sorted(folder.rglob("*.md"))
    return {
        path.relative_to(folder).with_suffix("").as_posix(): path.read_text(encoding="utf-8").split("---\n", 2)[-1]
        if path.read_text(encoding="utf-8").startswith("---\n")
        else path.read_text(encoding="utf-8")
        for path in pages
    }


def words_of(text: str) -> set[str]:
    return set(re.findall(r"[A-Za-z]{4,}", text))


def written_in(markdown: str) -> set[str]:
    """Words of a page that a reader meets, from its source: no attributes, no addresses."""
    bare = re.sub(r"\{ ?[#.:][^}]*\}", "", markdown)
    bare = re.sub(r"\]\([^)]*\)", "]", bare)
    return words_of(BeautifulSoup(bare, "html.parser").get_text(" "))


def assert_whole(pages: dict[str, str], folder: Path, body: str) -> None:
    """Each page of the manifest has its HTML, and that has the page's title and its words; `body` selects them."""
    missing = [name for name in pages if not (folder / f"{name}.html").is_file()]
    assert missing == []
    for name, markdown in pages.items():
        soup = BeautifulSoup((folder / f"{name}.html").read_text(encoding="utf-8"), "html.parser")
        found = soup.select_one(body)
        assert found is not None, name
        assert found.select("h1"), (name, "has no title")
        lost = written_in(markdown) - words_of(found.get_text(" "))
        assert not lost, (name, sorted(lost))


@pytest.mark.parametrize("name", ["tiny", "rope"])
def test_the_site_holds_every_page_of_the_manifest(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """And no page that is not in it, but the one for missing addresses."""
    folder = laid_out(tmp_path / "book", curriculum=CURRICULA[name])
    if name == "rope":
        shutil.copyfile(STRANGER.parent / "mkdocs.yml", folder / "mkdocs.yml")
        config = (folder / "mkdocs.yml").read_text(encoding="utf-8").replace("../../site_overrides", "site_overrides")
        (folder / "mkdocs.yml").write_text(config, encoding="utf-8")
    monkeypatch.chdir(folder)
    site = built(folder, "--no-sheets")
    pages = manifest(folder / "curriculum", tmp_path / "pages")
    assert len(pages) >= 20
    assert_whole(pages, site, "article")
    made = {path.relative_to(site).with_suffix("").as_posix() for path in site.rglob("*.html")}
    assert made - pages.keys() == {"404"}


FORK = """
import datetime, sys
from properdocs.__main__ import cli  # first: it then stands in for MkDocs in whatever imports it
import generator.mkdocs_plugin as plugin
class Day(datetime.date):
    today = classmethod(lambda cls: cls(2026, 3, 1))
plugin.date = Day
cli(["build", "-q", "-f", sys.argv[1], "-d", sys.argv[2]])
"""


@pytest.mark.skipif(find_spec("properdocs") is None, reason="properdocs, the maintained fork of MkDocs, is not here")
def test_the_maintained_fork_makes_every_page_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """All pages, all sheets and tables, the search index; the fork names itself nowhere in a page."""
    folder = laid_out(tmp_path / "book")
    monkeypatch.chdir(folder)
    site = built(folder)
    other = tmp_path / "other"
    command = [sys.executable, "-c", FORK, str(folder / "mkdocs.yml"), str(other)]
    subprocess.run(command, cwd=folder, check=True, timeout=120)
    missing = [
        page for page in manifest(folder / "curriculum", tmp_path / "pages") if not (other / f"{page}.html").is_file()
    ]
    assert missing == []
    files = [
        {path.relative_to(each).as_posix(): path.read_bytes() for path in each.rglob("*") if path.is_file()}
        for each in (site, other)
    ]
    # What the command writes beside what the plugin does: its mark, and prints remembered from earlier sites.
    own = {".rungbook-site", "sheets/revisions.json"}
    assert files[0].keys() - files[1].keys() <= own
    assert files[1].keys() <= files[0].keys()
    for name in sorted(files[1].keys() - own):
        if name.endswith(".html"):
            texts = [BeautifulSoup(each[name].decode(), "html.parser").get_text(" ", strip=True) for each in files]
            assert texts[0] == texts[1], name
        elif name.endswith((".pdf", ".csv", ".ics", "search_index.json")):
            assert files[0][name] == files[1][name], name


@pytest.mark.parametrize("name", ["tiny", "shipped"])
def test_another_engine_makes_every_page_from_plain_markdown(name: str, tmp_path: Path) -> None:
    """Sphinx with MyST."""
    build = pytest.importorskip("sphinx.cmd.build", reason="sphinx is not installed")
    pytest.importorskip("myst_parser", reason="myst-parser is not installed")
    source, out = tmp_path / "pages", tmp_path / "html"
    pages = manifest(CURRICULA[name], source, SHIPPED_DAY if name == "shipped" else TODAY)
    (source / "conf.py").write_text(
        "extensions = ['myst_parser']\nmyst_enable_extensions = ['attrs_block', 'attrs_inline']\n"
        "suppress_warnings = ['toc.not_included', 'myst']\n",
        encoding="utf-8",
    )
    assert build.main(["-q", "-b", "html", str(source), str(out)]) == 0
    assert_whole(pages, out, "div.body")


@pytest.mark.parametrize("name", CURRICULA)
def test_a_plain_reader_of_commonmark_shows_every_page(name: str, tmp_path: Path) -> None:
    """CommonMark and tables, nothing else: HTML blocks are whole, headings are headings, no word is lost in code."""
    reader = pytest.importorskip("markdown_it", reason="markdown-it-py is not installed").MarkdownIt
    convert = reader("commonmark").enable("table")
    pages = manifest(CURRICULA[name], tmp_path / "pages", SHIPPED_DAY if name == "shipped" else TODAY)
    assert len(pages) >= 20
    for page, markdown in pages.items():
        soup = BeautifulSoup(convert.render(markdown), "html.parser")
        assert soup.select("h1"), page
        assert not soup.select("pre"), (page, "an indented line became code")
        assert not re.search(r"(?m)^\s*#{1,6} ", soup.get_text()), (page, "a heading stayed a line of text")
        lost = written_in(markdown) - words_of(soup.get_text(" "))
        assert not lost, (page, sorted(lost))
