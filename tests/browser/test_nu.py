"""The Nu Html Checker on every page of the handbook and on the private pages, errors and warnings of the style sheets.

It needs Java and its jar: RUNGBOOK_VNU names the jar (npm: `vnu-jar`). What the theme's own templates write is left as
it is, and a site of the bare theme must show the same.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

import pytest
from mkdocs.commands.build import build
from mkdocs.config import load_config

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from invented_standings import invented_report
from tiny_handbook import BASE

from generator.reading import read_curriculum
from generator.rendering.reports.confirm import Asked, AskedSheet, RefusedPage, confirm_html

pytestmark = pytest.mark.browser

THE_THEMES = {
    # The theme's own switches and drawers: it keeps a browser from remembering them, and clears an attribute.
    r"Attribute “autocomplete” is only allowed when the input type is": r'<input class="md-(?:toggle|nav|option)',
    r"Bad value “” for attribute “tabindex” on element “label”": r'<label class="md-nav__link',
    r"The value of the “for” attribute of the “label” element must be the ID of a non-hidden form control": (
        r'<label class="md-(?:header__button|nav__title)'
    ),
}
"""What the checker says, and the beginning of the element it says it of."""


@pytest.fixture(scope="module")
def checked() -> Callable[..., list[dict[str, Any]]]:
    """`checked(files)`: what the checker says of files; nothing is left out."""
    jar = os.environ.get("RUNGBOOK_VNU")
    java = shutil.which("java")
    if java is None or not jar or not Path(jar).is_file():
        pytest.skip("no Java, or RUNGBOOK_VNU does not name vnu.jar")

    def run(files: Sequence[Path], *more: str) -> list[dict[str, Any]]:
        said: list[dict[str, Any]] = []
        for at in range(0, len(files), 100):
            command = [java, "-Xss4m", "-jar", jar, "--format", "json", *more, *map(str, files[at : at + 100])]
            done = subprocess.run(command, capture_output=True, text=True, check=False)
            said += json.loads(done.stderr)["messages"]
        assert not [one for one in said if one["type"] == "non-document-error"], said
        return said

    return run


def errors(said: Sequence[dict[str, Any]]) -> list[tuple[str, str, str]]:
    """File, words and source of each error that is none of the theme's."""
    left = []
    for one in (one for one in said if one["type"] == "error"):
        at = one.get("hiliteStart", 0)
        element = " ".join(one.get("extract", "")[at : at + one.get("hiliteLength", 0)].split())
        if not any(
            one["message"].startswith(words) and re.match(start, element) for words, start in THE_THEMES.items()
        ):
            left.append((one["url"].rsplit("/", 1)[-1], one["message"], element))
    return left


def test_every_page_of_the_handbook(handbook: Any, checked: Callable[..., list[dict[str, Any]]]) -> None:
    pages = sorted(handbook.folder.rglob("*.html"))
    assert {handbook.folder / page for page in handbook.pages.values()} <= set(pages)
    said = checked(pages)
    assert errors(said) == []
    looked_at = {Path(unquote(urlsplit(one["url"]).path)).resolve() for one in said}
    assert looked_at == {page.resolve() for page in pages}, "the theme's own errors stand on every page"


def test_what_is_left_is_the_themes(tmp_path: Path, checked: Callable[..., list[dict[str, Any]]]) -> None:
    """The theme with the same features, without the plugin, the overrides and any page but plain Markdown ones."""
    words = "# A page\n\n## A part\n\nWords.\n\n## Another\n\nWords.\n"
    for name in ("index.md", "one/index.md", "one/two.md", "one/three.md", "one/deep/four.md"):
        (tmp_path / "docs" / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / "docs" / name).write_text(words, encoding="utf-8")
    shipped = load_config(str(Path(__file__).resolve().parents[2] / "mkdocs.yml"))
    theme = {"name": "material", "font": False, **{key: shipped.theme[key] for key in ("features", "palette")}}
    config = {"site_name": "Bare", "theme": theme, "plugins": ["search"], "use_directory_urls": False}
    (tmp_path / "mkdocs.yml").write_text(json.dumps(config), encoding="utf-8")
    build(load_config(str(tmp_path / "mkdocs.yml")))
    said = [one for one in checked(sorted((tmp_path / "site").rglob("*.html"))) if one["type"] == "error"]
    found = {words for one in said for words in THE_THEMES if one["message"].startswith(words)}
    assert found == set(THE_THEMES), "an error that the bare theme does not make is ours to mend"
    assert errors(said) == []


def test_the_private_pages_and_the_page_to_confirm(
    tmp_path: Path, checked: Callable[..., list[dict[str, Any]]]
) -> None:
    """Without any error of anybody: no theme stands around them."""
    curriculum, _ = read_curriculum(BASE)
    assert curriculum is not None
    report = invented_report(curriculum, 12)
    skill = next(iter(curriculum.skills.values()))
    asked = (
        Asked(
            what=f"step:{skill.critical_steps[0].id}:attempt-2",
            asks="What does this box hold?",
            choices=("empty", "marked", "line", "filled"),
            guess="line",
            picture=b"picture",
        ),
        Asked(what="learner", asks="Which learner code is written here?", choices=(), guess=None, picture=b"picture"),
    )
    refused = RefusedPage(where="scan.pdf, page 3", reason="no code", remedy="Scan it again.", picture=b"picture")
    sheet = AskedSheet(id="abc123", skill=skill.id, where="scan.pdf, page 1", asked=asked)
    pages = {"report": report, "confirm": confirm_html(curriculum, [sheet], [refused], command="rungbook read")}
    paths = []
    for name, text in pages.items():
        assert len(text) > 2000
        paths.append(tmp_path / f"{name}.html")
        paths[-1].write_text(text, encoding="utf-8")
    assert [one for one in checked(paths) if one["type"] == "error"] == []


def test_our_style_sheets_and_drawings(handbook: Any, checked: Callable[..., list[dict[str, Any]]]) -> None:
    own = handbook.folder / "assets" / "rungbook"
    styles, drawings = sorted(own.rglob("*.css")), sorted(own.rglob("*.svg"))
    assert len(styles) > 8
    assert drawings
    said = [*checked(styles, "--also-check-css"), *checked(drawings, "--also-check-svg")]
    assert [one for one in said if one["type"] == "error"] == []


def test_the_checker_does_find_what_is_wrong(tmp_path: Path, checked: Callable[..., list[dict[str, Any]]]) -> None:
    page = tmp_path / "wrong.html"
    page.write_text('<!doctype html><html lang="en"><title>t</title><p id="a"><div></p><b id="a">x', encoding="utf-8")
    style = tmp_path / "wrong.css"
    style.write_text("p { colour: red }", encoding="utf-8")
    assert len(errors(checked([page]))) >= 3
    assert len(errors(checked([style], "--also-check-css"))) == 1
