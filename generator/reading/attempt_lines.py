"""From lines to records: which separator, which columns, and where a quoted note ends."""

from __future__ import annotations

import csv
import io
from collections import deque
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from generator.reading.attempt_rows import Refused

COLUMNS = (
    "date", "learner", "skill", "rung", "trainer", "evaluator", "role", "team_role", "attempt", "revision", "missed",
    "unseen", "note",
)  # fmt: skip
"""In the order in which the practice page writes them; a file may order them as it likes."""
OPTIONAL = frozenset({"team_role", "revision", "unseen", "note"})
SEPARATORS = (",", ";", "\t")
LONGEST_NOTE = 60
"""Lines that one quoted note may run over."""
ROW_LIKE = 8
"""A line with this many separators is a row of its own, not the middle of a note."""


class Record(NamedTuple):
    """One record: the number of its first line, its text, and its fields."""

    line: int
    text: str
    fields: list[str]


_LOST = "\ufffd"
DAMAGED = Refused(
    "text-damaged",
    "It holds bytes that are not text in this encoding.",
    "Save the file again as UTF-8, or name its encoding with --encoding, such as windows-1252.",
)


def is_damaged(text: str) -> bool:
    """Whether a text holds what stands for bytes that could not be decoded."""
    return _LOST in text or any("\ud800" <= char <= "\udfff" for char in text)


def wrong_width(found: int, width: int) -> Refused:
    """Why a record with too few or too many fields is set aside."""
    if found == 0:
        return Refused(
            "quote-open",
            "A quotation mark is opened and not closed, or text follows the mark that closes it.",
            "Put quotes round the whole field and write each quotation mark inside it twice.",
        )
    if found < width:
        return Refused(
            "row-short",
            "It has {count} field; the header names {width}."
            if found == 1
            else "It has {count} fields; the header names {width}.",
            "Type what is missing, with a separator for each empty field.",
            {"count": found, "width": width},
        )
    return Refused(
        "row-long",
        "It has {count} fields; the header names {width}.",
        "Put quotes round a field that holds the separator.",
        {"count": found, "width": width},
    )


def numbered(text: Iterable[str]) -> Iterator[tuple[int, str]]:
    """Lines that hold anything, with their numbers from 1."""
    for number, line in enumerate(text, 1):
        # The first test settles nearly every line and costs a fifth of the second.
        if line[:1].isalnum() or line.strip(", ;\t\r\n\x00\ufeff\x1a"):
            yield number, line


def header_of(line: str) -> tuple[str, list[str]]:
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


def names_columns(names: list[str]) -> bool:
    """Whether these look like names of columns and not like a row."""
    return sum(name in COLUMNS for name in names) >= 3


def header_trouble(names: list[str], line: str) -> Refused | None:
    """Why no row below this header can be read, or None."""
    if "\x00" in line or (not line.isascii() and is_damaged(line)):
        return DAMAGED
    if not names_columns(names):
        return Refused(
            "header-missing",
            "The file does not begin with the names of its columns, so nobody knows what this row says.",
            "Put this line on top: {line}",
            {"line": ",".join(COLUMNS)},
        )
    missing = [name for name in COLUMNS if name not in names and name not in OPTIONAL]
    if missing:
        return Refused(
            "header-incomplete",
            "The header lacks {columns}.",
            "Name every column: {line}",
            {"columns": ", ".join(missing), "line": ",".join(COLUMNS)},
        )
    twice = sorted({name for name in names if name in COLUMNS and names.count(name) > 1})
    if twice:
        name = {"column": twice[0]}
        return Refused("header-repeated-name", "The header names {column} twice.", "Name each column once.", name)
    return None


def _split(text: str, separator: str) -> list[str]:
    """The fields of one record; none when its quotes are not those of a record."""
    if '"' not in text:
        return text.rstrip("\r\n").split(separator)
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True))
    except csv.Error:
        return []
    # A lone carriage return inside an unquoted field would make two rows of one.
    return rows[0] if len(rows) == 1 else []


def records(lines: Iterator[tuple[int, str]], separator: str, width: int) -> Iterator[Record]:
    """Records, each with its first line. Lines after a quote that is never closed come one by one."""
    waiting: deque[tuple[int, str]] = deque()
    while True:
        following = waiting.popleft() if waiting else next(lines, None)
        if following is None:
            return
        number, line = following
        if '"' not in line:
            yield Record(number, line, line.rstrip("\r\n").split(separator))
        elif line.count('"') % 2 == 0:
            yield Record(number, line, _split(line, separator))
        else:
            more = _until_closed(waiting, lines, separator, width)
            text = line + "".join(part for _, part in more)
            fields = _split(text, separator)
            if len(fields) >= width:
                yield Record(number, text, fields)
            else:
                waiting.extendleft(reversed(more))
                yield Record(number, line, [])


def _until_closed(
    waiting: deque[tuple[int, str]], lines: Iterator[tuple[int, str]], separator: str, width: int
) -> list[tuple[int, str]]:
    """Lines up to the one that closes an open quote, or to one that looks like a row of its own."""
    taken: list[tuple[int, str]] = []
    while len(taken) < LONGEST_NOTE:
        more = waiting.popleft() if waiting else next(lines, None)
        if more is None:
            break
        if more[1].count(separator) >= min(width - 1, ROW_LIKE):
            waiting.appendleft(more)
            break
        taken.append(more)
        if more[1].count('"') % 2 == 1:
            break
    return taken
