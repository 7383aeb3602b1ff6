"""Which files of a curriculum folder are read, in order, and what stands there that should not."""

from __future__ import annotations

import difflib
import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from generator.diagnostics import Location, Problem, Severity
from generator.reading.text import shown

ROOT_FILES = ("program", "techniques", "equipment", "quantities", "sources", "glossary", "readings", "local")
"""Files of the curriculum folder itself, without their ending."""
OPTIONAL_FILES = ("readings", "local")
RECORD_FOLDERS = {"trainers": 1, "skills": 2, "stations": 1, "labs": 1, "scenarios": 1, "standards": 1}
"""Folder → how many names lead from it to a record: a skill stands in the folder of its strand."""
NEEDED_FOLDERS = ("trainers", "skills")
UNREAD_NAMES = frozenset({"README.md", "example-records", "labels"})
"""Names in the curriculum folder that are allowed and not read as records; `labels` holds message catalogues."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """One file. `name` is its path inside the curriculum folder, with forward slashes and without odd characters."""

    path: Path
    parts: tuple[str, ...]
    file: str
    """The name that problems carry."""

    @property
    def stem(self) -> str:
        """The file's name without its ending."""
        return self.parts[-1].rsplit(".", 1)[0]


def find_files(folder: Path) -> tuple[tuple[Found, ...], tuple[Problem, ...]]:
    """Every file to read, sorted by path, and a problem for each that is out of place or missing.

    Names that begin with a dot are left alone. Links are followed only to files inside the folder.
    """
    base = folder.absolute().name or "curriculum"
    if not folder.is_dir():
        what = "is not a folder" if folder.exists() else "does not exist"
        problem = Problem(
            location=Location(printable(base)),
            rule="folder-missing",
            message=f"The curriculum folder `{printable(base)}` {what}.",
            remedy="Run the command in the folder that holds it, or name the folder.",
        )
        return (), (problem,)
    found: list[Found] = []
    problems: list[Problem] = []
    inside = Path(os.path.realpath(folder))
    for entry, parts in _walk(folder, base, problems):
        file = printable("/".join((base, *parts)))
        wrong = _link_problem(entry, file, inside) or _place_problem(entry, parts, file)
        if wrong:
            problems.append(wrong)
        elif len(parts) > 1 or parts[0].endswith(".yaml"):
            found.append(Found(path=Path(entry.path), parts=parts, file=file))
    problems += _missing(folder, base)
    return tuple(sorted(found, key=lambda item: item.parts)), tuple(problems)


def _walk(folder: Path, base: str, problems: list[Problem]) -> Iterator[tuple[os.DirEntry[str], tuple[str, ...]]]:
    """Files, links and misplaced folders below a folder; folders that may hold files to read are entered."""
    waiting: list[tuple[str, tuple[str, ...]]] = [(str(folder), ())]
    while waiting:
        path, parts = waiting.pop()
        try:
            entries = sorted(os.scandir(path), key=lambda entry: entry.name)
        except OSError as error:
            problems.append(
                Problem(
                    location=Location(printable("/".join((base, *parts)))),
                    rule="file-unreadable",
                    message=f"This folder cannot be read: {(error.strerror or 'unknown').lower()}.",
                    remedy="Make it a folder that this user may read.",
                )
            )
            continue
        for entry in entries:
            here = (*parts, entry.name)
            if entry.name.startswith(".") or (len(here) == 1 and entry.name in UNREAD_NAMES):
                continue
            if entry.is_dir(follow_symlinks=False) and _may_enter(here):
                waiting.append((entry.path, here))
            else:
                yield entry, here


def _may_enter(parts: tuple[str, ...]) -> bool:
    return parts[0] == "pages" or len(parts) <= RECORD_FOLDERS.get(parts[0], 0)


def _link_problem(entry: os.DirEntry[str], file: str, inside: Path) -> Problem | None:
    if not entry.is_symlink():
        return None
    target = Path(os.path.realpath(entry.path))
    if not target.is_relative_to(inside):
        return Problem(
            location=Location(file),
            rule="link-outside",
            message="This link leads out of the curriculum folder and is not followed.",
            remedy="Copy the file here instead.",
        )
    if not target.is_file():
        return Problem(
            location=Location(file),
            rule="file-unreadable",
            message="This link leads to a folder." if target.is_dir() else "This link leads nowhere.",
            remedy="Put the files themselves here, or delete the link.",
        )
    return None


def _place_problem(entry: os.DirEntry[str], parts: tuple[str, ...], file: str) -> Problem | None:
    """A problem when nothing reads this file or folder. One that looks like a record is an error: it would be lost."""
    name = parts[-1]
    stem, _, ending = name.rpartition(".")
    is_folder = entry.is_dir()
    depth = RECORD_FOLDERS.get(parts[0])
    looks_like_record = ending.lower() in ("yaml", "yml") and not is_folder
    if parts[0] == "pages" and len(parts) > 1:
        return None
    in_place = stem in ROOT_FILES if len(parts) == 1 else len(parts) == (depth or 0) + 1
    if in_place and ending == "yaml" and not is_folder:
        return None
    remedy = "Move it out of the curriculum folder."
    if looks_like_record and ending != "yaml" and (stem in ROOT_FILES or depth):
        remedy = f"Name it `{printable(stem)}.yaml`."
    elif looks_like_record and parts[0] == "skills":
        remedy = "A skill stands in the folder of its strand: `skills/<strand>/<id>.yaml`."
    elif looks_like_record and depth:
        remedy = f"Files stand in `{parts[0]}` itself: `{parts[0]}/<id>.yaml`."
    elif len(parts) == 1:
        known = (*RECORD_FOLDERS, "pages") if is_folder else tuple(f"{known}.yaml" for known in ROOT_FILES)
        near = difflib.get_close_matches(name.lower(), known, 1)
        remedy = f"Did you mean `{near[0]}`?" if near else remedy
    return Problem(
        location=Location(file),
        rule="file-unexpected",
        message=f"Nothing reads this {'folder' if is_folder else 'file'}.",
        remedy=remedy,
        severity=Severity.ERROR if looks_like_record else Severity.WARNING,
    )


def _missing(folder: Path, base: str) -> Iterator[Problem]:
    for stem in ROOT_FILES:
        if stem not in OPTIONAL_FILES and not os.path.lexists(folder / f"{stem}.yaml"):
            yield Problem(
                location=Location(printable(f"{base}/{stem}.yaml")),
                rule="file-missing",
                message=f"The file `{stem}.yaml` is not there.",
                remedy="Copy one from another program and change it.",
            )
    for name in NEEDED_FOLDERS:
        if not os.path.lexists(folder / name):
            yield Problem(
                location=Location(printable(f"{base}/{name}")),
                rule="folder-missing",
                message=f"The folder `{name}` is not there.",
                remedy=f"Make it, with one file for each of the {name}.",
            )


def printable(name: str) -> str:
    """A file's name fit to print: bytes that are not UTF-8 and characters that cannot be seen are written out."""
    return shown(os.fsencode(name).decode("utf-8", "backslashreplace"), 400)
