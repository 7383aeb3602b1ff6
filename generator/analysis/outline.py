"""What one skill's page or any analysis can show of the other skills: everything but their running text.

While a handbook is served, most edits change a sentence of one skill. Two curricula with equal outlines differ in
running text of skills alone, so the analysis, the tables and the pages of the skills that were not touched are the
same. What counts as running text follows from the model (`Text`, not `Id`), and the names a thing goes by are left in.
"""

from __future__ import annotations

import functools
import typing
from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from typing import Any

from generator.analysis.once import once_each
from generator.analysis.wording import mentioned
from generator.model import Curriculum, Skill
from generator.model.base import Record, Text, leaves

SHOWN = frozenset({"title", "name", "also_called", "short", "because"})
"""Text fields that an analysis or the page of another record shows."""


@dataclass(frozen=True, slots=True)
class Outline:
    """A curriculum without the running text of its skills."""

    records: tuple[object, ...]
    """Every record that is not a skill. The same file gives the same objects, so they are compared as objects."""
    skills: tuple[Hashable, ...]
    words: object
    """Labels and plural forms."""

    def is_same(self, other: Outline | None) -> bool:
        """Whether two outlines are of curricula that differ in running text of skills alone."""
        return (
            other is not None
            and len(self.records) == len(other.records)
            and all(one is another for one, another in zip(self.records, other.records, strict=True))
            and self.skills == other.skills
            and self.words == other.words
        )


def outline_of(curriculum: Curriculum) -> Outline:
    """The outline of a curriculum. The part of a skill that is the same object is not made again."""
    return Outline(
        records=tuple(record for kind, _, record in curriculum.records() if kind != "skill"),
        skills=tuple(_of_skill(skill) for skill in curriculum.skills.values()),
        words=(curriculum.labels, curriculum.plurals),
    )


@once_each
def _of_skill(skill: Skill) -> Hashable:
    return _outline(skill)


def _outline(value: Any) -> Hashable:
    """A value with each running text replaced by the quantities that it mentions."""
    if isinstance(value, Record):
        return tuple(
            _mentions(getattr(value, name)) if is_running else _outline(getattr(value, name))
            for name, is_running in _fields(type(value))
        )
    if isinstance(value, tuple):
        return tuple(_outline(item) for item in value)
    if isinstance(value, Mapping):
        return tuple((key, _outline(item)) for key, item in value.items())
    return typing.cast("Hashable", value)


def _mentions(value: Any) -> Hashable:
    if isinstance(value, str):
        return mentioned(value)
    if isinstance(value, tuple):
        return tuple(_mentions(item) for item in value)
    return value is None


@functools.cache
def _fields(record: type[Record]) -> tuple[tuple[str, bool], ...]:
    """The fields of a record, and whether each holds running text alone."""
    hints = typing.get_type_hints(record, include_extras=True)
    return tuple(
        (name, name not in SHOWN and set(leaves(hints[name])) <= {Text, type(None)}) for name in record.model_fields
    )
