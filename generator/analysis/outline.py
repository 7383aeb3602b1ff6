"""What one skill's page or any analysis can show of the other skills: everything but their running text.

While a handbook is served, most edits change a sentence of one skill. Two curricula with equal outlines differ in
running text of skills alone, so the analysis, the tables and the pages of the skills that were not touched are the
same. What counts as running text follows from the model (`Text`, not `Id`), and the names a thing goes by are left in.
"""

from __future__ import annotations

import functools
import typing
from collections.abc import Hashable, Iterator, Mapping
from dataclasses import dataclass
from types import UnionType
from typing import Any, Union

from generator.analysis.wording import mentioned
from generator.model import Curriculum, Skill
from generator.model.base import Record, Text

SHOWN = frozenset({"title", "name", "also_called", "short", "because"})
"""Text fields that an analysis or the page of another record shows."""


@dataclass(frozen=True, slots=True)
class Outline:
    """A curriculum without the running text of its skills."""

    records: tuple[object, ...]
    """Every record that is not a skill. The same file gives the same objects, so they are compared as objects."""
    skills: tuple[Hashable, ...]
    labels: Mapping[str, str]

    def is_same(self, other: Outline | None) -> bool:
        """Whether two outlines are of curricula that differ in running text of skills alone."""
        return (
            other is not None
            and len(self.records) == len(other.records)
            and all(one is another for one, another in zip(self.records, other.records, strict=True))
            and self.skills == other.skills
            and self.labels == other.labels
        )


class Outlines:
    """Outlines of one curriculum after another. The outline of a skill that is the same object is not made again."""

    def __init__(self) -> None:
        self._skills: dict[str, tuple[Skill, Hashable]] = {}

    def of(self, curriculum: Curriculum) -> Outline:
        """The outline of a curriculum."""
        before = self._skills
        self._skills = {
            id: before[id] if id in before and before[id][0] is skill else (skill, _outline(skill))
            for id, skill in curriculum.skills.items()
        }
        return Outline(
            records=tuple(_others(curriculum)),
            skills=tuple(outline for _, outline in self._skills.values()),
            labels=curriculum.labels,
        )


def _others(curriculum: Curriculum) -> Iterator[object]:
    yield curriculum.program
    yield curriculum.local
    yield from curriculum.terms
    for group in (
        curriculum.techniques,
        curriculum.equipment,
        curriculum.quantities,
        curriculum.sources,
        curriculum.trainers,
        curriculum.stations,
        curriculum.labs,
        curriculum.readings,
        curriculum.scenarios,
        curriculum.standards,
    ):
        yield from group.values()


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
        (name, name not in SHOWN and set(_flat(hints[name])) <= {Text, type(None)}) for name in record.model_fields
    )


def _flat(hint: Any) -> Iterator[Any]:
    """The leaves of an annotation: unions and tuples taken apart, `Annotated` left whole."""
    if typing.get_origin(hint) in (Union, UnionType, tuple):
        for part in typing.get_args(hint):
            yield from _flat(part)
    elif hint is not ...:
        yield hint
