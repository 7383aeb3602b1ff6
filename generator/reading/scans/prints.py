"""The geometry of everything that was printed, by sheet, revision and paper: a sheet is read by its own."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

Key = tuple[str, str, str, str]
"""Kind, id, revision, paper."""

LARGEST = 2_000_000
"""Bytes; the geometry of a sheet has some tens of thousands."""


def find_prints(folders: Iterable[Path]) -> dict[Key, Mapping[str, Any]]:
    """Every geometry file in these folders and below. Other files, and those that are damaged, are passed over."""
    found: dict[Key, Mapping[str, Any]] = {}
    for folder in folders:
        for path in sorted(folder.rglob("*.json")) if folder.is_dir() else ():
            geometry = _geometry(path)
            if geometry is not None:
                key = (geometry["kind"], geometry["id"], geometry["revision"], geometry["paper"])
                found.setdefault(key, geometry)
    return found


def _geometry(path: Path) -> Mapping[str, Any] | None:
    try:
        if path.stat().st_size > LARGEST:
            return None
        data = json.loads(path.read_bytes())
    except (OSError, ValueError):
        return None
    # What earlier versions kept of a typeset sheet holds its geometry under that name.
    data = data.get("geometry", data) if isinstance(data, dict) else None
    wanted = {"kind": str, "id": str, "revision": str, "paper": str, "places": list, "page_mm": list}
    if not isinstance(data, dict) or any(not isinstance(data.get(name), kind) for name, kind in wanted.items()):
        return None
    return data


def places_of(geometry: Mapping[str, Any], page: int) -> list[Mapping[str, Any]]:
    """The places of one page."""
    return [place for place in geometry["places"] if place["page"] == page]
