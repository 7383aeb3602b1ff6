"""The corpus of attacks, and a walk that puts texts into every text field of every record.

One attack a line. `\\n`, `\\r`, `\\t`, `\\xHH`, `\\uHHHH` and `\\\\` stand for characters. Lines that begin with `;;`
are comments. All of it is typed from common knowledge of what such strings look like; no list was copied.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import fields, replace
from datetime import date
from pathlib import Path
from typing import Annotated, Any, get_args, get_origin, get_type_hints

from pydantic import StringConstraints

from generator.model import Curriculum
from generator.model.base import Record
from generator.model.evidence import CslDate, OtherView
from generator.model.lab import Break
from generator.model.program import Approval
from generator.model.scenario import Answer

FOLDER = Path(__file__).parent / "attacks"
_ESCAPE = re.compile(r"\\(?:x([0-9a-fA-F]{2})|u([0-9a-fA-F]{4})|([nrt\\]))")
_SIMPLE = {"n": "\n", "r": "\r", "t": "\t", "\\": "\\"}

ADDRESSES = {"Program.site_url", "Program.language"}
"""Texts that say where the handbook is published and in which language: a program's owner sets them, once."""
NO_RECORDS = {"places", "prose", "unread", "labels", "plurals"}
"""What a curriculum holds beside its records; labels and their plurals are attacked in the tests of files."""
INSTEAD = {"State.exit", "Quantity.says"}
"""Texts that stand in the place of other content where they are given, so they are not filled in everywhere."""


def attacks() -> dict[str, tuple[str, ...]]:
    """Attacks by kind."""
    return {path.stem: tuple(_read(path)) for path in sorted(FOLDER.glob("*.txt"))}


def _read(path: Path) -> list[str]:
    lines = path.read_text(encoding="utf-8").split("\n")
    return [
        _ESCAPE.sub(lambda found: _SIMPLE[found[3]] if found[3] else chr(int(found[1] or found[2], 16)), line)
        for line in lines
        if line and not line.startswith(";;")
    ]


def with_texts(curriculum: Curriculum, give: Callable[[str], str]) -> Curriculum:
    """A copy with every text field replaced by what `give` makes of its path, such as `skills.mask-breath.title`.

    Ids, words of a fixed list, dates, numbers and pages of prose (Markdown by design) stay.
    """
    changed: dict[str, Any] = {}
    for one in fields(curriculum):
        value = getattr(curriculum, one.name)
        if one.name in NO_RECORDS:
            continue
        if isinstance(value, Record):
            changed[one.name] = _record(value, one.name, give)
        elif isinstance(value, tuple):
            changed[one.name] = tuple(_record(each, f"{one.name}.{n}", give) for n, each in enumerate(value))
        elif value is not None:
            changed[one.name] = {id: _record(each, f"{one.name}.{id}", give) for id, each in value.items()}
    return replace(curriculum, **changed)


def _record(record: Record, path: str, give: Callable[[str], str]) -> Record:
    hints = get_type_hints(type(record), include_extras=True)
    update = {
        name: _value(getattr(record, name), hints[name], f"{path}.{name}", give)
        for name in type(record).model_fields
        if f"{type(record).__name__}.{name}" not in ADDRESSES
    }
    return record.model_copy(update=update)


def _value(value: Any, hint: Any, path: str, give: Callable[[str], str]) -> Any:
    if isinstance(value, Record):
        return _record(value, path, give)
    if isinstance(value, str):
        return give(path) if _is_text(hint) else value
    if isinstance(value, tuple):
        inner = _inside(hint, tuple)
        return tuple(_value(each, inner[0] if inner else Any, f"{path}.{n}", give) for n, each in enumerate(value))
    if isinstance(value, dict):
        inner = _inside(hint, dict)
        return {key: _value(each, inner[1] if inner else Any, f"{path}.{key}", give) for key, each in value.items()}
    return value


