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
import csv
import io
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import NamedTuple

from generator.model import Curriculum
from generator.model.attempt import Attempt, KnownRevision, SetAside
from generator.reading.attempt_rows import Judge, Refused, plain

COLUMNS = (
    "date", "learner", "skill", "rung", "trainer", "evaluator", "role", "team_role", "attempt", "revision", "missed",
    "unseen", "note",
)  # fmt: skip
"""In the order in which the practice page writes them; a file may order them as it likes."""
OPTIONAL = frozenset({"team_role", "revision", "unseen", "note"})
SEPARATORS = (",", ";", "\t")
LONGEST_NOTE = 60
"""Lines that one quoted note may run over."""
_LOST = "\ufffd"


@dataclass(frozen=True, slots=True, kw_only=True)
class AttemptsFile:
    """What a file of attempts holds. `rows` is the sum of the two: every row is in one of them."""

    attempts: tuple[Attempt, ...]
    set_aside: tuple[SetAside, ...]
    rows: int
    remarks: tuple[str, ...] = ()
    """About the file as a whole, such as a column that nothing reads."""


class _Row(NamedTuple):
    line: int
    text: str
    fields: list[str]


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
        lines = _numbered(text)
        header = next(lines, None)
        if header is not None and header[1].strip().lower().startswith("sep=") and len(header[1].strip()) <= len("sep=,"):
            header = next(lines, None)
        if header is None:
            self._remarks.append("The file is empty.")
            return
        separator, names = _header(header[1])
        wrong = _header_trouble(names)
        if wrong:
            # Without names for the columns nobody knows what a cell means, in the first line or in any other.
            first = () if _names_columns(names) else (header,)
            for line, row in (*first, *lines):
                self._put_aside(line, row, wrong)
            return
        self._remarks += [f"Nothing reads the column “{name}”." for name in names if name and name not in COLUMNS]
        columns = [names.index(name) if name in names else -1 for name in COLUMNS]
        for row in _rows(lines, separator, len(names)):
            self._take(row, columns, len(names), header[1])

    def _take(self, row: _Row, columns: list[int], width: int, header: str) -> None:
        fields = row.fields
        if len(fields) != width:
            if len(fields) < width:
                trouble = Refused(
                    "row-short",
                    f"It has {len(fields)} fields; the header names {width}.",
                    "Type what is missing, with a separator for each empty field, or close a quote that is left open.",
                )
                if _is_damaged(row.text):
                    trouble = _DAMAGED
                self._put_aside(row.line, row.text, trouble)
                return
            if any(field.strip() for field in fields[width:]):
                self._put_aside(
                    row.line,
                    row.text,
                    Refused(
                        "row-long",
                        f"It has {len(fields)} fields; the header names {width}.",
                        "Put quotes round a field that holds the separator.",
                    ),
                )
                return
        if _is_damaged(row.text):
            self._put_aside(row.line, row.text, _DAMAGED)
            return
        cells = [plain(fields[place]) if place >= 0 else "" for place in columns]
        if row.text.strip() == header.strip():
            self._put_aside(
                row.line, row.text, Refused("header-repeated", "It is the header once more.", "Delete the line.")
            )
            return
        found = self._judge.attempt(row.line, cells)
        if isinstance(found, Refused):
            self._put_aside(row.line, row.text, found)
            return
        self._rows += 1
        place = len(self._attempts)
        first = self._by_id.setdefault(found.attempt, place)
        if first != place:
            self._again.setdefault(found.attempt, [first]).append(place)
        self._attempts.append(found)

    def _put_aside(self, line: int, text: str, why: Refused) -> None:
        self._rows += 1
        self._aside.append(
            SetAside(line=line, text=_shown(text), rule=why.rule, reason=why.reason, remedy=why.remedy)
        )

    def finish(self) -> AttemptsFile:
        gone: set[int] = set()
        for places in self._again.values():
            for place, why in _settle([(place, self._attempts[place]) for place in places]):
                gone.add(place)
                attempt = self._attempts[place]
                self._aside.append(
                    SetAside(
                        line=attempt.line,
                        text=as_row(attempt),
                        rule=why.rule,
                        reason=why.reason,
                        remedy=why.remedy,
                    )
                )
        attempts = tuple(a for place, a in enumerate(self._attempts) if place not in gone) if gone else self._attempts
        return AttemptsFile(
            attempts=tuple(attempts),
            set_aside=tuple(sorted(self._aside, key=lambda row: row.line)),
            rows=self._rows,
            remarks=tuple(self._remarks),
        )


