"""The store kept small: what no build has used for a while goes, but never what a filled sheet is read back by.

A printed sheet may come back filled a year later, so the geometry of everything that was ever typeset stays; it is a
few kilobytes. The PDF beside it can be made again, and goes after a while without use. Using an entry renews its date.
"""

from __future__ import annotations

import contextlib
import os
import time
from pathlib import Path

DAYS = 60
"""An entry that no run has used for so many days is removed."""
RENEWED_AFTER = 86_400.0
"""Seconds: the date of an entry that is used is renewed once a day, so that a build writes little."""
PART_SECONDS = 3_600.0
"""A half-written file is what a killed run left, when it is older than this."""


def used(path: Path, *, now: float | None = None) -> None:
    """Note that an entry was used. A disk that cannot be written leaves its date as it is."""
    moment = time.time() if now is None else now
    with contextlib.suppress(OSError):
        if moment - path.stat().st_mtime > RENEWED_AFTER:
            os.utime(path, (moment, moment))


def prune(store: Path, *, days: int = DAYS, now: float | None = None) -> tuple[str, ...]:
    """Remove old PDFs, old plans of lab days and left-over parts; gives the names removed, in order.

    Safe beside a running build: an entry whose PDF went counts as absent and is typeset again. Nothing raises.
    """
    moment = time.time() if now is None else now
    gone = []
    with contextlib.suppress(OSError):
        for path in sorted(store.iterdir()):
            limit = _limit(path.name, days)
            with contextlib.suppress(OSError):
                if limit is not None and path.is_file() and moment - path.stat().st_mtime > limit:
                    path.unlink()
                    gone.append(path.name)
    return tuple(gone)


def _limit(name: str, days: int) -> float | None:
    """Seconds without use after which a file goes; None for one that stays."""
    if name.startswith(".part-") or ".part-" in name:
        return PART_SECONDS
    if name.endswith(".pdf") or (name.startswith("lab-") and name.endswith(".json")):
        return days * 86_400.0
    return None
