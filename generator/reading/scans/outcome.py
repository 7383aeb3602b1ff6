"""A pile of scans → rows, and everything a person must look at. Every page is in one of them."""

from __future__ import annotations

import csv
import io
import os
import tempfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from generator.model import Curriculum
from generator.model.attempt import Attempt
from generator.reading.aside import as_row
from generator.reading.attempt_lines import COLUMNS
from generator.reading.attempt_rows import plain
from generator.reading.scans.rows import SheetReading, read_sheet, sheet_id
from generator.reading.scans.sheets import FilledSheet, Prints, ReadPage, Refusal, gathered, read_files

Tell = Callable[[int], None]
"""Called with the number of pages read so far."""
ANSWER_COLUMNS = ("sheet", "what", "answer")


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldSheet:
    """A sheet that gives no rows until its questions are answered."""

    sheet: FilledSheet
    reading: SheetReading


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What a pile of scans came to."""

    pages: int
    rows: tuple[Attempt, ...]
    held: tuple[HeldSheet, ...]
    refused: tuple[Refusal, ...]
    sheets: int
    unused: int
    """Sheets that were read without a doubt and on which nothing was marked."""


def read_scans(
    paths: Sequence[Path],
    prints: Prints,
    curriculum: Curriculum,
    *,
    answers: Mapping[str, Mapping[str, str]],
    on: date | None = None,
    evaluator: str | None = None,
    tell: Tell | None = None,
    workers: int = 1,
) -> Outcome:
    """Read files of scans in order. `answers` go by sheet, then by place.

    Only what a person must see is kept of the pictures, so that a pile of hundreds of pages fits in memory.
    """
    pages: list[ReadPage] = []
    refused: list[Refusal] = []
    count = 0
    for count, page in enumerate(read_files(paths, prints, workers=workers), start=1):
        if isinstance(page, Refusal):
            refused.append(page)
        else:
            pages.append(page)
        if tell:
            tell(count)
    sheets = gathered(pages, prints)
    rows: list[Attempt] = []
    held: list[HeldSheet] = []
    unused = 0
    for sheet in sheets:
        given = answers.get(sheet_id(sheet), {})
        reading = read_sheet(sheet, curriculum, answers=given, on=on, evaluator=evaluator)
        if reading.questions:
            held.append(HeldSheet(sheet=sheet, reading=reading))
        elif not reading.attempts:
            unused += 1
        rows += reading.attempts
    return Outcome(
        pages=count,
        rows=tuple(rows),
        held=tuple(held),
        refused=tuple(refused),
        sheets=len(sheets),
        unused=unused,
    )


def read_answers(path: Path) -> tuple[dict[str, dict[str, str]], tuple[str, ...]]:
    """Answers by sheet and place from a CSV with the columns sheet, what, answer; and what is wrong with it."""
    text = path.read_bytes().decode("utf-8-sig", "replace")
    answers: dict[str, dict[str, str]] = {}
    troubles: list[str] = []
    reader = csv.DictReader(io.StringIO(text, newline=""))
    lacking = [name for name in ANSWER_COLUMNS if name not in (reader.fieldnames or ())]
    if lacking:
        return {}, (f"{path.name}:1: the column {', '.join(lacking)} is missing; save the answers from the page again",)
    for row in reader:
        sheet, what, answer = (plain(row.get(name) or "") for name in ANSWER_COLUMNS)
        if not sheet or not what or not answer:
            troubles.append(
                f"{path.name}:{reader.line_num}: this line names no sheet, place or answer; it is passed over"
            )
            continue
        answers.setdefault(sheet, {})[what] = answer
    return answers, tuple(troubles)


def append_rows(path: Path, rows: Iterable[Attempt]) -> tuple[int, int]:
    """Add rows to a file of attempts, whole or not at all; returns how many were added and how many stood there.

    A row whose attempt id is in the file already is not added again. A new file gets the header first.
    Errors: OSError when the file cannot be read or written; ValueError when it is not a file of attempts.
    """
    before = path.read_bytes() if path.exists() else b""
    known = _ids(before)
    fresh, again = [], 0
    for row in rows:
        if row.attempt in known:
            again += 1
        else:
            known.add(row.attempt)
            fresh.append(row)
    if not fresh:
        return 0, again
    text = before or (",".join(COLUMNS) + "\r\n").encode()
    if not text.endswith(b"\n"):
        text += b"\r\n"
    text += "".join(f"{as_row(row)}\r\n" for row in fresh).encode()
    handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}-")
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        if path.exists():
            Path(temporary).chmod(path.stat().st_mode & 0o777)
        else:
            Path(temporary).chmod(0o600)
        Path(temporary).replace(path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
    return len(fresh), again


def _ids(data: bytes) -> set[str]:
    if not data.strip():
        return set()
    rows = csv.reader(io.StringIO(data.decode("utf-8-sig", "replace"), newline=""))
    header = [name.strip().lower() for name in next(rows)]
    if header != list(COLUMNS):
        raise ValueError(
            "its first line does not name the columns of attempts in their usual order, separated by commas"
        )
    place = header.index("attempt")
    return {row[place].strip().lstrip("'") for row in rows if len(row) > place}