_DAMAGED = Refused(
    "text-damaged",
    "It holds bytes that are not text in this encoding.",
    "Save the file again as UTF-8, or name its encoding with --encoding, such as windows-1252.",
)


def _is_damaged(text: str) -> bool:
    # Surrogates stand for bytes that are not UTF-8; a plain ASCII row, the common case, is settled by its first test.
    return not text.isascii() and (_LOST in text or any("\ud800" <= char <= "\udfff" for char in text))


def _shown(text: str) -> str:
    """A row for a report: without its line end, and with lost bytes written out."""
    return text.rstrip("\r\n").encode("utf-8", "backslashreplace").decode()


def _numbered(text: Iterable[str]) -> Iterator[tuple[int, str]]:
    """Lines that hold anything, with their numbers from 1."""
    for number, line in enumerate(text, 1):
        if line.strip(", ;\t\r\n\x00\ufeff\x1a"):
            yield number, line


def _header(line: str) -> tuple[str, list[str]]:
    """The separator that finds the most known names, and the names."""
    best: tuple[int, str, list[str]] = (-1, ",", [])
    for separator in SEPARATORS:
        names = [name.strip().strip("'").lower().replace(" ", "_") for name in _split(line, separator)]
        while names and not names[-1]:
            names.pop()
        known = sum(name in COLUMNS for name in names)
        if known > best[0]:
            best = (known, separator, names)
    return best[1], best[2]


def _names_columns(names: list[str]) -> bool:
    return sum(name in COLUMNS for name in names) >= 3


def _header_trouble(names: list[str]) -> Refused | None:
    if not _names_columns(names):
        return Refused(
            "header-missing",
            "The file does not begin with the names of its columns, so nobody knows what this row says.",
            f"Put this line on top: {','.join(COLUMNS)}",
        )
    missing = [name for name in COLUMNS if name not in names and name not in OPTIONAL]
    if missing:
        return Refused(
            "header-incomplete",
            f"The header lacks {' and '.join(missing)}.",
            f"Name every column: {','.join(COLUMNS)}",
        )
    twice = sorted({name for name in names if name in COLUMNS and names.count(name) > 1})
    if twice:
        return Refused("header-repeated-name", f"The header names {twice[0]} twice.", "Name each column once.")
    return None


def _split(text: str, separator: str) -> list[str]:
    """The fields of one record."""
    if '"' not in text:
        return text.rstrip("\r\n").split(separator)
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=separator))
    except csv.Error:
        return []
    # A lone carriage return inside an unquoted field would make two rows of one.
    return rows[0] if len(rows) == 1 else []


def _rows(lines: Iterator[tuple[int, str]], separator: str, width: int) -> Iterator[_Row]:
    """Records, each with its first line. Lines after a quote that is never closed come one by one."""
    waiting: list[tuple[int, str]] = []
    while True:
        if waiting:
            number, line = waiting.pop(0)
        else:
            following = next(lines, None)
            if following is None:
                return
            number, line = following
        if '"' not in line:
            yield _Row(number, line, line.rstrip("\r\n").split(separator))
            continue
        if line.count('"') % 2 == 0:
            yield _Row(number, line, _split(line, separator))
            continue
        taken: list[tuple[int, str]] = []
        whole = [line]
        is_closed = False
        while len(taken) < LONGEST_NOTE and not is_closed:
            more = waiting.pop(0) if waiting else next(lines, None)
            if more is None:
                break
            taken.append(more)
            if more[1].count(separator) >= min(width - 1, 8):
                break
            whole.append(more[1])
            is_closed = more[1].count('"') % 2 == 1
        if is_closed:
            text = "".join(whole)
            fields = _split(text, separator)
            if len(fields) >= width:
                yield _Row(number, text, fields)
                continue
        waiting = taken + waiting
        # One field too few: an open quote is never a whole row.
        yield _Row(number, line, [line])


