"""The site's own style sheets, scripts and fonts: everything a page needs, so that nothing is fetched elsewhere."""

from __future__ import annotations

from collections.abc import Callable
from importlib import resources
from importlib.resources.abc import Traversable

from generator.rendering.scripts import NAMES, script_in_own_words

FOLDER = "rungbook"
"""Where they lie in the site, under `assets/`."""
_KINDS = (".css", ".js", ".woff2", ".svg", ".txt")


def assets(label: Callable[[str], str] = str) -> dict[str, bytes]:
    """Bytes by docs-relative path, such as `assets/rungbook/skin.css`, in the order of their names.

    `label` gives the fixed words of scripts as the program prints them.
    """
    found: dict[str, bytes] = {}
    _gather(resources.files("generator.rendering") / "assets", f"assets/{FOLDER}", found)
    for name in NAMES:
        path = f"assets/{FOLDER}/{name}"
        if path in found:
            found[path] = script_in_own_words(found[path].decode(), label).encode()
    return dict(sorted(found.items()))


def _gather(folder: Traversable, path: str, found: dict[str, bytes]) -> None:
    for entry in folder.iterdir():
        if entry.is_dir():
            _gather(entry, f"{path}/{entry.name}", found)
        elif entry.name.endswith(_KINDS):
            found[f"{path}/{entry.name}"] = entry.read_bytes()
