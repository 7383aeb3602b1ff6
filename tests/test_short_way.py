"""The short ways through Markdown, navigation and the search index give, byte for byte, what the long ways give.

The judges are the libraries themselves: Python-Markdown and MkDocs without the extension, and the theme's own indexer.
"""

from __future__ import annotations

import random
from datetime import date
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from markdown import Markdown
from material.plugins.search.plugin import Parser, SearchIndex
from mkdocs.config import load_config
from mkdocs.structure.files import File, Files
from mkdocs.structure.pages import Page

from generator import mkdocs_plugin
from generator.build import Prepared, problems_of
from generator.mkdocs_plugin import make_site
from generator.mkdocs_plugin.blocks import WholeBlocks
from generator.mkdocs_plugin.indexing import quicken, sections_of
from generator.model import Curriculum
from generator.rendering.pages import assets, pages_of
from generator.rendering.sheets import sheets_of

ROOT = Path(__file__).parent.parent
DAY = date(2026, 11, 25)


@pytest.fixture(scope="module")
def prepared() -> Prepared:
    """The shipped handbook, without PDFs and timetables."""
    curriculum, problems = problems_of(ROOT / "curriculum", today=DAY)
    assert isinstance(curriculum, Curriculum)
    texts = pages_of(curriculum, sheets=sheets_of(curriculum), problems=problems, today=DAY)
    pages = {path: text.encode() for path, text in texts.items()}
    return Prepared(curriculum=curriculum, problems=problems, revisions={}, pages=pages, assets=assets(), files={})


@pytest.fixture(scope="module")
def converted(prepared: Prepared) -> dict[str, tuple[Any, Any]]:
    """Every page, converted the long way and the short way by MkDocs."""
    config = load_config(str(ROOT / "mkdocs.yml"), plugins=[])
    config.plugins._current_plugin = "tests"
    made: dict[str, list[Any]] = {}
    extensions = config.markdown_extensions
    for blocks in (None, WholeBlocks()):
        config.markdown_extensions = [*extensions, blocks] if blocks else extensions
        files = Files([File.generated(config, name, content=text) for name, text in prepared.pages.items()])
        for file in files:
            page = Page(None, file, config)
            page.read_source(config)
            if blocks is not None:
                blocks.convert(page)
            page.render(config, files)
            made.setdefault(file.src_uri, []).append(page)
    return {name: (long, short) for name, (long, short) in made.items()}


