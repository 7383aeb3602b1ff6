"""Labels in a program's own words: the templates' fixed words, found where they stand and exchanged as they are read.

A label is a piece of text between two tags of a template, an `aria-label`, or a string that a template prints or hands
to a macro. Author text never passes here. What stands in a catalogue is author text too, so it is made inert.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from jinja2 import Environment
from jinja2.ext import Extension
from jinja2.lexer import Token

from generator.model import Worth
from generator.rendering.pages.inert import inert, quiet
from generator.rendering.pages.shapes import SHAPES, WORTH_SAYS
from generator.rendering.said import said_in_code

TEMPLATES = Path(__file__).parent / "templates"

MADE_IN_CODE = ("warning", "caution", "note", "critical")
"""Labels that stand in data of the code, where `said_in_code` does not find them."""

_TAGS = re.compile(r"([<>])")
_SPOKEN = re.compile(r'(aria-label=")([^"]+)(")')
_LETTER = re.compile(r"[^\W\d_]{2}")
_NO_LABEL = re.compile(r"[/#<>{}]|\.md|^rb-|^M[0-9]")
_COMPARED = frozenset({"eq", "ne"})


class LabelExtension(Extension):
    """Exchanges the labels of a template for those in `environment.labels`; notes all of them in `label_ids`."""

    def filter_stream(self, stream: Any) -> Iterator[Token]:
        """The same tokens, with labels exchanged."""
        inside = False
        before: Token | None = None
        for token in stream:
            made = token
            if token.type == "data":
                words, inside = self._in_data(token.value, inside)
                made = Token(token.lineno, "data", words)
            elif token.type == "string" and _is_label(token.value, before):
                made = Token(token.lineno, "string", quiet(self._label(token.value)).translate(_BRACKETS))
            before = token
            yield made

    def _in_data(self, data: str, inside: bool) -> tuple[str, bool]:
        out = []
        for piece in _TAGS.split(data):
            if piece in ("<", ">"):
                inside = piece == "<"
                out.append(piece)
            elif inside:
                out.append(_SPOKEN.sub(lambda m: m[1] + str(inert(self._label(m[2]))) + m[3], piece))
            else:
                out.append(self._in_text(piece))
        return "".join(out), inside

    def _in_text(self, piece: str) -> str:
        words = " ".join(piece.split())
        if not _LETTER.search(words):
            return piece
        exchanged = self._label(words)
        if exchanged == words:
            return piece
        start, end = len(piece) - len(piece.lstrip()), len(piece.rstrip())
        return piece[:start] + str(inert(exchanged)) + piece[end:]

    def _label(self, words: str) -> str:
        ids: set[str] = self.environment.label_ids  # type: ignore[attr-defined]
        ids.add(words)
        labels: Mapping[str, str] = self.environment.labels  # type: ignore[attr-defined]
        return labels.get(words, words)


_BRACKETS = str.maketrans({"[": "(", "]": ")", "*": "·", "_": " ", "\\": "/", "|": "/"})


def _is_label(words: str, before: Token | None) -> bool:
    """Whether a string of a template is printed: not an address, an id, or what a value is compared with."""
    if (
        words in SHAPES
        or not _LETTER.search(words)
        or _NO_LABEL.search(words)
        or (before is not None and before.type in _COMPARED)
    ):
        return False
    if words[0].isupper() or " " in words.strip():
        return True
    # A lower-case word alone is an id, unless it is printed at once: {{ "day" if … else "days" }}.
    return before is not None and (before.type == "variable_begin" or (before.type, before.value) == ("name", "else"))


def label_ids() -> tuple[str, ...]:
    """Every label of the page templates, sorted: what a catalogue may exchange there."""
    environment = Environment(extensions=[LabelExtension], trim_blocks=True, lstrip_blocks=True, autoescape=True)
    environment.extend(labels={}, label_ids=set())
    for path in sorted(TEMPLATES.glob("*.j2")):
        environment.parse(path.read_text(encoding="utf-8"))
    found = {*environment.label_ids, *MADE_IN_CODE, *said_in_code(), *WORTH_SAYS.values(), *map(str, Worth)}  # type: ignore[attr-defined]
    return tuple(sorted(found))
