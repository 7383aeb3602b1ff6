"""YAML as plain data with the place of every value. Scalars stay the text that was typed.

The parser's events are read in a loop with a stack of its own: no depth of nesting can overflow it, nothing is ever
constructed from a tag, and an alias costs nothing but its count.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, NoReturn

import yaml

from generator.diagnostics import Location, Problem, Related
from generator.model import Path
from generator.reading.positions import ROOT, Group, Names, Positions
from generator.reading.syntax import problem_of
from generator.reading.text import decode, has_invisible, shown

LOADER: Any = getattr(yaml, "CLoader", yaml.Loader)
DEEPEST = 30
"""Levels of lists and fields inside one another. The deepest record needs 6."""
MOST_ALIASED = 10_000
"""Values that aliases may stand for in one file, counted as if each were written out."""

_PLAIN_TAGS = {
    yaml.ScalarEvent: "tag:yaml.org,2002:str",
    yaml.SequenceStartEvent: "tag:yaml.org,2002:seq",
    yaml.MappingStartEvent: "tag:yaml.org,2002:map",
}
_NO_KEY = object()


@dataclass(frozen=True, slots=True, kw_only=True)
class Tree:
    """What a file holds. `data` is made of dict, list, str and None."""

    data: Any = None
    positions: Mapping[Path, tuple[int, int]] = field(default_factory=dict)
    """Line and column of each value by its exact path. A value that starts on lines of its own under a field's name
    (a block) has the place of that name; the whole file has the place of its first field. A value behind an alias has
    none of its own: the alias has."""
    keys: Mapping[Path, tuple[int, int]] = field(default_factory=dict)
    """Line and column of each field's name by the path of its value."""
    problems: tuple[Problem, ...] = ()
    is_whole: bool = False
    """Whether `data` holds all that was typed, so that what is missing from it is missing from the file."""
    text: str = ""


@dataclass(slots=True)
class _Open:
    """A list or mapping that is being read."""

    held: Any
    group: Group
    anchor: str | None
    size: int = 1
    key: Any = _NO_KEY
    key_is_dropped: bool = False


class _StopReading(Exception):  # noqa: N818 - it is no error: a problem says what is wrong
    """Reading further would mislead or cost too much."""


def read_tree(data: bytes, file: str, *, loader: Any = LOADER) -> Tree:
    """Read one YAML document. `file` is the name that problems carry; no bytes raise."""
    text, problems = decode(data, file)
    if text is None:
        return Tree(problems=problems, text=data.decode("utf-8", "replace"))
    reader = _Reader(file)
    try:
        next_event, take, take_scalar = loader(text.encode()).get_event, reader.take, reader.take_scalar
        scalar = yaml.ScalarEvent
        while (event := next_event()) is not None:
            (take_scalar if type(event) is scalar else take)(event)
    except yaml.YAMLError as error:
        reader.problems.append(problem_of(error, text, file))
        reader.is_whole = False
    except _StopReading:
        pass
    if reader.root is None and not reader.problems:
        remedy = "Copy a file of the same kind and change it, or delete this one."
        reader.complain((1, 1), "file-empty", "This file is empty.", remedy)
        reader.is_whole = False
    return Tree(
        data=reader.root,
        positions=Positions(reader.top),
        keys=Names(reader.top),
        problems=tuple(reader.problems),
        is_whole=reader.is_whole,
        text=text,
    )


