"""A file of attempts: CSV that a person can type, read row by row. No row is dropped and none is guessed.

RFC 4180 with three kindnesses: `;` or a tab may separate (the header tells), any line end is taken, and cells that a
spreadsheet would run as a formula carry a leading apostrophe, which is taken off. Text is UTF-8, or UTF-16 with a byte
order mark. Any other encoding must be named; without that, only the rows that are not UTF-8 are set aside.

A quoted note may hold line breaks. When what follows an open quote looks like a row of its own, or the whole has not
the right number of fields, the quote is taken for a slip: each line is then judged by itself.

Rows of one attempt id belong together: two evaluators may mark one attempt. They must agree on the day, the learner,
the skill, the rung, the trainer and the team role, and one evaluator has one row. An exact repeat is set aside; of
rows that contradict each other all are, because nobody knows which is right.
"""

from __future__ import annotations

import codecs
import io
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from generator.model import Curriculum
from generator.model.attempt import Attempt, KnownRevision, SetAside
from generator.reading.aside import as_row
from generator.reading.attempt_lines import (
    COLUMNS,
    DAMAGED,
    Record,
    header_of,
    header_trouble,
    is_damaged,
    names_columns,
    numbered,
    records,
    wrong_width,
)
from generator.reading.attempt_rows import Judge, Refused, plain


@dataclass(frozen=True, slots=True, kw_only=True)
class AttemptsFile:
    """What a file of attempts holds. `rows` is the sum of the two: every row is in one of them."""

    attempts: tuple[Attempt, ...]
    set_aside: tuple[SetAside, ...]
    rows: int
    remarks: tuple[str, ...] = ()
    """About the file as a whole, such as a column that nothing reads."""


def read_attempts(
    path: Path,
    curriculum: Curriculum,
    *,
    revisions: Mapping[str, KnownRevision] | None = None,
    on: date | None = None,
    encoding: str | None = None,
) -> AttemptsFile:
    """Read a file of attempts. Every row is judged or set aside with its line, the reason and the remedy.

    `revisions` are the sheets that are known, by revision; a row of an unknown one is judged by today's steps and
    flagged. With `on`, rows of a later day are set aside. `encoding` is used as named instead of UTF-8.
    Errors: OSError when the file cannot be opened; LookupError when the encoding has no such name.
    """
    judge = Judge(curriculum, revisions or {}, on=on)
    reading = _Reading(judge)
    with path.open("rb") as raw:
        name, errors = (encoding, "replace") if encoding else _encoding(raw.read(4))
        raw.seek(0)
        text = io.TextIOWrapper(raw, encoding=name, errors=errors, newline="")
        reading.read(text)
    return reading.finish()


def _encoding(start: bytes) -> tuple[str, str]:
    """Encoding by the byte order mark, and what to do with bytes that do not fit it."""
    if start.startswith((codecs.BOM_UTF32_LE, codecs.BOM_UTF32_BE)):
        return "utf-32", "replace"
    if start.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "utf-16", "replace"
    return "utf-8-sig", "surrogateescape"


_IN_ORDER = list(range(len(COLUMNS)))
"""Columns that stand as the practice page writes them, which is the usual case."""


