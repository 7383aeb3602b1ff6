"""What every command shares: exit codes, reading the curriculum, showing problems and progress."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

if TYPE_CHECKING:
    from generator.build import Prepared
    from generator.diagnostics import Problem
    from generator.model import Curriculum, Paper
    from generator.model.attempt import KnownRevision

CLEAN, PROBLEMS, USAGE, CANNOT = 0, 1, 2, 3
PAPERS: tuple[Paper, ...] = ("a4", "us-letter")
STORE = Path(".rungbook/store")
MADE = date(2025, 1, 1)
"""Before this day there was no Rungbook: a clock that tells an earlier one has lost its time."""
Command = Callable[[argparse.Namespace], int]


class CannotRunError(Exception):
    """Something outside the curriculum is in the way; the text says what to do."""


@dataclass(frozen=True, slots=True)
class Commands:
    """Where commands are added. Each module of this package adds its own with `add(commands)`."""

    parsers: Any

    def add(self, name: str, command: Command, text: str) -> argparse.ArgumentParser:
        """A command that reads a curriculum; `text` is its line of help."""
        sub: argparse.ArgumentParser = self.parsers.add_parser(
            name, help=text, description=text[0].upper() + text[1:] + "."
        )
        sub.add_argument("--curriculum", type=Path, default=Path("curriculum"), metavar="DIR", help="folder of YAML")
        sub.set_defaults(command=command)
        return sub


def takes_day(sub: argparse.ArgumentParser) -> None:
    """Let a command be told which day it is."""
    sub.add_argument("--on", type=day, default=None, metavar="DATE", help="the day to judge by (default: today)")


def day(text: str) -> date:
    """A date that was typed. Raises ArgumentTypeError with what to type instead."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is not a date; write one as 2026-10-31") from None


def today_of(options: argparse.Namespace) -> date:
    """The day to judge by."""
    day: date | None = options.on
    return day or clock_day()


def clock_day() -> date:
    """The day that this machine's clock tells. Raises CannotRunError where that cannot be right."""
    found = date.today()
    if found < MADE:
        raise CannotRunError(
            f"this machine's clock says {found}, before Rungbook was made, and reviews are judged by the day. Nothing "
            "was changed. Set the clock, or say which day it is with --on where the command has it."
        )
    return found


def prepared_of(options: argparse.Namespace, *, papers: Sequence[Paper]) -> Prepared | None:
    """Everything a site is made of, or None after the errors were shown."""
    from generator.build import prepare, problems_of

    today = today_of(options)
    curriculum, problems = problems_of(options.curriculum, today=today, processes=os.cpu_count() or 1)
    if curriculum is None or any(problem.is_error for problem in problems):
        show(problems)
        print("rungbook: nothing was written; the last good site is still in place", file=sys.stderr)
        return None
    return prepare(curriculum, problems, today=today, papers=papers, store=STORE, progress=progress("sheets"))


def readable(options: argparse.Namespace, *, on: date | None) -> Curriculum | None:
    """The curriculum, or None after its errors were shown."""
    from generator.build import problems_of

    curriculum, problems = problems_of(options.curriculum, today=on or clock_day())
    errors = [problem for problem in problems if problem.is_error]
    if errors:
        show(errors)
        return None
    return curriculum


def unknown(kind: str, found: str, known: Iterable[str]) -> int:
    """Say that an id is not known, with the nearest one that is."""
    from difflib import get_close_matches

    near = get_close_matches(found, list(known), n=1)
    hint = f" Did you mean {near[0]}?" if near else ""
    print(f"rungbook: no {kind} is called {found}.{hint}", file=sys.stderr)
    return USAGE


def show(problems: Sequence[Problem]) -> None:
    """Write problems to standard error, in order."""
    from generator.diagnostics import as_text, in_order

    sys.stderr.write(as_text(in_order(problems)))


def progress(what: str, stream: TextIO = sys.stderr) -> Callable[[int, int], None] | None:
    """A counter on one line of a terminal; nothing in a pipe."""
    if not stream.isatty():
        return None

    def write(done: int, total: int) -> None:
        stream.write(f"\r{done} of {total} {what}" + ("\n" if done == total else ""))
        stream.flush()

    return write


def remembered(folder: Path, printed: Mapping[str, KnownRevision]) -> dict[str, bytes]:
    """The file beside the prints that says which steps each revision listed, those printed earlier included.

    `folder` is where the last one lies. Nothing is given back, so nothing is lost, when that one cannot be read.
    """
    from generator.reading.revisions import read_revisions
    from generator.rendering.sheets.revisions import FILE, revisions_json

    known, problems = read_revisions(folder / FILE)
    show(problems)
    return {} if problems else {FILE: revisions_json({**known, **printed}).encode()}


def refuse_public(places: Mapping[str, Path | None], *, curriculum: Path, site: Path) -> None:
    """Stop before records of learners are written where others can read them. `places` by the option that names each.

    Raises CannotRunError for a place in a site, in the curriculum, or in the repository that holds the curriculum.
    """
    from generator.build import MARK

    inside = curriculum.resolve()
    public = {"the curriculum": inside, "the site": site.resolve()}
    repository = next((folder for folder in (inside, *inside.parents) if (folder / ".git").exists()), None)
    if repository is not None:
        public["the handbook's repository"] = repository
    for option, path in places.items():
        if path is None:
            continue
        target = path.resolve()
        is_site = any((folder / MARK).exists() for folder in (target, *target.parents))
        where = "a site" if is_site else next((n for n, f in public.items() if target.is_relative_to(f)), None)
        if where:
            raise CannotRunError(
                f"{option} {path} lies in {where}, which others can read. Records of learners never go there: "
                "name a place outside the handbook's folder."
            )