def test_the_whole_site_is_the_same_byte_for_byte(
    prepared: Prepared, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Navigation, pages and search index, built with every short way and with none."""

    def bytes_of(name: str) -> dict[str, bytes]:
        folder = tmp_path / name
        folder.mkdir()
        make_site(prepared, folder, config_file=ROOT / "mkdocs.yml")
        return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}

    short = bytes_of("short")

    def nothing(*args: Any) -> None:
        """Stand for a short way that is closed."""

    monkeypatch.setattr(WholeBlocks, "convert", nothing)
    monkeypatch.setattr(mkdocs_plugin, "quicken", nothing)
    monkeypatch.setattr(mkdocs_plugin, "keep_navigation", nothing)
    long = bytes_of("long")
    assert short.keys() == long.keys()
    assert [name for name in long if short[name] != long[name]] == []
    assert sum(name.endswith(".html") for name in long) > 200


def test_every_page_is_converted_to_the_same_html(converted: dict[str, tuple[Any, Any]]) -> None:
    """Content, contents list, title, ids and links to anchors, all as MkDocs makes them."""
    assert len(converted) > 200

    def facts(page: Any) -> Any:
        links = {file.src_uri: to for file, to in (page.links_to_anchors or {}).items()}
        return page.content, list(map(str, page.toc)), page._title_from_render, page.present_anchor_ids, links

    for name, (long, short) in converted.items():
        assert facts(short) == facts(long), name


def test_every_page_is_indexed_with_the_same_entries(converted: dict[str, tuple[Any, Any]]) -> None:
    """And none needs the theme's own indexer, or the short way would be no way."""
    ours, theirs = SearchIndex(), SearchIndex()
    quicken(ours)
    for name, (page, _) in converted.items():
        assert sections_of(page.content) is not None, name
        ours.add_entry_from_context(page)
        theirs.add_entry_from_context(page)
    assert len(theirs.entries) > 2000
    assert ours.entries == theirs.entries


def test_an_index_of_another_make_is_left_alone() -> None:
    def add(page: Any) -> None:
        """Index of somebody else."""

    other = SimpleNamespace(add_entry_from_context=add)
    quicken(other)
    assert other.add_entry_from_context is add


PIECES = [
    "<p>",
    "</p>",
    "<p class='x'>",
    "<li>",
    "</li>",
    "<ul>",
    "</ul>",
    "<pre>",
    "</pre>",
    "<code>",
    "</code>",
    "<sup>",
    "</sup>",
    '<h1 id="a">',
    "</h1>",
    '<h2 id="b&amp;b">',
    "</h2>",
    '<h3 id="c" data-search-exclude>',
    "</h3>",
    "<h2>",
    "<div>",
    "</div>",
    "<div data-search-exclude>",
    '<div class="linenodiv">',
    '<a class="headerlink" href="#a">',
    "</a>",
    '<a href="b">',
    "<br>",
    "<br />",
    '<path d="M1 2"/>',
    "<span/>",
    "<p/>",
    "<svg>",
    "</svg>",
    "text",
    " ",
    "\n",
    "\n\n ",
    "a &lt; b",
    "&amp",
    "&nbsp;",
    "two\nlines",
    "<",
    "< 5",
    "&",
    "<!-- c -->",
    "<script>",
    "</script>",
    "<style>p{}</style>",
    "<P>",
    "</>",
    "<p",
    'x="',
    ">",
    "é—",
    "<input disabled value=1>",
    '<img alt="a > b">',
    "<textarea>",
    "</textarea>",
    "<title>",
    "</title>",
]


def test_html_at_random_is_indexed_as_the_theme_does_or_left_to_it() -> None:
    """Ill-formed and odd HTML too: where the short way gives sections, they are the theme's."""
    choose = random.Random(7)
    read = 0
    for _ in range(6000):
        odd = choose.random() < 0.5
        html = "".join(choose.choices(PIECES if odd else PIECES[:43], k=choose.randint(1, 25)))
        sections = sections_of(html)
        if sections is None:
            continue
        read += 1
        parser = Parser()
        parser.feed(html)
        parser.close()
        expected = [(one.id, one.title, one.text, one.is_excluded()) for one in parser.data]
        assert [(one.id, one.title, one.text, one.left_out) for one in sections] == expected, html
    assert read > 1500


BLOCKS = [
    '<div id="one">\n\n<div>in</div>\n\n</div>',
    "<p>text</p>",
    "<ul>\n<li>a <b>b</b></li>\n</ul>",
    "## Head { #head }",
    "plain *words*",
    '<section id="two"><p id="three">\n\n\nblank</p></section>',
    "<p>one</p><p>two</p>",
    "<p>tail</p> and more",
    "<span>inline</span>",
    "<hr>",
    '<figure><svg><path d="M1 2"/></svg></figure>',
    "| a | b |\n|---|---|\n| <b>c</b> | d |",
    "* item\n* item",
    "\ttabbed",
    "<details><summary>s</summary>\n<p>x</p></details>",
    "&amp; &lt;p&gt;",
    "<dl>\n<div><dt>a</dt><dd>b</dd></div>\n</dl>",
]


def test_pages_put_together_at_random_are_converted_alike() -> None:
    """Well-formed blocks in any order, with and without blank lines between them."""
    choose = random.Random(11)
    for _ in range(1500):
        count = choose.randint(1, 7)
        text = "".join(choose.choice(BLOCKS) + choose.choice(["\n", "\n\n", "\n\n\n"]) for _ in range(count))
        blocks = WholeBlocks()
        blocks._is_on = True
        extensions = ["attr_list", "tables", "toc"]
        short = Markdown(extensions=[*extensions, blocks]).convert(text)
        assert short == Markdown(extensions=extensions).convert(text), text
