"""`ready`: from scored attempts to who is ready for what, why, and what comes next."""

from __future__ import annotations

import argparse
import gc
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from generator.cli.shared import (
    CLEAN,
    PROBLEMS,
    CannotRunError,
    Commands,
    readable,
    refuse_public,
    show,
    takes_day,
    today_of,
    unknown,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from generator.analysis.readiness import Readiness, Standing
    from generator.model import Curriculum
    from generator.model.attempt import KnownRevision
    from generator.reading.attempts import AttemptsFile

HARMLESS = frozenset({"header-repeated", "row-repeated"})
"""Rows that are set aside without a loss."""
REVISIONS = Path("sheets/revisions.json")


def add(commands: Commands) -> None:
    """Add this command."""
    sub = commands.add("ready", _ready, "say who is ready for what, why, and what comes next, from scored attempts")
    sub.add_argument(
        "attempts", type=Path, metavar="ATTEMPTS.csv", help="one row an attempt; kept outside the handbook"
    )
    takes_day(sub)
    sub.add_argument("--skill", metavar="ID", help="only this skill")
    sub.add_argument("--learner", metavar="CODE", help="only this learner, with all reasons")
    sub.add_argument("--format", choices=("text", "csv", "json"), default="text", help="what to print (default: text)")
    sub.add_argument("--html", type=Path, metavar="FILE", help="write the private report as one HTML file")
    sub.add_argument("--letters", type=Path, metavar="DIR", help="write a letter (PDF) for each learner")
    sub.add_argument("--board", type=Path, metavar="FILE", help="write the cohort board (PDF)")
    sub.add_argument(
        "--lists", type=Path, metavar="DIR", help="write the instructor's list (PDF) for each coming lab day"
    )
    sub.add_argument("--aside", type=Path, metavar="FILE", help="write the rows that were set aside as CSV")
    sub.add_argument(
        "--encoding", metavar="NAME", help="encoding of the file when it is not UTF-8, such as windows-1252"
    )
    sub.add_argument(
        "--revisions",
        type=Path,
        default=REVISIONS,
        metavar="FILE",
        help=f"sheets printed earlier (default: {REVISIONS}; those of the site and beside the attempts are read too)",
    )
    sub.add_argument(
        "--sheets-at", action="append", default=[], metavar="REV", help="judge by the sheets of this git revision too"
    )
    sub.add_argument("--site", type=Path, default=Path("site"), metavar="DIR", help="the built site, never written to")


def _ready(options: argparse.Namespace) -> int:
    # A million records that hold no circles: walking them again and again takes a third of the time and frees nothing.
    gc.disable()
    try:
        return _report(options)
    finally:
        gc.enable()


def _report(options: argparse.Namespace) -> int:
    from generator.analysis.readiness import readiness_of
    from generator.rendering.readiness import aside_text

    on = today_of(options)
    _refuse_wrong_places(options)
    curriculum = readable(options, on=on)
    if curriculum is None:
        return PROBLEMS
    if options.skill is not None and options.skill not in curriculum.skills:
        return unknown("skill", options.skill, curriculum.skills)
    known = _known(options, curriculum)
    found = _read(options, curriculum, known)
    readiness = readiness_of(curriculum, found.attempts, on=on)
    if options.learner is not None and options.learner not in readiness.learners:
        return unknown("learner", options.learner, readiness.learners)
    standings = [
        one
        for one in readiness.standings.values()
        if options.skill in (None, one.skill) and options.learner in (None, one.learner)
    ]
    for remark in found.remarks:
        print(f"rungbook: {remark}", file=sys.stderr)
    if options.format == "text":
        sys.stderr.write(aside_text(found.set_aside))
    _print(options, readiness, curriculum, standings, found)
    _write(options, readiness, curriculum, found, known)
    lost = [
        row for row in found.set_aside if row.rule not in HARMLESS and not (options.on and row.rule == "date-later")
    ]
    return PROBLEMS if lost or not found.attempts else CLEAN


def _refuse_wrong_places(options: argparse.Namespace) -> None:
    """Stop before anything about learners is written where it would be published, or over the attempts themselves."""
    places = {f"--{name}": getattr(options, name) for name in ("html", "letters", "board", "lists", "aside")}
    for option, path in places.items():
        if path is not None and path.resolve() == options.attempts.resolve():
            raise CannotRunError(f"{option} names the file of attempts itself. Name another file.")
    refuse_public(places, curriculum=options.curriculum, site=options.site)


def _known(options: argparse.Namespace, curriculum: Curriculum) -> dict[str, KnownRevision]:
    from generator.build import BuildError, sheets_at
    from generator.reading.revisions import read_revisions
    from generator.rendering.sheets import sheets_of
    from generator.rendering.sheets.revisions import known_revisions

    if options.revisions != REVISIONS and not options.revisions.exists():
        raise CannotRunError(f"{options.revisions} is not there. Name the file that `rungbook print` wrote.")
    known: dict[str, KnownRevision] = {}
    here = REVISIONS.name
    for path in (options.attempts.with_name(here), options.site / "sheets" / here, options.revisions):
        earlier, problems = read_revisions(path)
        show(problems)
        known |= earlier
    for revision in options.sheets_at:
        try:
            known |= known_revisions(sheets_at(options.curriculum, revision), is_current=False)
        except BuildError as problem:
            raise CannotRunError(str(problem)) from None
    return known | known_revisions(sheets_of(curriculum))


def _read(options: argparse.Namespace, curriculum: Curriculum, known: dict[str, KnownRevision]) -> AttemptsFile:
    from generator.reading.attempts import read_attempts

    if not options.attempts.is_file():
        raise CannotRunError(f"{options.attempts} is not a file. Name a CSV file of attempts.")
    try:
        return read_attempts(
            options.attempts, curriculum, revisions=known, on=today_of(options), encoding=options.encoding
        )
    except LookupError:
        raise CannotRunError(
            f"no encoding is called {options.encoding}. Usual ones: utf-8, utf-16, windows-1252, mac-roman."
        ) from None


def _print(
    options: argparse.Namespace,
    readiness: Readiness,
    curriculum: Curriculum,
    standings: Sequence[Standing],
    found: AttemptsFile,
) -> None:
    from generator.rendering.readiness import learner_text, readiness_csv, readiness_json, readiness_text

    if options.format == "csv":
        sys.stdout.write(readiness_csv(standings))
    elif options.format == "json":
        sys.stdout.write(readiness_json(readiness, standings, found.set_aside, rows=found.rows))
    elif options.learner is not None:
        sys.stdout.write(learner_text(curriculum, standings))
    else:
        sys.stdout.write(readiness_text(readiness, curriculum, standings))


def _write(
    options: argparse.Namespace,
    readiness: Readiness,
    curriculum: Curriculum,
    found: AttemptsFile,
    known: dict[str, KnownRevision],
) -> None:
    from generator.build import write_files
    from generator.rendering.readiness import aside_csv

    files: dict[Path, bytes] = {}
    if options.aside is not None:
        files[options.aside] = aside_csv(found.set_aside).encode()
    if (
        options.html is not None
        or options.letters is not None
        or options.board is not None
        or options.lists is not None
    ):
        files |= _papers(options, readiness, curriculum, found, known)
    for path, content in files.items():
        for written in write_files({path.name: content}, path.parent):
            print(written, file=sys.stderr)


def _papers(
    options: argparse.Namespace,
    readiness: Readiness,
    curriculum: Curriculum,
    found: AttemptsFile,
    known: dict[str, KnownRevision],
) -> dict[Path, bytes]:
    from generator.rendering.reports import board, day_list, letter, older_prints, report_html
    from generator.rendering.sheets import sheets_of

    files: dict[Path, bytes] = {}
    if options.html is not None:
        files[options.html] = report_html(
            readiness,
            curriculum,
            attempts=found.attempts,
            set_aside=found.set_aside,
            known=tuple(known.values()),
            file_name=options.attempts.name,
        ).encode()
    if options.letters is not None:
        chosen = [options.learner] if options.learner is not None else readiness.learners
        files |= {options.letters / f"letter-{one}.pdf": letter(readiness, one, curriculum) for one in chosen}
    if options.board is not None:
        files[options.board] = board(readiness, curriculum)
    if options.lists is not None:
        revisions = {sheet.id: sheet.revision for sheet in sheets_of(curriculum) if sheet.kind == "checklist"}
        older = older_prints(curriculum, found.attempts, known, on=readiness.on)
        for lab in readiness.labs:
            made = day_list(readiness, curriculum, lab=lab.lab, revisions=revisions, older=older)
            files[options.lists / f"list-{lab.lab}.pdf"] = made
    return files
