"""The last pass over a built site: policy into each page, dates out, the edition and the worker beside them."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Collection
from importlib import resources
from pathlib import Path

from generator.rendering.offline.edition import UNLISTED, Edition, edition_of
from generator.rendering.offline.policy import BARE, hashes_of, headers_file, policy, theme_scripts
from generator.rendering.scripts import script_in_own_words

_CHARSET = re.compile(r"<meta charset=[^>]*>", re.IGNORECASE)
_POLICY = re.compile(r"<meta charset=[^>]*>\s*<meta http-equiv=\"Content-Security-Policy\"", re.IGNORECASE)
_FRAME = re.compile(r'<script src="(?P<root>[^"]*)assets/rungbook/frame\.js"></script>')
_LASTMOD = re.compile(rb"\s*<lastmod>[^<]*</lastmod>")


def finish(folder: Path, *, label: Callable[[str], str] = str, language: str = "en") -> Edition:
    """Finish a built site in place. The same site gives the same bytes on any day and machine.

    `label` gives the fixed words of the scripts as the program prints them.

    Raises OSError when a file cannot be read or written.
    """
    _drop_dates(folder)
    _write(folder / "offline.js", script_in_own_words(_own("offline.js"), label))
    bare = folder / BARE
    theme = theme_scripts(bare.read_text(encoding="utf-8")) if bare.is_file() else frozenset()
    known: set[str] = set()
    hashes: dict[str, str] = {}
    for path in sorted(path for path in folder.rglob("*") if path.is_file()):
        name = path.relative_to(folder).as_posix()
        if name in UNLISTED:
            continue
        content = path.read_bytes()
        if path.suffix == ".html":
            html = content.decode("utf-8")
            known.update(hashes_of(html, theme))
            if not has_policy(html):
                content = finished(html, theme).encode()
                path.write_bytes(content)
        hashes[name] = hashlib.sha256(content).hexdigest()
    edition = edition_of(hashes, languages=_languages(folder))
    _write(folder / "_headers", headers_file(known))
    _write(folder / "edition.json", edition.as_json())
    _write(folder / "edition.js", f'window.rungbookEdition = "{edition.name}";\n')
    worker = _own("worker.js").replace("EDITION-NAME", edition.name).replace("PAGE-LANGUAGE", language)
    _write(folder / "service-worker.js", script_in_own_words(worker, label))
    return edition


def farewell(folder: Path) -> None:
    """A worker that takes itself and what it kept away: while pages are edited, none may come from a past edition."""
    _write(folder / "service-worker.js", _own("farewell.js"))


def has_policy(html: str) -> bool:
    """Whether a page was finished already, page by page while it was made."""
    return _POLICY.search(html) is not None


def finished(html: str, theme: Collection[str]) -> str:
    """A page with its policy and the script that tells its edition. `theme` holds the theme's own scripts."""
    tag = f'<meta http-equiv="Content-Security-Policy" content="{policy(hashes_of(html, theme), in_page=True)}">'
    html = _CHARSET.sub(lambda found: f"{found[0]}\n      {tag}", html, count=1)
    return _FRAME.sub(
        lambda found: f'{found[0]}\n      <script src="{found["root"]}offline.js"></script>', html, count=1
    )


def _drop_dates(folder: Path) -> None:
    """The engine writes the day of the build into its site map, and again into a packed copy of it."""
    (folder / "sitemap.xml.gz").unlink(missing_ok=True)
    sitemap = folder / "sitemap.xml"
    if sitemap.is_file():
        sitemap.write_bytes(_LASTMOD.sub(b"", sitemap.read_bytes()))


def _languages(folder: Path) -> list[str]:
    index = folder / "search" / "search_index.json"
    try:
        return [str(one) for one in json.loads(index.read_text(encoding="utf-8"))["config"]["lang"]]
    except (OSError, ValueError, KeyError, TypeError):
        return ["en"]


def _own(name: str) -> str:
    return (resources.files("generator.rendering.offline") / name).read_text(encoding="utf-8")


def _write(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8", newline="\n")
