"""Labels of templates in a program's own words: found where they stand, and exchanged as a template is read.

A label is a text between two tags, or a spoken or shown attribute. Author text never passes here. What stands in a
catalogue is author text too, so each kind of template makes it inert in its own way.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any, ClassVar

from jinja2.ext import Extension
from jinja2.lexer import Token

LETTER = re.compile(r"[^\W\d_]{2}")
"""What has no two letters is no label."""
_TAGS = re.compile(r"([<>])")


class TemplateLabels(Extension):
    """Hands each label to `environment.own` (words → own words), and puts its answer in the label's place."""

    spoken: ClassVar[re.Pattern[str]]
    """An attribute that holds a label: what stands before it, the label, what stands after it."""

    def filter_stream(self, stream: Any) -> Iterator[Token]:
        """The same tokens, with labels exchanged."""
        inside = False
        before: Token | None = None
        for token in stream:
            if token.type == "data":
                words, inside = self._in_data(token.value, inside)
                yield Token(token.lineno, "data", words)
            else:
                yield self.expression(token, before)
            before = token

    def expression(self, token: Token, before: Token | None) -> Token:
        """A token of an expression, which may hold a label as well."""
        return token

    def inert(self, own: str) -> str:
        """A label from a catalogue as text that nothing acts on."""
        raise NotImplementedError

    def own(self, words: str) -> str:
        """A label in the program's own words."""
        asked: Callable[[str], str] = self.environment.own  # type: ignore[attr-defined]
        return asked(words)

    def _in_data(self, data: str, inside: bool) -> tuple[str, bool]:
        out = []
        for piece in _TAGS.split(data):
            if piece in ("<", ">"):
                inside = piece == "<"
                out.append(piece)
            elif inside:
                out.append(self.spoken.sub(lambda m: m[1] + self._exchanged(m[2]) + m[3], piece))
            else:
                out.append(self._exchanged(piece))
        return "".join(out), inside

    def _exchanged(self, piece: str) -> str:
        words = " ".join(piece.split())
        if not LETTER.search(words):
            return piece
        own = self.own(words)
        if own == words:
            return piece
        start, end = len(piece) - len(piece.lstrip()), len(piece.rstrip())
        return f"{piece[:start]}{self.inert(own)}{piece[end:]}"