class _Reader:
    def __init__(self, file: str) -> None:
        self.file = file
        self.root: Any = None
        self.top = Group()
        self.problems: list[Problem] = []
        self.is_whole = True
        self.stack: list[_Open] = []
        self.anchors: dict[str, tuple[Any, int] | None] = {}
        self.aliased = 0
        self.documents = 0

    def take(self, event: Any) -> None:
        kind = type(event)
        if kind in (yaml.MappingStartEvent, yaml.SequenceStartEvent):
            self.open(event, {} if kind is yaml.MappingStartEvent else [])
        elif kind in (yaml.MappingEndEvent, yaml.SequenceEndEvent):
            done = self.stack.pop()
            if done.anchor:
                self.anchors[done.anchor] = (done.held, done.size)
            self.add(done.held, done.size)
        elif kind is yaml.AliasEvent:
            self.take_alias(event)
        elif kind is yaml.DocumentStartEvent:
            self.documents += 1
            if self.documents > 1:
                self.complain(
                    _place(event), "yaml-documents", "A second document starts here; a file holds one.",
                    "Delete the line `---`, or move what follows it to a file of its own.",
                )  # fmt: skip
                raise _StopReading

    def take_scalar(self, event: Any) -> None:
        mark = event.start_mark
        place = mark.line + 1, mark.column + 1
        value, is_plain = event.value, not event.style
        if event.tag is not None:
            self.check_tag(event, place)
        if event.style == '"' and has_invisible(value):
            self.complain(
                place, "yaml-invisible-character", "This text holds an invisible character, written with a backslash.",
                "Delete the backslash and what belongs to it.",
            )  # fmt: skip
        parent = self.stack[-1] if self.stack else None
        if parent is not None and parent.key is _NO_KEY and type(parent.held) is dict:
            self.take_key(parent, value, place, is_plain=is_plain)
            return
        if is_plain and value in ("", "null", "~"):
            value = None
        if event.anchor:
            self.anchors[event.anchor] = (value, 1)
        # What `put_at` and `add` do, in one place: two of three events of a file come through here.
        if parent is None:
            self.top.places[ROOT] = place
            self.root = value
            return
        parent.size += 1
        held = parent.held
        if type(held) is list:
            parent.group.places[len(held)] = place
            held.append(value)
            return
        if not parent.key_is_dropped:
            parent.group.places[parent.key] = place
            held[parent.key] = value
        parent.key = _NO_KEY

    def take_key(self, parent: _Open, key: str, place: tuple[int, int], *, is_plain: bool) -> None:
        parent.key, parent.key_is_dropped = key, False
        if is_plain and key == "<<":
            self.complain(
                place, "yaml-merge-key", "`<<` copies fields from elsewhere, which this handbook does not read.",
                "Write the fields out, so that a reader sees them where they count.",
            )  # fmt: skip
            self.is_whole = False
        elif is_plain and key == "":
            self.complain(place, "yaml-field-name", "This colon has no field name before it.", "Write the name.")
            self.is_whole = False
        elif key in parent.group.names:
            self.problems.append(
                Problem(
                    location=Location(self.file, *place),
                    rule="yaml-duplicate-key",
                    message=f"`{shown(key)}` is given twice in one group of fields.",
                    remedy="Delete one of them, or join their values.",
                    related=(
                        Related(location=Location(self.file, *parent.group.names[key]), message="first given here"),
                    ),
                )
            )
        else:
            parent.group.names[key] = place
            return
        parent.key_is_dropped = True

    def take_alias(self, event: Any) -> None:
        place = _place(event)
        name = event.anchor
        known = self.anchors.get(name)
        parent = self.stack[-1] if self.stack else None
        if parent is not None and type(parent.held) is dict and parent.key is _NO_KEY:
            self.refuse_key(place)
        if name not in self.anchors:
            near = difflib.get_close_matches(name, self.anchors, 1)
            self.complain(
                place, "yaml-alias", f"`*{shown(name)}` refers to a value that is not named `&{shown(name)}` above.",
                (f"Did you mean `*{near[0]}`? " if near else "")
                + 'Put the text in "quotation marks" if it begins with a star.',
            )  # fmt: skip
            self.is_whole = False
            known = (None, 1)
        if known is None:
            message = f"`*{shown(name)}` stands inside the value that it refers to."
            self.complain(place, "yaml-alias", message, "Write the value out.")
            self.stop_short()
        value, size = known
        self.aliased += size
        if self.aliased > MOST_ALIASED:
            self.complain(
                place, "yaml-alias", f"The references in this file stand for more than {MOST_ALIASED:,} values.",
                "Write the values out, or split the file.",
            )  # fmt: skip
            self.stop_short()
        self.put_at(place)
        self.add(value, size)

    def open(self, event: Any, held: Any) -> None:
        place = _place(event)
        parent = self.stack[-1] if self.stack else None
        if parent is not None and type(parent.held) is dict and parent.key is _NO_KEY:
            self.refuse_key(place)
        if len(self.stack) >= DEEPEST:
            self.complain(
                place, "yaml-too-deep", f"Lists and fields stand more than {DEEPEST} levels inside one another here.",
                "Look for a stray bracket or wrong indentation above.",
            )  # fmt: skip
            self.stop_short()
        if event.tag is not None:
            self.check_tag(event, place)
        group = Group()
        self.put_at(place, group, is_block=not event.flow_style)
        if event.anchor:
            self.anchors[event.anchor] = None
        self.stack.append(_Open(held, group, event.anchor))

    def put_at(self, place: tuple[int, int], group: Group | None = None, *, is_block: bool = False) -> None:
        """Note where the next value stands, and its group if it has one, unless the value is dropped."""
        outer, key = self.top, ROOT
        if self.stack:
            parent = self.stack[-1]
            if parent.key_is_dropped:
                return
            outer, key = parent.group, len(parent.held) if type(parent.held) is list else parent.key
        outer.places[key] = outer.names.get(key, place) if is_block else place
        if group is not None:
            outer.put(key, group)

    def add(self, value: Any, size: int) -> None:
        if not self.stack:
            self.root = value
            return
        parent = self.stack[-1]
        parent.size += size
        if type(parent.held) is list:
            parent.held.append(value)
            return
        if not parent.key_is_dropped:
            parent.held[parent.key] = value
        parent.key = _NO_KEY

    def refuse_key(self, place: tuple[int, int]) -> None:
        self.complain(
            place, "yaml-field-name", "A field's name must be plain text; this is a list, braces or a reference.",
            'Put the whole text in "quotation marks" if it begins with `{`, `[` or `*`.',
        )  # fmt: skip
        self.stop_short()

    def check_tag(self, event: Any, place: tuple[int, int]) -> None:
        if event.tag not in ("!", _PLAIN_TAGS[type(event)]):
            tag = shown(event.tag.replace("tag:yaml.org,2002:", "!!"))
            self.complain(
                place, "yaml-tag", f"`{tag}` is a YAML tag; tags are not read.",
                'Delete it, or put the text in "quotation marks" if it begins with an exclamation mark.',
            )  # fmt: skip

    def complain(self, place: tuple[int, int], rule: str, message: str, remedy: str) -> None:
        self.problems.append(Problem(location=Location(self.file, *place), rule=rule, message=message, remedy=remedy))

    def stop_short(self) -> NoReturn:
        self.is_whole = False
        raise _StopReading


def _place(event: Any) -> tuple[int, int]:
    mark = event.start_mark
    return mark.line + 1, mark.column + 1
