"""Every text that a curriculum prints, with the place it was typed.

Which fields are text follows from the model itself (`Text`, not `Id`), so a new field is covered with no change
here.
"""

from __future__ import annotations

import functools
import posixpath
import typing
from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from generator.checks.support.kept import kept
from generator.diagnostics import Location
from generator.model import Curriculum, Path
from generator.model.base import Record, Text, leaves


class Passage(NamedTuple):
    """One text of a record: `kind` and `id` name the record, `path` leads to the text inside it."""

    kind: str
    id: str
    path: Path
    text: str

    def at(self, curriculum: Curriculum) -> Location:
        """Where it was typed."""
        return curriculum.at(self.kind, self.id, *self.path)

    @property
    def field(self) -> str:
        """The name of the field that holds it, list positions left out."""
        return next((part for part in reversed(self.path) if isinstance(part, str)), "")


@kept
def passages(curriculum: Curriculum) -> tuple[Passage, ...]:
    """All texts but those of sources, whose words are their authors' own, and of prose pages, which are Markdown."""
    return tuple(
        Passage(kind, id, path, text)
        for kind, id, record in curriculum.records()
        if kind != "source"
        for path, text in _texts((), record)
    )


def prose_file(curriculum: Curriculum, path: str) -> str:
    """The file of a prose page, as locations name it."""
    return posixpath.join(posixpath.dirname(curriculum.at("program", "program").file), "pages", path)


def prose_at(curriculum: Curriculum, path: str, offset: int) -> Location:
    """The place of a character of a prose page."""
    before = curriculum.prose[path][:offset]
    return Location(prose_file(curriculum, path), before.count("\n") + 1, offset - before.rfind("\n"))


def _texts(path: Path, record: Record) -> list[tuple[Path, str]]:
    found: list[tuple[Path, str]] = []
    for name, key, holds_text in _plan(type(record)):
        value = getattr(record, name)
        if not value:
            continue
        here = (*path, key)
        if type(value) is str:
            found.append((here, value))
        elif isinstance(value, Record):
            found += _texts(here, value)
        else:
            parts: Iterable[tuple[str | int, Any]] = value.items() if isinstance(value, Mapping) else enumerate(value)
            if holds_text:
                found += [((*here, part), text) for part, text in parts]
            else:
                for part, inner in parts:
                    found += _texts((*here, part), inner)
    return found


@functools.cache
def _plan(record: type[Record]) -> tuple[tuple[str, str, bool], ...]:
    """The fields of a record that hold text themselves or in records below: name, key in the file, holds text."""
    hints = typing.get_type_hints(record, include_extras=True)
    plan: list[tuple[str, str, bool]] = []
    for name, info in record.model_fields.items():
        parts = tuple(leaves(hints[name]))
        holds_text = Text in parts
        if holds_text or any(isinstance(part, type) and issubclass(part, Record) for part in parts):
            plan.append((name, info.alias or name, holds_text))
    return tuple(plan)
