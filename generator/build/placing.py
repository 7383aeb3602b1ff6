"""A finished site put in place of the last one, with no moment at which there is none, and what dead builds left."""

from __future__ import annotations

import ctypes
import hashlib
import os
import platform
import shutil
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from functools import cache
from pathlib import Path
from typing import Any

MARK = ".rungbook-site"
"""A file that says a folder is a built site, so that no other folder is ever replaced."""
OLD_SECONDS = 86_400
"""Left-over folders of another machine's builds go when they are older than this."""
_EXCHANGE = 2
_HERE = -100


class BuildError(Exception):
    """The build stopped and nothing was changed. Its text says why and what to do."""


@contextmanager
def fresh_folder(site: Path) -> Iterator[Path]:
    """An empty folder beside the site, gone at the end. Clears what earlier builds that were killed left there."""
    refuse_foreign(site)
    site.parent.mkdir(parents=True, exist_ok=True)
    recover(site)
    clear_leftovers(site)
    fresh = Path(tempfile.mkdtemp(prefix=f".{site.name}-new-{_machine()}-{os.getpid()}-", dir=site.parent))
    try:
        yield fresh
    finally:
        shutil.rmtree(fresh, ignore_errors=True)


def refuse_foreign(site: Path) -> None:
    """Raise BuildError where the site's place is taken by something that is no site."""
    if site.exists() and not site.is_dir():
        raise BuildError(f"{site} is a file. Name a folder for the site, or move the file away.")
    if site.is_dir() and any(site.iterdir()) and not (site / MARK).exists() and not (site / "search").is_dir():
        raise BuildError(f"{site} holds other files, so it is left alone. Name an empty or new folder for the site.")


def place(fresh: Path, site: Path) -> None:
    """Put the fresh folder where the site is. Afterwards `fresh` may hold the site before it."""
    fresh.chmod(0o755)
    (fresh / MARK).write_text("Made by rungbook; replaced as a whole by the next build.\n", encoding="utf-8")
    if not site.exists():
        # Another build may have put one there in this moment; then the folders change places as always.
        with suppress(OSError):
            fresh.rename(site)
            return
    if _exchanged(fresh, site):
        return
    old = Path(tempfile.mkdtemp(prefix=f".{site.name}-old-{_machine()}-{os.getpid()}-", dir=site.parent))
    try:
        site.rename(old / "site")
        try:
            fresh.rename(site)
        except OSError:
            (old / "site").rename(site)
            raise
    finally:
        shutil.rmtree(old, ignore_errors=True)


def recover(site: Path) -> None:
    """Put the last good site back, if a build was killed between its two renames."""
    if site.exists():
        return
    for old in sorted(site.parent.glob(f".{site.name}-old-*/site"), key=lambda path: path.stat().st_mtime):
        with suppress(OSError):
            old.rename(site)


def clear_leftovers(site: Path) -> None:
    """Remove folders and files of builds of this site whose process is gone, or that are a day old."""
    for pattern in (f".{site.name}-new-*", f".{site.name}-old-*", f".{site.name}.zip-new-*"):
        for left in site.parent.glob(pattern):
            if _is_left(left):
                shutil.rmtree(left, ignore_errors=True)
                with suppress(OSError):
                    left.unlink()


def _is_left(path: Path) -> bool:
    machine, process = path.name.split("-")[-3:-1] if path.name.count("-") >= 4 else ("", "")
    # Only where asking for a process does not end it.
    if os.name == "posix" and machine == _machine() and process.isdigit():
        return not _runs(int(process))
    try:
        return time.time() - path.stat().st_mtime > OLD_SECONDS
    except OSError:
        return False


def _runs(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        pass
    return True


@cache
def _machine() -> str:
    return hashlib.sha256(platform.node().encode()).hexdigest()[:6]


def _exchanged(one: Path, other: Path) -> bool:
    """Let two folders change places in one step, where the system can (Linux: renameat2)."""
    try:
        library: Any = ctypes.CDLL(None, use_errno=True)
        done = library.renameat2(_HERE, os.fsencode(one), _HERE, os.fsencode(other), _EXCHANGE)
    except (OSError, AttributeError, TypeError):
        return False
    return bool(done == 0)
