"""The labels of pages: what a program may rename or translate in their templates and in the code that fills them.

A label is a piece of text between two tags of a template, an `aria-label`, or a string that a template prints or hands
to a macro.
"""

from __future__ import annotations

import re
from pathlib import Path

from jinja2 import Environment
from jinja2.lexer import Token

from generator.model import Worth
from generator.rendering.pages.inert import inert, quiet
from generator.rendering.pages.shapes import SHAPES, WORTH_SAYS
from generator.rendering.said import said_in_code
from generator.rendering.template_labels import LETTER, TemplateLabels

TEMPLATES = Path(__file__).parent / "templates"

MADE_IN_CODE = ("warning", "caution", "note", "critical")
"""Labels that stand in data of the code, where `said_in_code` does not find them."""

_NO_LABEL = re.compile(r"[/#<>{}]|\.md|^rb-|^M[0-9]")
_COMPARED = frozenset({"eq", "ne"})


class LabelExtension(TemplateLabels):
    """Exchanges the labels of a page's template, also the strings that it prints or hands to a macro."""

    spoken = re.compile(r'(aria-label=")([^"]+)(")')

    def expression(self, token: Token, before: Token | None) -> Token:
        """A string that is printed in own words; any other token as it is."""
        if token.type != "string" or not _is_label(token.value, before):
            return token
        return Token(token.lineno, "string", quiet(self.own(token.value)).translate(_BRACKETS))

    def inert(self, own: str) -> str:
        """Text that neither HTML nor Markdown acts on."""
        return str(inert(own))


_BRACKETS = str.maketrans({"[": "(", "]": ")", "*": "·", "_": " ", "\\": "/", "|": "/"})


def _is_label(words: str, before: Token | None) -> bool:
    """Whether a string of a template is printed: not an address, an id, or what a value is compared with."""
    if (
        words in SHAPES
        or not LETTER.search(words)
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
    found = {*MADE_IN_CODE, *said_in_code(), *WORTH_SAYS.values(), *map(str, Worth)}

    def note(words: str) -> str:
        found.add(words)
        return words

    environment = Environment(extensions=[LabelExtension], trim_blocks=True, lstrip_blocks=True, autoescape=True)
    environment.extend(own=note)
    for path in sorted(TEMPLATES.glob("*.j2")):
        environment.parse(path.read_text(encoding="utf-8"))
    return tuple(sorted(found))
