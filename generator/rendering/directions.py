"""Author text in its own direction of writing, whatever the direction of the handbook around it.

A handbook written from right to left may hold text that is still English, or the other way round. Full stops and
brackets belong to no direction, so they would follow the page and jump to the wrong end of such a text. Each text with
letters of the other direction is therefore set apart from what is around it, and takes its direction from its own first
strong letter: rules P2 and P3 and the isolates of the Unicode Bidirectional Algorithm (UAX #9). Where all letters run
the way of the handbook nothing is changed, to the byte.

Until a text reaches paper or a page it stands between two noncharacters, which nothing else acts on.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import cache, partial
from typing import Any, Literal, TypeVar, get_type_hints
from unicodedata import bidirectional

from generator.analysis.once import once_each
from generator.model import Curriculum, Quantity
from generator.model.base import Record, Text, leaves
from generator.model.evidence import Source, Term
from generator.model.lab import Lab
from generator.model.program import Program
from generator.model.scenario import Cylinder, Reading

Direction = Literal["ltr", "rtl"]
Change = Callable[[str], str]
R = TypeVar("R", bound=Record)

OPEN, SHUT = "\ufdd0", "\ufdd1"
"""Stand around a text that is set apart, on its way to paper or to a page."""
ISOLATE, POP = "\u2068", "\u2069"
"""FIRST STRONG ISOLATE and POP DIRECTIONAL ISOLATE of UAX #9, which the typesetter and browsers honor."""

RIGHT_TO_LEFT = frozenset({"ar", "dv", "fa", "he", "ks", "pa", "ps", "sd", "ug", "ur", "yi"})
"""Languages that the typesetter writes from right to left."""

_FROM_RIGHT = re.compile(
    "[\u0590-\u08ff\ufb1d-\ufdcf\ufdf0-\ufdff\ufe70-\ufefc\U00010800-\U00010fff\U0001e800-\U0001efff]"
)
_FROM_LEFT = re.compile(r"[^\W\d_]")
_OURS = str.maketrans("", "", OPEN + SHUT)
_TYPED = re.compile("[\u202a-\u202e\u2066-\u2069\ufdd0\ufdd1]")
_TO_ISOLATES = str.maketrans({OPEN: ISOLATE, SHUT: POP})

_CODES: frozenset[tuple[type[Record], str]] = frozenset(
    {
        (Quantity, "unit"),
        (Quantity, "count_aloud"),
        (Reading, "unit"),
        (Program, "language"),
        (Program, "currency"),
        (Program, "site_url"),
        (Program, "labels"),
        (Lab, "time_zone"),
        (Cylinder, "size"),
    }
)
"""Texts that code compares or reads, so they stay as they were typed."""
_WHOLE: tuple[type[Record], ...] = (Source, Term)
"""Records whose texts are searched for or set by a style of their own."""
_GROUPS = ("techniques", "equipment", "quantities", "trainers", "skills", "stations", "labs", "readings", "scenarios")
_KEYS = frozenset({"id", "url", "kind", "lang", "region", "paper", "level", "worth", "cause", "revision", "on"})
"""Keys of a sheet's data that hold no printed text."""


def direction_of_language(language: str) -> Direction:
    """The direction of a language tag: `he` and `ar-EG` run from right to left."""
    return "rtl" if language.lower().partition("-")[0] in RIGHT_TO_LEFT else "ltr"


def direction_of(text: str) -> Direction | None:
    """The direction of a text by its first strong letter outside isolates (P2, P3); None where it has none."""
    depth = 0
    for character in text:
        kind = "FSI" if character == OPEN else "PDI" if character == SHUT else bidirectional(character)
        if kind in ("LRI", "RLI", "FSI"):
            depth += 1
        elif kind == "PDI":
            depth = max(0, depth - 1)
        elif depth == 0 and kind in ("L", "R", "AL"):
            return "ltr" if kind == "L" else "rtl"
    return None


def is_turned(text: str, around: Direction) -> bool:
    """Whether a text runs the other way than what is around it."""
    return direction_of(text) not in (None, around)


def apart(curriculum: Curriculum) -> Curriculum:
    """The curriculum with each author text set apart that holds letters of the other direction.

    The same object where there is none, which is the usual case.
    """
    around = direction_of_language(curriculum.program.language)
    if around == "ltr" and not any(_holds_right(record) for _, _, record in curriculum.records()):
        return curriculum
    change = partial(_text_apart, around=around)
    changed: dict[str, Any] = {
        name: {id: _apart(record, change) for id, record in getattr(curriculum, name).items()} for name in _GROUPS
    }
    local = curriculum.local and _apart(curriculum.local, change)
    return replace(curriculum, program=_apart(curriculum.program, change), local=local, **changed)


@once_each
def _holds_right(record: Record) -> bool:
    return _FROM_RIGHT.search(record.model_dump_json()) is not None


