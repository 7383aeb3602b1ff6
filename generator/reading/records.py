"""From a file's tree to records. What one entry of a list gets wrong does not hide the others."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from generator.diagnostics import Location, Problem, Related
from generator.model import Named, Path, Place, Program
from generator.model.base import ID_PATTERN
from generator.reading.errors import limited, problems_of
from generator.reading.text import shown
from generator.reading.yaml_tree import Tree

R = TypeVar("R", bound=BaseModel)

STAND_IN = "—"
"""What a required text of the program that could not be read is taken as, so that the rest is still checked."""


def is_id(value: Any) -> bool:
    """Whether a value can be an id."""
    return isinstance(value, str) and len(value) <= 60 and re.fullmatch(ID_PATTERN[1:-1], value) is not None


def read_record(tree: Tree, model: type[R], file: str) -> tuple[R | None, tuple[Problem, ...]]:
    """One record from the whole of a file, or None and every reason why not."""
    if not tree.is_whole:
        return None, limited(tree.problems, file)
    try:
        record = model.model_validate(tree.data, by_alias=True, by_name=False)
    except ValidationError as error:
        return None, limited((*tree.problems, *problems_of(error, model, tree, file)), file)
    return record, limited(tree.problems, file)


@dataclass(frozen=True, slots=True, kw_only=True)
class Entries:
    """The entries of a list file by id (or by number, where entries have none)."""

    records: Mapping[str, Any]
    roots: Mapping[str, Path]
    """Path of each entry inside its file."""
    unread: frozenset[str] = frozenset()
    """Ids whose records could not be read."""
    is_lost: bool = False
    """Whether nobody can tell which ids the file holds."""
    problems: tuple[Problem, ...] = ()


def read_entries(tree: Tree, model: type[BaseModel], field: str, file: str) -> Entries:
    """The entries of the list or mapping `field`, the only field of a list file, without those that are wrong.

    Entries that are wrong are named in `problems`, and their ids in `unread`.
    """
    if not tree.is_whole:
        return Entries(records={}, roots={}, is_lost=True, problems=limited(tree.problems, file))
    bad: set[Any] = set()
    found: tuple[Problem, ...] = ()
    whole: Any = None
    try:
        whole = model.model_validate(tree.data, by_alias=True, by_name=False)
    except ValidationError as error:
        found = problems_of(error, model, tree, file)
        bad = {item["loc"][1] for item in error.errors() if len(item["loc"]) > 1 and item["loc"][0] == field}
    typed = tree.data.get(field) if isinstance(tree.data, dict) else None
    items: list[tuple[Any, Any]] = (
        list(typed.items()) if isinstance(typed, dict) else list(enumerate(typed)) if isinstance(typed, list) else []
    )
    if whole is None and typed is not None:
        whole = _without(items, bad, model, field, as_list=isinstance(typed, list))
    good = getattr(whole, field) if whole is not None else ()
    kept = iter(good.values() if isinstance(good, dict) else good)
    records: dict[str, Any] = {}
    roots: dict[str, Path] = {}
    unread: set[str] = set()
    repeated: list[Problem] = []
    for key, value in items:
        id = _id_of(key, value)
        if whole is None or key in bad:
            unread.add(re.sub(r"[^a-z0-9]+", "-", id.lower()).strip("-"))  # What a refused id was probably meant to be.
            continue
        record = next(kept)
        if id in records:
            repeated.append(_repeated(tree, file, id, (field, key), roots[id]))
            continue
        records[id], roots[id] = record, (field, key)
    problems = limited((*tree.problems, *found, *repeated), file)
    return Entries(
        records=records, roots=roots, unread=frozenset(unread - set(records)), is_lost=whole is None, problems=problems
    )


def _without(
    items: list[tuple[Any, Any]], bad: set[Any], model: type[BaseModel], field: str, *, as_list: bool
) -> BaseModel | None:
    kept = [(key, value) for key, value in items if key not in bad]
    try:
        return model.model_validate(
            {field: [value for _, value in kept] if as_list else dict(kept)}, by_alias=True, by_name=False
        )
    except ValidationError:
        return None


def _id_of(key: Any, value: Any) -> str:
    """An entry's id: its name in a mapping; in a list its `id` or, for a term, the term."""
    if isinstance(key, str):
        return key
    named = value.get("id", value.get("term")) if isinstance(value, dict) else None
    return named.strip() if isinstance(named, str) else f"{key}"


def _repeated(tree: Tree, file: str, id: str, path: Path, first: Path) -> Problem:
    name = "id" if (*path, "id") in tree.positions else "term"
    return Problem(
        location=Location(file, *tree.positions.get((*path, name), tree.positions.get(path, (1, 1)))),
        rule="id-repeated",
        message=f"Two entries of this file have the {name} `{shown(id)}`; the first one is used.",
        remedy="Give one of them another, or delete it.",
        related=(
            Related(
                location=Location(file, *tree.positions.get((*first, name), tree.positions.get(first, (1, 1)))),
                message="first given here",
            ),
        ),
    )


def read_program(tree: Tree, file: str) -> tuple[Program | None, tuple[Problem, ...]]:
    """The program. When only its texts or numbers are wrong, they are stood in for, so that the rest is still checked;
    when its levels, rungs, strands or populations cannot be told, there is no program."""
    program, problems = read_record(tree, Program, file)
    if program is not None or not tree.is_whole or not isinstance(tree.data, dict):
        return program, problems
    values: dict[str, Any] = {}
    for name, field in Program.model_fields.items():
        typed = tree.data.get(name)
        if name in ("levels", "rungs", "strands", "populations"):
            if not isinstance(typed, list):
                return None, problems
            values[name] = [_named(item) for item in typed if isinstance(item, dict) and is_id(item.get("id"))]
        elif name in tree.data and _is_valid(Program, name, typed):
            values[name] = typed
        elif field.is_required():
            values[name] = [STAND_IN] if name == "usual_cautions" else STAND_IN
    return Program.model_validate(values), problems


def _named(item: dict[str, Any]) -> dict[str, Any]:
    try:
        Named.model_validate(item)
    except ValidationError:
        return {"id": item["id"], "name": item["id"]}
    return item


def _is_valid(model: type[BaseModel], name: str, value: Any) -> bool:
    """Whether a value suits one field of a model, whatever the others are."""
    try:
        model.model_validate({name: value})
    except ValidationError as error:
        return not any(item["loc"][:1] == (name,) for item in error.errors())
    return True


def place_of(tree: Tree, file: str, root: Path = ()) -> Place:
    """The place of the record at `root` of a file."""
    return Place(file, root, tree.positions)
