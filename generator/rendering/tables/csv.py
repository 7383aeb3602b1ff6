"""Comma-separated tables: RFC 4180, and inert in a spreadsheet."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

from generator.model.cells import BLANKS, FORMULA

_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
_QUOTED = re.compile(r'[",\r\n]|^\s|\s$')


def csv_text(header: Sequence[object], rows: Sequence[Sequence[object]]) -> str:
    """A table with CRLF line ends, a last one included, and quotes only where they are needed.

    Text that a spreadsheet would run as a formula gets a leading apostrophe, which makes it plain text there. A plain
    number, minus sign or not, stays a number. None is an empty field. Raises ValueError for a row whose length is not
    that of the header. Source: RFC 4180, section 2.
    """
    lines = []
    for row in (header, *rows):
        if len(row) != len(header):
            raise ValueError(f"{len(row)} fields in a table of {len(header)} columns")
        lines.append(",".join(_field(value) for value in row) + "\r\n")
    return "".join(lines)


def inert_field(text: str) -> str:
    """The text with an apostrophe before it where a spreadsheet would take it for a formula."""
    if _NUMBER.fullmatch(text):
        return text
    # Some programs skip blanks before they look for a formula.
    return f"'{text}" if text and (text[0] in BLANKS or text.lstrip()[:1] in tuple(FORMULA)) else text


def _field(value: object) -> str:
    return _field_of("" if value is None else str(value))


@lru_cache(20_000)
def _field_of(text: str) -> str:
    """Kept, because the cells of a table are a few words said many times."""
    text = inert_field(text)
    return '"' + text.replace('"', '""') + '"' if _QUOTED.search(text) else text
