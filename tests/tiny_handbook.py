"""The tiny curriculum as a real handbook: the shipped configuration beside it, built by the real command."""

from __future__ import annotations

import shutil
from pathlib import Path

from generator.cli import main

TOP = Path(__file__).resolve().parent.parent
BASE = TOP / "tests" / "cases" / "base" / "curriculum"
TODAY = "2026-03-01"
"""A day on which nothing in the tiny curriculum is overdue."""


def laid_out(folder: Path, *, curriculum: Path = BASE) -> Path:
    """A folder with a curriculum, the shipped `mkdocs.yml` and the shipped overrides; gives the folder."""
    folder.mkdir(parents=True, exist_ok=True)
    shutil.copytree(curriculum, folder / "curriculum", dirs_exist_ok=True)
    shutil.copytree(TOP / "site_overrides", folder / "site_overrides", dirs_exist_ok=True)
    shutil.copyfile(TOP / "mkdocs.yml", folder / "mkdocs.yml")
    return folder


def words(folder: Path, *more: str, site: str = "site", on: str = TODAY) -> list[str]:
    """The words of a build of a handbook that was laid out."""
    return [
        "build",
        *("--curriculum", str(folder / "curriculum"), "--config", str(folder / "mkdocs.yml")),
        *("--site", str(folder / site), "--on", on, *more),
    ]


def built(folder: Path, *more: str, site: str = "site", on: str = TODAY) -> Path:
    """Build it in this process; gives the site's folder. The store is the working folder's own."""
    assert main(words(folder, *more, site=site, on=on)) == 0
    return folder / site