def _text_apart(text: str, around: Direction) -> str:
    bare = _TYPED.sub("", text)
    other = _FROM_RIGHT.search(bare) if around == "ltr" else _holds_left(bare)
    return f"{OPEN}{bare}{SHUT}" if other else text


def _holds_left(text: str) -> bool:
    return any(bidirectional(letter) == "L" for letter in _FROM_LEFT.findall(text))


@cache
def _text_fields(kind: type[Record]) -> tuple[tuple[str, bool], ...]:
    """The fields of a record that hold text, and those that may hold records."""
    if issubclass(kind, _WHOLE):
        return ()
    hints = get_type_hints(kind, include_extras=True)
    found = []
    for name in kind.model_fields:
        parts = tuple(leaves(hints[name]))
        is_text = Text in parts
        if (kind, name) not in _CODES and (is_text or any(_is_record(part) for part in parts)):
            found.append((name, is_text))
    return tuple(found)


def _is_record(part: Any) -> bool:
    return isinstance(part, type) and issubclass(part, Record)


def _apart(record: R, change: Change) -> R:
    made = {}
    for name, is_text in _text_fields(type(record)):
        value = getattr(record, name)
        new = _value_apart(value, change, is_text)
        if new is not value:
            made[name] = new
    return record.model_copy(update=made) if made else record


def _value_apart(value: Any, change: Change, is_text: bool) -> Any:
    if isinstance(value, str):
        new = change(value) if is_text else value
        return value if new == value else new
    if isinstance(value, Record):
        return _apart(value, change)
    if isinstance(value, tuple):
        items = tuple(_value_apart(item, change, is_text) for item in value)
        return value if all(new is old for new, old in zip(items, value, strict=True)) else items
    if isinstance(value, Mapping):
        return {key: _value_apart(item, change, is_text) for key, item in value.items()}
    return value


def bare(text: str) -> str:
    """A text without the marks of what was set apart, for places that only hold plain text."""
    return text.translate(_OURS)


def unstopped(text: str) -> str:
    """A text without the full stop at its end, also where it was set apart."""
    return text[:-1].rstrip(".") + SHUT if text.endswith(SHUT) else text.rstrip(".")


def isolated(text: str) -> str:
    """A text with the isolates of Unicode in place of the marks."""
    return text.translate(_TO_ISOLATES)


def on_paper(value: Any, around: Direction) -> Any:
    """A sheet's data with isolates in place of the marks, and around every text that runs the other way.

    So words of ours that nobody has translated are set apart as well. Ids and other codes are left alone.
    """
    if isinstance(value, str):
        return _on_paper(value, around)
    if isinstance(value, dict):
        return {key: item if key in _KEYS else on_paper(item, around) for key, item in value.items()}
    if isinstance(value, list):
        return [on_paper(item, around) for item in value]
    return value


def _on_paper(text: str, around: Direction) -> str:
    if text.count(OPEN) != text.count(SHUT):
        text = bare(text)  # a line of a figure, which holds only a part
    return isolated(f"{OPEN}{text}{SHUT}" if is_turned(text, around) else text)


_TAG = re.compile(r"(<[^>]*>)")
_ALONE = re.compile(
    r"(<(p|li|dt|dd|h[1-6]|td|th|summary|span|strong|small|figcaption|caption|blockquote|q|a|b)\b[^>]*>)"
    r"([^<>]+)(?=</\2>)"
)
_PLAIN_INSIDE = ("svg", "script", "style", "title", "option", "textarea")


def on_page(body: str, around: Direction) -> str:
    """The body of a page with `<bdi>` in place of the marks, and isolates where no element may stand.

    An element that holds nothing but a text of the other direction is set apart as well.
    """

    def alone(found: re.Match[str]) -> str:
        text = found[3]
        if OPEN in text or not is_turned(_entities_out(text), around):
            return found[0]
        return f"{found[1]}{OPEN}{text}{SHUT}"

    body = _ALONE.sub(alone, body)
    if body.count(OPEN) != body.count(SHUT):
        return isolated(body)
    out = []
    plain = 0
    for piece in _TAG.split(body):
        if piece.startswith("<"):
            name = piece.strip("</>").partition(" ")[0].lower()
            if name in _PLAIN_INSIDE:
                plain = max(0, plain - 1) if piece.startswith("</") else plain + 1
            out.append(isolated(piece))
        elif plain:
            # Figures are drawn from the left.
            out.append(isolated(f"{OPEN}{bare(piece)}{SHUT}" if is_turned(_entities_out(piece), "ltr") else piece))
        else:
            out.append(piece.replace(OPEN, "<bdi>").replace(SHUT, "</bdi>"))
    return "".join(out)


def _entities_out(text: str) -> str:
    return re.sub(r"&#?\w+;", "", text)
