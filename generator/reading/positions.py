"""Where each value of a file stands, kept as the file is nested.

A mapping by whole paths would need a tuple and its hash for each of the half a million values of a large curriculum, of
which hardly any is ever asked for. Here a path is walked when somebody asks.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from generator.model import Path

Where = tuple[int, int]
"""Line and column, both from 1."""

ROOT: Any = object()
"""The key of a file's outermost value in the group that holds nothing else."""


class Group:
    """The places of what stands in one list or mapping, by index or key."""

    __slots__ = ("names", "places", "within")

    def __init__(self) -> None:
        self.places: dict[Any, Where] = {}
        """Of values."""
        self.names: dict[Any, Where] = {}
        """Of keys."""
        self.within: dict[Any, Group] | None = None
        """Groups that are values here; most groups have none, and a dict for each would be a tenth of the memory."""

    def put(self, key: Any, group: Group) -> None:
        """Note a group that is a value here."""
        if self.within is None:
            self.within = {}
        self.within[key] = group


class Positions(Mapping[Path, Where]):
    """Places of values by their paths, seen from the group that holds the file's outermost value."""

    __slots__ = ("_top",)

    def __init__(self, top: Group) -> None:
        self._top = top

    def _of(self, group: Group) -> Mapping[Any, Where]:
        return group.places

    def __getitem__(self, path: Path) -> Where:
        group, last = self._top, ROOT
        for part in path:
            group, last = (group.within or {})[last], part
        return self._of(group)[last]

    def __iter__(self) -> Iterator[Path]:
        for path, group in _groups((), self._top):
            for key in self._of(group):
                yield () if key is ROOT else (*path, key)

    def __len__(self) -> int:
        return sum(len(self._of(group)) for _, group in _groups((), self._top))


class Names(Positions):
    """Places of the keys of values, by the values' paths."""

    __slots__ = ()

    def _of(self, group: Group) -> Mapping[Any, Where]:
        return group.names


def _groups(path: Path, group: Group) -> Iterator[tuple[Path, Group]]:
    yield path, group
    for key, inner in (group.within or {}).items():
        yield from _groups(() if key is ROOT else (*path, key), inner)
