"""A curriculum folder → everything in it, and every problem of every file in one run."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from generator.diagnostics import Location, Problem, Related, Severity, in_order
from generator.model import (
    Curriculum,
    Equipment,
    Glossary,
    Lab,
    LocalRules,
    Place,
    Program,
    Quantities,
    Readings,
    Scenario,
    Skill,
    Sources,
    Standard,
    Station,
    Techniques,
    Trainer,
)
from generator.reading.files import NEEDED_FOLDERS, OPTIONAL_FILES, Found, find_files
from generator.reading.known import Known
from generator.reading.labels import read_labels
from generator.reading.records import is_id, place_of, read_entries, read_program, read_record
from generator.reading.text import decode, read_bytes, shown
from generator.reading.yaml_tree import Tree

LIST_FILES: Mapping[str, tuple[str, type[BaseModel], str]] = {
    "techniques": ("technique", Techniques, "techniques"),
    "equipment": ("equipment", Equipment, "equipment"),
    "quantities": ("quantity", Quantities, "quantities"),
    "sources": ("source", Sources, "references"),
    "glossary": ("term", Glossary, "terms"),
    "readings": ("reading", Readings, "readings"),
}
"""File → kind of its entries, its model and the field that holds them."""
RECORD_KINDS: Mapping[str, tuple[str, type[BaseModel]]] = {
    "trainers": ("trainer", Trainer),
    "skills": ("skill", Skill),
    "stations": ("station", Station),
    "labs": ("lab", Lab),
    "scenarios": ("scenario", Scenario),
    "standards": ("standard", Standard),
}
"""Folder → kind of its records and their model."""


@dataclass(slots=True)
class _Gathered:
    """What has been read so far."""

    program: Program | None = None
    local: LocalRules | None = None
    records: dict[str, dict[str, Any]] = field(default_factory=dict)
    places: dict[tuple[str, str], Place] = field(default_factory=dict)
    unread: set[tuple[str, str]] = field(default_factory=set)
    lost: set[str] = field(default_factory=set)
    """Kinds of which nobody can tell the ids, because the file or folder that holds them could not be read."""
    texts: list[str] = field(default_factory=list)
    prose: dict[str, str] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    known: Known = field(default_factory=Known)

    def add(self, kind: str, id: str, record: Any, place: Place) -> None:
        self.records.setdefault(kind, {})[id] = record
        self.places[kind, id] = place


def read_curriculum(folder: Path, *, known: Known | None = None) -> tuple[Curriculum | None, tuple[Problem, ...]]:
    """Read a curriculum folder. The curriculum is None only when the program's own lists cannot be told.

    Places of records go by (kind, id); the program is ("program", "program"), the local rules ("local", "local"), a
    term of the glossary ("term", the term). Nothing raises for what a file holds. With `known`, files that have not
    changed since it was last given are not read again.
    """
    gathered = _Gathered(known=known or Known())
    found, problems = find_files(folder)
    gathered.problems += problems
    for item in found:
        if item.parts[0] == "pages":
            _read_page(item, gathered)
        else:
            _read_file(item, gathered)
    _note_lost(found, gathered)
    curriculum = _curriculum(gathered)
    if curriculum is not None:
        labels, plurals, problems = read_labels(folder, curriculum.program)
        gathered.problems += problems
        curriculum = replace(curriculum, labels=labels, plurals=plurals)
    return curriculum, in_order(gathered.problems)


def _note_lost(found: Iterable[Found], gathered: _Gathered) -> None:
    """Take every word typed anywhere as the id of an unread record of each lost kind: no use of one is `unknown`."""
    names = {item.parts[0] if item.parts[0] in RECORD_KINDS else item.stem for item in found}
    may_miss = {*names, *OPTIONAL_FILES}
    gathered.lost |= {kind_and_more[0] for name, kind_and_more in LIST_FILES.items() if name not in may_miss}
    # The other folders may be absent or empty.
    gathered.lost |= {RECORD_KINDS[name][0] for name in NEEDED_FOLDERS if name not in names}
    if gathered.lost:
        words = {word for text in gathered.texts for word in re.findall(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*", text)}
        gathered.unread |= {(kind, word) for kind in gathered.lost for word in words}


def _read_page(item: Found, gathered: _Gathered) -> None:
    if not item.parts[-1].endswith(".md"):
        return
    data, problems = read_bytes(item.path, item.file)
    text, unreadable = decode(data, item.file) if data is not None else (None, ())
    gathered.problems += (*problems, *unreadable)
    if text is None:
        gathered.unread.add(("page", "/".join(item.parts[1:])))
    else:
        gathered.texts.append(text)
        gathered.prose["/".join(item.parts[1:])] = text.replace("\r\n", "\n")


def _read_file(item: Found, gathered: _Gathered) -> None:
    data, problems = read_bytes(item.path, item.file)
    gathered.problems += problems
    tree = gathered.known.tree(data, item.file) if data is not None else Tree()
    gathered.texts.append(tree.text)
    one_of_many = RECORD_KINDS.get(item.parts[0])
    kind = one_of_many[0] if one_of_many else item.stem
    if data is not None:
        gathered.problems += _schema_line(tree, item, kind)
    if one_of_many:
        _read_one(item, tree, one_of_many, gathered)
    elif item.stem in LIST_FILES:
        _read_list(item, tree, gathered)
    elif item.stem == "program":
        gathered.program, found = gathered.known.made("program", item.file, tree, lambda: read_program(tree, item.file))
        gathered.problems += found
        gathered.places["program", "program"] = place_of(tree, item.file)
        if any(problem.is_error for problem in found):
            gathered.unread.add(("program", "program"))
    else:
        gathered.local, found = _record(tree, LocalRules, item.file, gathered.known)
        gathered.problems += found
        gathered.places["local", "local"] = place_of(tree, item.file)
        if gathered.local is None:
            gathered.unread.add(("local", "local"))


def _record(tree: Tree, model: type[Any], file: str, known: Known) -> tuple[Any, tuple[Problem, ...]]:
    made: tuple[Any, tuple[Problem, ...]] = known.made("record", file, tree, lambda: read_record(tree, model, file))
    return made


def _read_list(item: Found, tree: Tree, gathered: _Gathered) -> None:
    kind, model, name = LIST_FILES[item.stem]
    entries = gathered.known.made("entries", item.file, tree, lambda: read_entries(tree, model, name, item.file))
    gathered.problems += entries.problems
    gathered.unread |= {(kind, id) for id in entries.unread}
    if entries.is_lost:
        gathered.lost.add(kind)
    for id, record in entries.records.items():
        gathered.add(kind, id, record, place_of(tree, item.file, entries.roots[id]))


def _read_one(item: Found, tree: Tree, kind_and_model: tuple[str, type[BaseModel]], gathered: _Gathered) -> None:
    kind, model = kind_and_model
    record, problems = _record(tree, model, item.file, gathered.known)
    gathered.problems += problems
    place = place_of(tree, item.file)
    typed = tree.data.get("id") if isinstance(tree.data, dict) else None
    id = str(typed) if is_id(typed) else item.stem
    if not is_id(item.stem):
        gathered.problems.append(
            Problem(
                location=Location(item.file),
                rule="file-name",
                message=f"`{shown(item.stem)}` cannot be an id, so this file cannot have it as its name.",
                remedy="Use small letters, digits and single hyphens, starting with a letter, and the ending `.yaml`.",
            )
        )
    elif is_id(typed) and typed != item.stem:
        gathered.problems.append(
            Problem(
                location=place.at("id"),
                rule="id-not-file-name",
                message=f"The id is `{typed}`, but the file is named `{item.stem}.yaml`.",
                remedy=f"Write `id: {item.stem}`, or rename the file to `{typed}.yaml`.",
            )
        )
        gathered.unread.add((kind, item.stem))
    if kind == "skill":
        gathered.problems += _strand_problem(item, tree, place)
    first = gathered.places.get((kind, id))
    if first and is_id(typed):
        gathered.problems.append(
            Problem(
                location=place.at("id"),
                rule="id-repeated",
                message=f"Another file has the id `{id}` too; the first one is used.",
                remedy="Give one of them another id and file name, or delete it.",
                related=(Related(location=first.at("id"), message="first given here"),),
            )
        )
    elif not first:
        if record is None:
            gathered.unread |= {(kind, id), (kind, item.stem)}
            gathered.places[kind, id] = place
        else:
            gathered.add(kind, id, record, place)


def _strand_problem(item: Found, tree: Tree, place: Place) -> Iterable[Problem]:
    strand = tree.data.get("strand") if isinstance(tree.data, dict) else None
    folder = item.parts[1]
    if is_id(strand) and strand != folder:
        yield Problem(
            location=place.at("strand"),
            rule="strand-not-folder",
            message=f"The strand is `{strand}`, but the file stands in the folder `{shown(folder)}`.",
            remedy=f"Move the file to `skills/{strand}/`, or write `strand: {shown(folder)}`.",
        )


def _schema_line(tree: Tree, item: Found, kind: str) -> Iterable[Problem]:
    """The editor's line is a comment: without it the file reads the same, so this is a warning."""
    expected = f"# yaml-language-server: $schema={'../' * (len(item.parts) - 1)}.schema/{kind}.json"
    if any(problem.rule == "file-not-utf8" for problem in tree.problems):
        return
    if tree.text and tree.text.split("\n", 1)[0].rstrip() != expected:
        yield Problem(
            location=Location(item.file),
            rule="schema-line",
            message="The first line does not name this file's schema, so an editor cannot help with it.",
            remedy=f"Make this the first line: `{expected}`",
            severity=Severity.WARNING,
        )


def _curriculum(gathered: _Gathered) -> Curriculum | None:
    if gathered.program is None:
        return None
    of = gathered.records
    return Curriculum(
        program=gathered.program,
        techniques=of.get("technique", {}),
        equipment=of.get("equipment", {}),
        quantities=of.get("quantity", {}),
        sources=of.get("source", {}),
        terms=tuple(of.get("term", {}).values()),
        trainers=of.get("trainer", {}),
        skills=of.get("skill", {}),
        stations=of.get("station", {}),
        labs=of.get("lab", {}),
        readings=of.get("reading", {}),
        scenarios=of.get("scenario", {}),
        standards=of.get("standard", {}),
        local=gathered.local,
        prose=gathered.prose,
        places=gathered.places,
        unread=frozenset(gathered.unread),
    )