_IDENTITY = ("on", "learner", "skill", "rung", "trainer", "team_role")
_NAMES = {"on": "the day", "team_role": "the team role"}


def _settle(rows: list[tuple[int, Attempt]]) -> Iterator[tuple[int, Refused]]:
    """Which rows of one attempt id are set aside, and why."""
    first = rows[0][1]
    for name in _IDENTITY:
        if any(getattr(attempt, name) != getattr(first, name) for _, attempt in rows):
            others = ", ".join(str(attempt.line) for _, attempt in rows)
            why = Refused(
                "attempt-contradicted",
                f"The rows of attempt {first.attempt} (lines {others}) disagree about {_NAMES.get(name, f'the {name}')}.",
                "Give each attempt an id of its own, or correct the row that is wrong.",
            )
            yield from ((place, why) for place, _ in rows)
            return
    by_evaluator: dict[tuple[str, str], list[tuple[int, Attempt]]] = {}
    for place, attempt in rows:
        by_evaluator.setdefault((attempt.role, attempt.evaluator), []).append((place, attempt))
    for same in by_evaluator.values():
        contents = {(a.missed, a.unseen, a.revision, a.note) for _, a in same}
        if len(contents) > 1:
            lines = ", ".join(str(attempt.line) for _, attempt in same)
            why = Refused(
                "attempt-contradicted",
                f"Evaluator {same[0][1].evaluator} marked attempt {first.attempt} in several ways (lines {lines}).",
                "Keep the row that is right and delete the others.",
            )
            yield from ((place, why) for place, _ in same)
            continue
        for place, _ in same[1:]:
            yield (
                place,
                Refused("row-repeated", f"It is the same as line {same[0][1].line}.", "Nothing is lost: delete the line."),
            )


def as_row(attempt: Attempt) -> str:
    """An attempt as a row of CSV, with apostrophes where a spreadsheet would see a formula."""
    cells = (
        attempt.on.isoformat(), attempt.learner, attempt.skill, attempt.rung, attempt.trainer, attempt.evaluator,
        attempt.role, attempt.team_role, attempt.attempt, attempt.revision, " ".join(attempt.missed),
        " ".join(attempt.unseen), attempt.note,
    )  # fmt: skip
    return csv_text([cells]).rstrip("\r\n")


def csv_text(rows: Iterable[Iterable[object]]) -> str:
    """Rows of CSV after RFC 4180, safe to open in a spreadsheet: text that looks like a formula gets an apostrophe."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    for row in rows:
        writer.writerow([f"'{cell}" if str(cell)[:1] in FORMULA and str(cell) else cell for cell in row])
    return out.getvalue()


FORMULA = "=+-@\t\r\n＝＋－＠"
"""First characters that make a spreadsheet run a cell. Source: OWASP, CSV Injection."""


def aside_text(rows: Iterable[SetAside], *, most: int = 20) -> str:
    """The rows that were set aside, for a terminal: by reason, the most frequent first, some lines of each."""
    groups: dict[str, list[SetAside]] = {}
    for row in rows:
        groups.setdefault(row.rule, []).append(row)
    lines: list[str] = []
    for rule, found in sorted(groups.items(), key=lambda item: (-len(item[1]), item[0])):
        lines.append(f"{len(found)} × {rule}")
        for row in found[:most]:
            lines.append(f"  line {row.line}: {row.reason}")
            lines.append(f"    {row.text[:160]}")
        if len(found) > most:
            lines.append(f"  and {len(found) - most} more; --aside FILE writes them all")
        remedies = list(dict.fromkeys(row.remedy for row in found))
        lines += [f"  remedy: {remedy}" for remedy in remedies[:3]]
    return "".join(f"{line}\n" for line in lines)


def aside_csv(rows: Iterable[SetAside]) -> str:
    """The rows that were set aside as CSV: line, rule, reason, remedy and the row as it was typed."""
    return csv_text(
        [
            ("line", "rule", "reason", "remedy", "row"),
            *((str(row.line), row.rule, row.reason, row.remedy, row.text) for row in rows),
        ]
    )
