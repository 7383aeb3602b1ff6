"""The site's own style sheets, scripts and fonts: everything a page needs, so that nothing is fetched elsewhere."""

from __future__ import annotations

from importlib import resources
from importlib.resources.abc import Traversable

FOLDER = "rungbook"
"""Where they lie in the site, under `assets/`."""
_KINDS = (".css", ".js", ".woff2", ".svg", ".txt")


def assets() -> dict[str, bytes]:
    """Bytes by docs-relative path, such as `assets/rungbook/skin.css`, in the order of their names."""
    found: dict[str, bytes] = {}
    _gather(resources.files("generator.rendering") / "assets", f"assets/{FOLDER}", found)
    return dict(sorted(found.items()))


def _gather(folder: Traversable, path: str, found: dict[str, bytes]) -> None:
    for entry in folder.iterdir():
        if entry.is_dir():
            _gather(entry, f"{path}/{entry.name}", found)
        elif entry.name.endswith(_KINDS):
            found[f"{path}/{entry.name}"] = entry.read_bytes()
