"""`print` and `stale`: sheets on paper."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from generator.cli import packets
from generator.cli.shared import (
    CLEAN,
    PAPERS,
    PROBLEMS,
    STORE,
    USAGE,
    CannotRunError,
    Commands,
    progress,
    readable,
    remembered,
    show,
    unknown,
)

if TYPE_CHECKING:
    from generator.model import Paper

_WHAT = "checklist, practice, trainer or another kind of sheet (default: all); or standard, for raters of a cut score"


def add(commands: Commands) -> None:
    """Add these commands."""
    sub = commands.add("print", _print, "typeset sheets without the site")
    sub.add_argument("what", nargs="?", metavar="WHAT", help=_WHAT)
    sub.add_argument("ids", nargs="*", metavar="ID", help="skills, trainers or stations (default: all)")
    packets.add_options(sub)
    sub.add_argument("--paper", choices=PAPERS, default=None, help="default: the program's own")
    sub.add_argument("--out", type=Path, metavar="DIR", help=f"folder for the PDFs (default: {packets.SHEETS})")

    sub = commands.add("stale", _stale, "list the sheets whose printed content changed since a git revision")
    sub.add_argument("revision", metavar="REV", help="a git revision, such as HEAD~1 or a tag")


def _print(options: argparse.Namespace) -> int:
    from generator.build import files_of, typeset_sheets, write_files
    from generator.rendering.lab_plans import days_of
    from generator.rendering.sheets import KINDS, sheets_of
    from generator.rendering.sheets.revisions import known_revisions
    from generator.rendering.sheets.unshown import unshown

    if packets.is_meant(options):
        return packets.print_packet(options)
    if options.what == "standard":
        return _standard(options)
    if options.what is not None and options.what not in KINDS:
        print(f"rungbook: no sheet is called {options.what}. Sheets: {', '.join(KINDS)}", file=sys.stderr)
        return USAGE
    curriculum = readable(options, on=None)
    if curriculum is None:
        return PROBLEMS
    days = days_of(curriculum, store=STORE) if options.what in (None, "timetable") else None
    sheets = [sheet for sheet in sheets_of(curriculum, days=days) if options.what in (None, sheet.kind)]
    missing = set(options.ids) - {sheet.id for sheet in sheets}
    if missing:
        print(f"rungbook: no {options.what} sheet for {', '.join(sorted(missing))}", file=sys.stderr)
        return USAGE
    if options.ids:
        sheets = [sheet for sheet in sheets if sheet.id in options.ids]
    paper: Paper = options.paper or curriculum.program.paper
    made = dict(typeset_sheets(sheets, papers=(paper,), store=STORE, progress=progress("sheets")))
    show(unshown((f"{stem}.pdf", one.geometry) for stem, one in made.items()))
    files = [files_of(stem, one) for stem, one in made.items()]
    named = {Path(name).name: content for pair in files for name, content in pair.items()}
    folder = options.out or packets.SHEETS
    written = write_files(named | remembered(folder, known_revisions(sheets)), folder)
    for path in written:
        if path.suffix == ".pdf":
            print(path)
    return CLEAN


def _standard(options: argparse.Namespace) -> int:
    """The sheets on which raters write their estimates for a cut score. They are no part of the site."""
    from generator.build import write_files
    from generator.rendering.reports import standard_sheet

    curriculum = readable(options, on=None)
    if curriculum is None:
        return PROBLEMS
    for skill in options.ids:
        if skill not in curriculum.skills:
            return unknown("skill", skill, curriculum.skills)
    paper: Paper = options.paper or curriculum.program.paper
    chosen = options.ids or list(curriculum.skills)
    files = {f"standard-{skill}-{paper}.pdf": standard_sheet(curriculum, skill, paper=paper) for skill in chosen}
    for path in write_files(files, options.out or packets.SHEETS):
        print(path)
    return CLEAN


def _stale(options: argparse.Namespace) -> int:
    from generator.build import BuildError, sheets_at
    from generator.rendering.lab_plans import days_of
    from generator.rendering.sheets import changes, sheets_of

    curriculum = readable(options, on=None)
    if curriculum is None:
        return PROBLEMS
    try:
        before = sheets_at(options.curriculum, options.revision, store=STORE)
    except BuildError as problem:
        raise CannotRunError(str(problem)) from None
    found = changes(before, sheets_of(curriculum, days=days_of(curriculum, store=STORE)))
    for change in found:
        print(change)
    print(f"{len(found)} sheets to reprint or take away" if found else "every sheet printed then is still current")
    return CLEAN