class _Reading:
    """One pass over a file. Kept as an object because rows of one id are only settled at the end."""

    def __init__(self, judge: Judge) -> None:
        self._judge = judge
        self._attempts: list[Attempt] = []
        self._by_id: dict[str, int] = {}
        self._again: dict[str, list[int]] = {}
        self._aside: list[SetAside] = []
        self._rows = 0
        self._remarks: list[str] = []

    def read(self, text: Iterable[str]) -> None:
        """Take every row of a text."""
        lines = numbered(text)
        header = next(lines, None)
        if header is not None and re.fullmatch(r"(?i)sep=.", header[1].strip("\r\n ")):
            header = next(lines, None)
        if header is None:
            self._remarks.append("The file is empty.")
            return
        separator, names = header_of(header[1])
        wrong = header_trouble(names, header[1])
        if wrong:
            # Without names for the columns nobody knows what a cell means, in the first line or in any other.
            for line, row in lines if names_columns(names) else (header, *lines):
                self._put_aside(line, row, wrong)
            return
        self._remarks += [f"Nothing reads the column “{name}”." for name in names if name and name not in COLUMNS]
        columns = [names.index(name) if name in names else -1 for name in COLUMNS]
        if columns == _IN_ORDER and len(names) == len(COLUMNS):
            columns = _IN_ORDER
        width, first = len(names), header[1].strip("\ufeff\r\n ")
        for record in records(lines, separator, width):
            found = self._judged(record, columns, width, first)
            if isinstance(found, Refused):
                self._put_aside(record.line, record.text, found)
            else:
                self._keep(found)

    def _judged(self, record: Record, columns: list[int], width: int, header: str) -> Attempt | Refused:
        text, fields = record.text, record.fields
        if not text.isascii() and is_damaged(text):
            return DAMAGED
        if len(fields) != width and (len(fields) < width or any(field.strip() for field in fields[width:])):
            return wrong_width(len(fields), width)
        if header[:8] in text[:12] and text.strip("\ufeff\r\n ") == header:
            return Refused("header-repeated", "It is the header once more.", "Nothing is lost: delete the line.")
        if "'" in text:
            fields = [plain(field) for field in fields]
        if columns is not _IN_ORDER or len(fields) != width:
            fields = [fields[place] if place >= 0 else "" for place in columns]
        return self._judge.attempt(record.line, list(map(str.strip, fields)))

    def _keep(self, attempt: Attempt) -> None:
        self._rows += 1
        place = len(self._attempts)
        first = self._by_id.setdefault(attempt.attempt, place)
        if first != place:
            self._again.setdefault(attempt.attempt, [first]).append(place)
        self._attempts.append(attempt)

    def _put_aside(self, line: int, text: str, why: Refused) -> None:
        self._rows += 1
        self._aside.append(self._judge.aside(line, _shown(text), why))

    def finish(self) -> AttemptsFile:
        """Settle the rows of each attempt id, and give everything back."""
        gone: set[int] = set()
        for places in self._again.values():
            for place, why in _settle([(place, self._attempts[place]) for place in places]):
                gone.add(place)
                attempt = self._attempts[place]
                self._aside.append(self._judge.aside(attempt.line, as_row(attempt), why))
        kept = tuple(attempt for place, attempt in enumerate(self._attempts) if place not in gone)
        return AttemptsFile(
            attempts=kept,
            set_aside=tuple(sorted(self._aside, key=lambda row: row.line)),
            rows=self._rows,
            remarks=(*self._remarks, *_alike({attempt.learner for attempt in kept})),
        )


def _alike(learners: set[str]) -> Iterator[str]:
    """Codes that differ only in capitals: a person must say whether they are one learner."""
    spellings: dict[str, list[str]] = {}
    for learner in sorted(learners):
        spellings.setdefault(learner.lower(), []).append(learner)
    for same in spellings.values():
        if len(same) > 1:
            yield f"{' and '.join(same)} are taken for different learners; correct the file if they are one."


def _shown(text: str) -> str:
    """A row for a report: without its line end, and with lost bytes written out."""
    return text.rstrip("\r\n").encode("utf-8", "backslashreplace").decode()


_DISAGREE = {
    "on": "The rows of attempt {attempt} (lines {lines}) disagree about the day.",
    "learner": "The rows of attempt {attempt} (lines {lines}) disagree about the learner.",
    "skill": "The rows of attempt {attempt} (lines {lines}) disagree about the skill.",
    "rung": "The rows of attempt {attempt} (lines {lines}) disagree about the rung.",
    "trainer": "The rows of attempt {attempt} (lines {lines}) disagree about the trainer.",
    "team_role": "The rows of attempt {attempt} (lines {lines}) disagree about the team role.",
}
_IDENTITY = tuple(_DISAGREE)


def _settle(rows: list[tuple[int, Attempt]]) -> Iterator[tuple[int, Refused]]:
    """Which rows of one attempt id are set aside, and why."""
    first = rows[0][1]
    for name in _IDENTITY:
        if any(getattr(attempt, name) != getattr(first, name) for _, attempt in rows):
            why = Refused(
                "attempt-contradicted",
                _DISAGREE[name],
                "Give each attempt an id of its own, or correct the row that is wrong.",
                {"attempt": first.attempt, "lines": _lines(rows)},
            )
            yield from ((place, why) for place, _ in rows)
            return
    by_evaluator: dict[tuple[str, str], list[tuple[int, Attempt]]] = {}
    for place, attempt in rows:
        by_evaluator.setdefault((attempt.role, attempt.evaluator), []).append((place, attempt))
    for same in by_evaluator.values():
        if len({(a.missed, a.unseen, a.revision, a.note) for _, a in same}) > 1:
            why = Refused(
                "attempt-contradicted",
                "Evaluator {evaluator} marked attempt {attempt} in several ways (lines {lines}).",
                "Keep the row that is right and delete the others.",
                {"evaluator": same[0][1].evaluator, "attempt": first.attempt, "lines": _lines(same)},
            )
            yield from ((place, why) for place, _ in same)
        else:
            why = Refused(
                "row-repeated",
                "It is the same as line {line}.",
                "Nothing is lost: delete the line.",
                {"line": same[0][1].line},
            )
            yield from ((place, why) for place, _ in same[1:])


def _lines(rows: list[tuple[int, Attempt]]) -> str:
    return ", ".join(str(attempt.line) for _, attempt in rows)
