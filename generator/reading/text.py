"""From a file to its text: size, encoding and invisible characters are refused here, each with its place."""

from __future__ import annotations

import os
import re
import stat
import unicodedata
from pathlib import Path

from generator.diagnostics import Location, Problem

LARGEST_FILE = 2_000_000
"""Bytes. A larger file is refused before it is read: a long skill file is about 20,000."""

MOST_SHOWN = 20
"""Invisible characters named in one file; the first of them is usually the cause of the rest."""

_INVISIBLE = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u200b\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufeff\ufffe\uffff]"
    "|\r(?!\n)"
)
_NO_BREAK_INDENT = re.compile("^[ \t]*(\u00a0)", re.MULTILINE)
_SHORT_NAMES = {
    "\r": "a carriage return without a line feed",
    "\x7f": "delete",
    "\x85": "next line",
    "\x00": "null",
    "\x1b": "escape",
    "\ufeff": "a byte order mark inside the text",
}


def read_bytes(path: Path, file: str) -> tuple[bytes | None, tuple[Problem, ...]]:
    """The bytes of a file, or None and why not. A file over the size limit is not read."""
    try:
        # Opened without blocking and judged by its handle: a pipe would wait for ever, and a name can change its file.
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
        with os.fdopen(handle, "rb") as stream:
            if not stat.S_ISREG(os.fstat(stream.fileno()).st_mode):
                return None, (_unreadable(file, "it is not an ordinary file"),)
            data = stream.read(LARGEST_FILE + 1)
            size = os.fstat(stream.fileno()).st_size
    except OSError as error:
        return None, (_unreadable(file, (error.strerror or type(error).__name__).lower()),)
    if len(data) > LARGEST_FILE:
        problem = Problem(
            location=Location(file),
            rule="file-too-large",
            message=f"This file has {max(size, len(data)):,} bytes; the limit is {LARGEST_FILE:,}.",
            remedy="Split it, or move what is not curriculum text out of this folder.",
        )
        return None, (problem,)
    return data, ()


def _unreadable(file: str, reason: str) -> Problem:
    return Problem(
        location=Location(file),
        rule="file-unreadable",
        message=f"This file cannot be read: {reason}.",
        remedy="Make it an ordinary file that this user may read.",
    )


def decode(data: bytes, file: str) -> tuple[str | None, tuple[Problem, ...]]:
    """The text of a file as UTF-8, or None and where it is not text. A leading UTF-8 byte order mark is dropped."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return None, (_not_utf8(Location(file), "This file is saved as UTF-16; it must be UTF-8."),)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        # With this codec the offset does not count the mark, which is dropped before decoding.
        body = data.removeprefix(b"\xef\xbb\xbf")
        before = body[: error.start].decode("utf-8", "replace")
        message = f"The byte 0x{body[error.start]:02X} here (byte {error.start + 1} of the text) is not UTF-8."
        return None, (_not_utf8(Location(file, *place_of(before, len(before))), message),)
    found = _invisible(text, file)
    return (None, found) if found else (text, ())


def _not_utf8(location: Location, message: str) -> Problem:
    return Problem(
        location=location,
        rule="file-not-utf8",
        message=message,
        remedy="Save the file again with the encoding UTF-8, then look at accents, dashes and quotation marks.",
    )


def _invisible(text: str, file: str) -> tuple[Problem, ...]:
    places = [(match.start(), match.group()) for match in _INVISIBLE.finditer(text)] if has_invisible(text) else []
    if "\u00a0" in text:
        places += [(match.start(1), "\u00a0") for match in _NO_BREAK_INDENT.finditer(text)]
    return tuple(
        Problem(
            location=Location(file, *place_of(text, offset)),
            rule="yaml-invisible-character",
            message=f"There is an invisible character here: U+{ord(char):04X} ({name_of(char)}).",
            remedy="Delete it and type the text again; it often comes with text pasted from elsewhere.",
        )
        for offset, char in sorted(places)[:MOST_SHOWN]
    )


def has_invisible(text: str) -> bool:
    """Whether the text holds a character that cannot be seen and would change what is read or printed."""
    return _INVISIBLE.search(text) is not None


def name_of(char: str) -> str:
    """A plain name of a character."""
    return _SHORT_NAMES.get(char) or unicodedata.name(char, "a control character").lower()


def place_of(text: str, offset: int) -> tuple[int, int]:
    """Line and column, from 1, of a character offset. Lines end at a line feed, with or without a carriage return."""
    start = text.rfind("\n", 0, offset) + 1
    return text.count("\n", 0, offset) + 1, offset - start + 1


def shown(value: str, most: int = 60) -> str:
    """A value as a message quotes it: one line, cut when long, with invisible characters written out."""
    flat = " ".join(value.split()) if "\n" in value else value
    cut = flat if len(flat) <= most else flat[: most - 1] + "…"
    return "".join(char if char.isprintable() and char != "\u00a0" else f"\\u{{{ord(char):x}}}" for char in cut)
