"""Text made fit for paper: places to break at in endless words, and characters that no font here can show."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

_REFUSED = re.compile(r'(?:the text|disallowed codepoint) `"((?:[^"\\]|\\.)*)"`')
_TURNING = re.compile("[\u202a-\u202e\u2066-\u2069]")
_LONG_RUN = re.compile("[^\\s\\-–—/\u00ad\u200b\ufdd0\ufdd1]{21,}")


def mapped(value: Any, change: Callable[[str], str]) -> Any:
    """Plain data with every text changed, except ids and addresses."""
    if isinstance(value, str):
        return change(value)
    if isinstance(value, dict):
        return {key: item if key in ("id", "url") else mapped(item, change) for key, item in value.items()}
    if isinstance(value, list):
        return [mapped(item, change) for item in value]
    return value


def breakable(text: str) -> str:
    """Give a word that no column could hold places to break at: a hyphen in a word, nothing in anything else.

    Characters that would turn the direction of the text round are dropped, as on the pages.
    """
    text = _TURNING.sub("", text)

    def broken(match: re.Match[str]) -> str:
        run = match[0]
        return ("\u00ad" if run.isalpha() else "\u200b").join(run[i : i + 12] for i in range(0, len(run), 12))

    return _LONG_RUN.sub(broken, text)


def refused_in(diagnostic: str) -> set[str]:
    """The texts that the typesetter says no font can show."""
    return {_unescaped(text) for text in _REFUSED.findall(diagnostic)}


def without(text: str, refused: set[str]) -> str:
    """A character that no font here can show prints as its Unicode number, so nothing vanishes unseen."""
    for shown in sorted(refused, key=len, reverse=True):
        if shown:
            text = text.replace(shown, f"[{' '.join(f'U+{ord(character):04X}' for character in shown)}]")
    return text


def plain_latin(text: str) -> str:
    """Only what every font has; all else as its Unicode number."""
    shown = {*map(chr, range(0x20, 0x180)), "\u2068", "\u2069"} - {"\x7f"}
    return "".join(c if c in shown else f"[U+{ord(c):04X}]" for c in text)


def _unescaped(text: str) -> str:
    """Undo the escapes of a typst message: `\\u{1f600}`, `\\n`, `\\"`."""
    simple = {"n": "\n", "r": "\r", "t": "\t", "0": "\0"}
    return re.sub(
        r"\\(?:u\{([0-9a-fA-F]+)\}|(.))",
        lambda m: chr(int(m[1], 16)) if m[1] else simple.get(m[2], m[2]),
        text,
    )
