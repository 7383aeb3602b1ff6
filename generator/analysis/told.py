"""Sentences that are worked out once and said later, in whatever words the program has by then.

A timetable is planned once and kept, so its sentences must be kept in a form that can still be translated.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from generator.analysis.phrases import in_english
from generator.model import Curriculum


class Told(str):
    """A sentence in English, with the fixed words and the parts that it was made of. Parts may be `Told` themselves."""

    __slots__ = ("counted", "parts", "words")
    words: str
    parts: Mapping[str, object]
    counted: tuple[int, str, str] | None
    """The count and the words for one and for more, where a count chose the words."""

    def __new__(cls, words: str, **parts: object) -> Told:
        """`Told("Visits moved: {count}.", count=2)`."""
        self = super().__new__(cls, in_english(words, **parts))
        self.words, self.parts, self.counted = words, parts, None
        return self

    @classmethod
    def many(cls, count: int, one: str, more: str, /, **parts: object) -> Told:
        """A sentence whose words a count chooses, as `Curriculum.many` does: `Told.many(2, "{count} day", "…")`."""
        self = cls(one if count == 1 else more, **{"count": count, **parts})
        self.counted = count, one, more
        return self


def said(curriculum: Curriculum, line: str) -> str:
    """A sentence in the program's own words; a plain text as it stands."""
    if not isinstance(line, Told):
        return line
    parts = {name: said(curriculum, part) if isinstance(part, str) else part for name, part in line.parts.items()}
    return curriculum.many(*line.counted, **parts) if line.counted else curriculum.say(line.words, **parts)


def kept(line: str) -> Any:
    """A sentence as JSON can hold it; `told_of` reads it."""
    if not isinstance(line, Told):
        return str(line)
    parts = {name: kept(part) if isinstance(part, str) else part for name, part in line.parts.items()}
    return [line.words, parts, *([line.counted] if line.counted else [])]


def told_of(value: Any) -> str:
    """What `kept` wrote. Raises ValueError, KeyError, TypeError or IndexError for what it did not."""
    if isinstance(value, str):
        return value
    words, parts, *counted = value
    if not isinstance(words, str) or not isinstance(parts, dict):
        raise TypeError(value)
    told = {name: told_of(part) if isinstance(part, (str, list)) else part for name, part in parts.items()}
    return Told.many(*counted[0], **told) if counted else Told(words, **told)