def filled(value: Any) -> Any:
    """A record, or a curriculum, in which each text that may be left out holds a word, so that it is attacked too."""
    if isinstance(value, Curriculum):
        kept = {f.name for f in fields(value)} - NO_RECORDS
        return replace(value, **{name: filled(getattr(value, name)) for name in kept})
    if isinstance(value, Record):
        hints = get_type_hints(type(value), include_extras=True)
        update = {}
        for name in type(value).model_fields:
            now = filled(getattr(value, name))
            kept = type(value).__name__ in DATES or f"{type(value).__name__}.{name}" in ADDRESSES | INSTEAD
            if now is None and not kept and _is_text(hints[name]):
                now = "x"
            elif now == () and _inside(hints[name], tuple) and _is_text(_inside(hints[name], tuple)[0]):
                now = ("x",)
            update[name] = now
        return value.model_copy(update=update)
    if isinstance(value, tuple):
        return tuple(filled(one) for one in value)
    if isinstance(value, Mapping):
        return {key: filled(one) for key, one in value.items()}
    return value


def enriched(curriculum: Curriculum) -> Curriculum:
    """With one record of each kind that the tiny curriculum lacks, so that its texts are attacked too."""
    quantity, source = (next(iter(one.values())) for one in (curriculum.quantities, curriculum.sources))
    view = OtherView(body="x", year=2020, says="x", source=source.id)
    quantities = {
        **{id: one.model_copy(update={"others": (*one.others, view)}) for id, one in curriculum.quantities.items()},
        "in-words": quantity.model_copy(update={"says": "x", "others": (view,)}),
    }
    dates = {"dated-in-words": CslDate(literal="x"), "dated-by-season": CslDate(season="x", raw="x")}
    sources = {
        **curriculum.sources,
        **{id: source.model_copy(update={"id": id, "issued": issued}) for id, issued in dates.items()},
    }
    pause = Break(after_block=1, minutes=5, name="x")
    answer = Answer(asked="x", answer="x", by="x")
    scenarios = {
        id: one.model_copy(update={"patient": one.patient.model_copy(update={"answers": (answer,)})})
        for id, one in curriculum.scenarios.items()
    }
    labs = {id: one.model_copy(update={"breaks": (*one.breaks, pause)}) for id, one in curriculum.labs.items()}
    return replace(curriculum, quantities=quantities, sources=sources, scenarios=scenarios, labs=labs)


def approved(curriculum: Curriculum) -> Curriculum:
    """The same with a medical director's approval, which takes the place of the line about starter content."""
    approval = Approval(on=date(2026, 1, 1), by="x")
    return replace(curriculum, program=curriculum.program.model_copy(update={"approval": approval}))


DATES = {"CslDate"}
"""A date in words takes the place of the date in numbers, so it is not filled in beside one."""


def text_fields() -> set[str]:
    """`Record.field` of every text in every kind of record there is."""
    return {
        f"{kind.__name__}.{name}"
        for kind in _kinds(Record)
        if kind.__module__.startswith("generator.")
        for name, hint in get_type_hints(kind, include_extras=True).items()
        if name in kind.model_fields and _is_text(hint)
    }


def _kinds(kind: type[Record]) -> Iterator[type[Record]]:
    for one in kind.__subclasses__():
        yield one
        yield from _kinds(one)


def fields_in(value: Any) -> set[str]:
    """`Record.field` of every text that a curriculum really holds."""
    if isinstance(value, Curriculum):
        return set().union(
            *(fields_in(getattr(value, f.name)) for f in fields(value) if f.name not in NO_RECORDS)
        )
    if isinstance(value, Record):
        names = [*type(value).model_fields]
        own = {f"{type(value).__name__}.{name}" for name in names if getattr(value, name) not in (None, "", (), {})}
        return own.union(*(fields_in(getattr(value, name)) for name in names))
    if isinstance(value, (tuple, Mapping)):
        return set().union(*(fields_in(one) for one in (value.values() if isinstance(value, Mapping) else value)))
    return set()


def _is_text(hint: Any) -> bool:
    if get_origin(hint) is Annotated:
        rules = [one for one in get_args(hint)[1:] if isinstance(one, StringConstraints)]
        return get_args(hint)[0] is str and bool(rules) and all(one.pattern is None for one in rules)
    return any(_is_text(one) for one in get_args(hint))


def _inside(hint: Any, kind: type) -> tuple[Any, ...]:
    """The arguments of the tuple or mapping in a hint, also where it is one of several choices."""
    origin = get_origin(hint)
    if (
        origin is not None
        and isinstance(origin, type)
        and (issubclass(origin, kind) or (kind is dict and "Mapping" in origin.__name__))
    ):
        return get_args(hint)
    for one in get_args(hint):
        if found := _inside(one, kind):
            return found
    return ()
