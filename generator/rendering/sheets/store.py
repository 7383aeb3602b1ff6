"""Finished sheets kept by what they depend on, so that an unchanged sheet is never typeset twice.

The store may be deleted at any time, but filled sheets are read back by the geometry in it. A damaged or half-written
entry counts as absent.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import tempfile
from dataclasses import replace
from pathlib import Path

from generator.model import Paper
from generator.rendering.sheets.pruning import used
from generator.rendering.sheets.sheet import Sheet, Typeset, canonical, digest
from generator.rendering.sheets.typesetter import works


def key_of(sheet: Sheet, paper: Paper) -> str:
    """The name of an entry: a digest of data, templates, fonts, tool versions and paper."""
    return digest("\n".join((works(), paper, *sheet.name, sheet.revision, canonical(sheet.data))))


def kept(store: Path, key: str) -> Typeset | None:
    """The entry of that name, if it is whole."""
    try:
        pdf = (store / f"{key}.pdf").read_bytes()
        geometry = json.loads((store / f"{key}.json").read_bytes())
        if geometry.pop("pdf_sha256") == hashlib.sha256(pdf).hexdigest():
            used(store / f"{key}.pdf")
            return Typeset(pdf=pdf, geometry=geometry, places=_places(store, key))
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        pass
    return None


def keep(store: Path, key: str, made: Typeset) -> Typeset:
    """Keep an entry, and say where. A full or read-only disk costs time on the next run, nothing else."""
    with contextlib.suppress(OSError):
        store.mkdir(parents=True, exist_ok=True)
        _write(store / f"{key}.pdf", made.pdf)
        _write(store / f"{key}.json", made.geometry_json())
        return replace(made, places=_places(store, key))
    return made


def _places(store: Path, key: str) -> tuple[Path, Path]:
    return store / f"{key}.pdf", store / f"{key}.json"


def _write(target: Path, content: bytes) -> None:
    """Write beside the target, then swap: another process sees the old file or the new one, never half of it."""
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=".part-")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        Path(name).replace(target)
    except OSError:
        with contextlib.suppress(OSError):
            Path(name).unlink()
        raise
