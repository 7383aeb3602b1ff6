"""`read`: filled sheets from a scan into the file of attempts."""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from generator.cli.shared import (
    CLEAN,
    PROBLEMS,
    STORE,
    CannotRunError,
    Commands,
    day,
    readable,
    refuse_public,
)

if TYPE_CHECKING:
    from generator.model import Curriculum
    from generator.reading.scans.outcome import HeldSheet, Outcome
    from generator.rendering.reports.confirm import AskedSheet

CONFIRM_PAGE = "confirm.html"
SITE = Path("site")


def add(commands: Commands) -> None:
    """Add this command."""
    sub = commands.add("read", _read, "read filled checklists from scans or photographs into the file of attempts")
    sub.add_argument("scans", nargs="+", type=Path, metavar="SCAN", help="PDF or picture files, or folders of them")
    sub.add_argument("--into", type=Path, required=True, metavar="ATTEMPTS.csv", help="file that gets the rows")
    sub.add_argument(
        "--confirm", type=Path, default=None, metavar="DIR", help="folder for what a person must see (default: beside)"
    )
    sub.add_argument("--answers", type=Path, metavar="FILE", help="answers saved from the page to confirm")
    sub.add_argument(
        "--prints", type=Path, action="append", default=[], metavar="DIR", help="folders with sheets printed earlier"
    )
    sub.add_argument(
        "--on", type=day, default=None, metavar="DATE", help="day of the attempts, where a sheet says none"
    )
    sub.add_argument("--evaluator", metavar="CODE", help="evaluator of all these sheets")


def _read(options: argparse.Namespace) -> int:
    from generator.reading.scans.outcome import append_rows, read_answers, read_scans
    from generator.reading.scans.pictures import ENDINGS
    from generator.reading.scans.prints import find_prints

    folder = options.confirm or options.into.with_name(f"{options.into.stem}-to-confirm")
    refuse_public({"--into": options.into, "--confirm": folder}, curriculum=options.curriculum, site=SITE)
    curriculum = readable(options, on=None)
    if curriculum is None:
        return PROBLEMS
    paths = _files(options.scans, ENDINGS)
    prints = find_prints([*options.prints, Path("sheets"), SITE / "sheets", STORE])
    if not prints:
        raise CannotRunError("no printed sheet is known; name the folder it was printed to with --prints")
    answers, troubles = read_answers(options.answers) if options.answers else ({}, ())
    for trouble in troubles:
        print(f"rungbook: {trouble}", file=sys.stderr)
    started = time.monotonic()
    outcome = read_scans(
        paths,
        prints,
        curriculum,
        answers=answers,
        on=options.on,
        evaluator=options.evaluator,
        tell=_tell(),
        workers=os.cpu_count() or 1,
    )
    seconds = max(time.monotonic() - started, 1e-9)
    # What a person must see is written before the rows: a page is never lost between the two.
    written = _write_confirm(options, curriculum, outcome, folder)
    try:
        added, again = append_rows(options.into, outcome.rows)
    except ValueError as problem:
        raise CannotRunError(f"{options.into} was left as it is: {problem}") from None
    print(
        f"{outcome.pages} pages, {outcome.pages / seconds:.1f} a second: {outcome.sheets} sheets, "
        f"{len(outcome.rows)} attempts; {added} rows added to {options.into}, {again} stood there already"
    )
    if outcome.unused:
        print(f"{outcome.unused} sheets had nothing marked on them")
    if written:
        print(f"{len(outcome.held)} sheets and {len(outcome.refused)} pages to confirm: open {written}")
        return PROBLEMS
    return CLEAN


def _tell() -> Callable[[int], None] | None:
    if not sys.stderr.isatty():
        return None

    def tell(count: int) -> None:
        sys.stderr.write(f"\r{count} pages read")
        sys.stderr.flush()

    return tell


def _files(given: list[Path], endings: frozenset[str]) -> list[Path]:
    found: list[Path] = []
    for path in given:
        if path.is_dir():
            found += sorted(one for one in path.iterdir() if one.suffix.lower() in endings)
        elif path.exists():
            found.append(path)
        else:
            raise CannotRunError(f"{path} is not there")
    return found


def _write_confirm(options: argparse.Namespace, curriculum: Curriculum, outcome: Outcome, folder: Path) -> Path | None:
    from generator.build import write_files
    from generator.reading.scans.pictures import png
    from generator.rendering.reports.confirm import RefusedPage, confirm_html, page_said

    if not outcome.held and not outcome.refused:
        return None
    whole = [
        *((page.file, page.page, page.gray) for page in outcome.refused if page.gray is not None),
        *((page.file, page.page_of_file, page.upright()) for one in outcome.held for page in one.sheet.pages.values()),
    ]
    # Numbered, because two folders may each hold a file of one name.
    pictures = {f"{n:03}-{Path(file).stem}-{page}.png": png(gray) for n, (file, page, gray) in enumerate(whole, 1)}
    refused = [
        RefusedPage(
            where=page_said(curriculum, page.file, page.page),
            reason=curriculum.say(page.reason, **page.parts),
            remedy=curriculum.say(page.remedy, **page.parts),
            picture=png(page.gray, most=700) if page.gray is not None else None,
        )
        for page in outcome.refused
    ]
    scans = " ".join(str(path) for path in options.scans)
    command = f"rungbook read {scans} --into {options.into} --answers answers.csv"
    asked = [_asked(curriculum, one) for one in outcome.held]
    html = confirm_html(curriculum, asked, refused, command=command)
    write_files({CONFIRM_PAGE: html, **pictures}, folder)
    return folder / CONFIRM_PAGE


def _asked(curriculum: Curriculum, held: HeldSheet) -> AskedSheet:
    from generator.reading.scans.pictures import png
    from generator.rendering.reports.confirm import Asked, AskedSheet, page_said

    places = {"learner": "field:learner-code", "evaluator": "field:evaluator-code", "date": "field:date"}
    first = held.sheet.pages[min(held.sheet.pages)]
    asked = []
    for question in held.reading.questions:
        page = held.sheet.pages.get(question.page or 0, first)
        part = page.cut(places.get(question.what, question.what))
        asked.append(
            Asked(
                what=question.what,
                asks=question.asks,
                choices=question.choices,
                guess=question.guess,
                picture=png(part, enlarged=2) if part is not None else png(page.upright(), most=700),
            )
        )
    pages = [page for _, page in sorted(held.sheet.pages.items())]
    where = "; ".join(page_said(curriculum, page.file, page.page_of_file) for page in pages)
    return AskedSheet(id=held.reading.id, skill=held.sheet.code.id, where=where, asked=tuple(asked))
