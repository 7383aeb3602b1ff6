"""Links and addresses that lead out of the curriculum folder: nothing behind them is read, shown or copied.

A build stops at such a link. A server shows pages while there are errors, so there the files must be left out.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from mkdocs.commands.build import build
from mkdocs.config import load_config
from tiny_handbook import built, laid_out, words

from generator.cli import main

SECRET = "kept-elsewhere-and-told-to-nobody"


@pytest.fixture
def book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A handbook whose pages hold links to a page, a picture and a folder outside, beside a link that stays inside."""
    folder = laid_out(tmp_path / "book")
    outside = tmp_path / "outside"
    outside.mkdir()
    for name in ("page.md", "picture.svg", "table.csv"):
        (outside / name).write_text(f"# {SECRET}\n", encoding="utf-8")
    pages = folder / "curriculum" / "pages"
    (pages / "linked.md").symlink_to(outside / "page.md")
    (pages / "picture.svg").symlink_to(outside / "picture.svg")
    (pages / "linked").symlink_to(outside, target_is_directory=True)
    (pages / "same.md").symlink_to(pages / "about.md")
    (pages / "up.md").write_text(
        "# Up\n\n![x](../../../outside/picture.svg) --8<-- '../../../outside/page.md'\n\n"
        "{% include '../../../outside/page.md' %} [x](linked/page.md)\n",
        encoding="utf-8",
    )
    monkeypatch.chdir(folder)
    return folder


def holds_the_secret(site: Path) -> list[str]:
    return [
        path.relative_to(site).as_posix()
        for path in site.rglob("*")
        if path.is_file() and SECRET.encode() in path.read_bytes()
    ]


def test_a_server_shows_nothing_from_outside(book: Path) -> None:
    config = load_config(str(book / "mkdocs.yml"))
    config.plugins.on_startup(command="serve", dirty=False)
    build(config, serve_url="http://127.0.0.1:8000/")
    site = Path(config.site_dir)
    assert (site / "same.html").is_file(), "a link that stays inside is followed"
    assert "leads out of the curriculum folder" in (site / "index.html").read_text(encoding="utf-8")
    assert holds_the_secret(site) == []
    assert not (site / "linked.html").exists()
    assert not (site / "linked").exists()
    assert not (site / "picture.svg").exists()


def test_a_build_stops_and_writes_nothing_from_outside(
    book: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    pages = book / "curriculum" / "pages"
    assert main(words(book, "--no-sheets")) == 1
    assert capsys.readouterr().err.count("[link-outside]") == 3
    assert not (book / "site").exists()
    assert main(["pages", "--curriculum", str(book / "curriculum"), "--out", str(tmp_path / "out")]) == 1
    assert not (tmp_path / "out").exists()
    for name in ("linked.md", "picture.svg", "linked", "up.md"):
        (pages / name).unlink()
    assert holds_the_secret(built(book, "--no-sheets")) == []
