"""Everything that was read, with the place each value came from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from types import MappingProxyType

from generator.diagnostics import Location
from generator.model.base import Record
from generator.model.evidence import Quantity, Source, Term
from generator.model.lab import Lab, Station
from generator.model.local import LocalRules
from generator.model.plurals import Plurals
from generator.model.program import Named, Program
from generator.model.scenario import Reading, Scenario
from generator.model.skill import Skill
from generator.model.standard import Standard
from generator.model.trainer import Item, Technique, Trainer

Path = tuple[str | int, ...]
"""The exact way to a value inside a document: keys and list positions."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where one record stands: its file, the way to it inside the file, and the file's positions."""

    file: str
    root: Path
    positions: Mapping[Path, tuple[int, int]]

    def at(self, *path: str | int) -> Location:
        """The location of a value inside the record, or of the nearest enclosing value that was typed."""
        whole = (*self.root, *path)
        for length in range(len(whole), -1, -1):
            position = self.positions.get(whole[:length])
            if position:
                return Location(self.file, *position)
        return Location(self.file)


@dataclass(frozen=True, slots=True, kw_only=True)
class Curriculum:
    """All records by id, in the order of their files' names. Mappings are never changed after reading."""

    program: Program
    techniques: Mapping[str, Technique]
    equipment: Mapping[str, Item]
    quantities: Mapping[str, Quantity]
    sources: Mapping[str, Source]
    terms: tuple[Term, ...]
    trainers: Mapping[str, Trainer]
    skills: Mapping[str, Skill]
    stations: Mapping[str, Station] = field(default_factory=dict)
    labs: Mapping[str, Lab] = field(default_factory=dict)
    readings: Mapping[str, Reading] = field(default_factory=dict)
    scenarios: Mapping[str, Scenario] = field(default_factory=dict)
    standards: Mapping[str, Standard] = field(default_factory=dict)
    local: LocalRules | None = None
    labels: Mapping[str, str] = field(default_factory=dict)
    """Fixed words of pages and sheets → the program's own: from `labels/<language>.po`, then from `program.yaml`."""
    plurals: Plurals = field(default_factory=Plurals)
    """Plural forms of counts in the program's language, from its catalogue."""
    prose: Mapping[str, str] = field(default_factory=dict)
    """Text of the prose pages, by path relative to the pages folder."""
    places: Mapping[tuple[str, str], Place] = field(default_factory=lambda: MappingProxyType({}))
    """Place of each record by (kind, id); kinds are named as the attributes above, in the singular."""
    unread: frozenset[tuple[str, str]] = frozenset()
    """(kind, id) of records that could not be read but whose id is known, so that uses of them are not `unknown`."""

    def at(self, kind: str, id: str, *path: str | int) -> Location:
        """The location of a value in a record, such as `at("skill", "choking", "steps", 3, "do")`."""
        place = self.places.get((kind, id))
        return place.at(*path) if place else Location("curriculum")

    def records(self) -> Iterator[tuple[str, str, Record]]:
        """Every record with its kind and id, as `places` names them."""
        yield "program", "program", self.program
        groups: tuple[tuple[str, Mapping[str, Record]], ...] = (
            ("technique", self.techniques),
            ("equipment", self.equipment),
            ("quantity", self.quantities),
            ("source", self.sources),
            ("trainer", self.trainers),
            ("skill", self.skills),
            ("station", self.stations),
            ("lab", self.labs),
            ("reading", self.readings),
            ("scenario", self.scenarios),
            ("standard", self.standards),
        )
        for kind, group in groups:
            for id, record in group.items():
                yield kind, id, record
        for term in self.terms:
            yield "term", term.term, term
        if self.local is not None:
            yield "local", "local", self.local

    def skills_in(self, strand: str) -> tuple[Skill, ...]:
        """The skills of a strand, by title."""
        return tuple(sorted((s for s in self.skills.values() if s.strand == strand), key=lambda s: s.title))

    def label(self, words: str) -> str:
        """A fixed word or sentence as this program prints it. Parts in braces are filled in afterwards."""
        return self.labels.get(words, words)

    def say(self, words: str, **parts: object) -> str:
        """A fixed sentence as this program prints it, with its parts in braces filled in."""
        own = self.label(words)
        return own.format(**parts) if parts else own

    def many(self, count: int | Decimal, one: str, more: str, /, **parts: object) -> str:
        """A count with its word: `many(2, "{count} month", "{count} months")`. A sentence may have more `parts`.

        A part named `count` is what is printed for the count, where that is not the plain number.
        """
        own = self.plurals.form(one, more, count) or self.label(one if count == 1 else more)
        return own.format(**{"count": count, **parts})

    def rung_order(self, rung: str) -> int:
        """How high a rung is, from 0; rungs that the program does not name sort last."""
        ids = [known.id for known in self.program.rungs]
        return ids.index(rung) if rung in ids else len(ids)

    def name_of(self, kind: tuple[Named, ...], id: str) -> str:
        """The name of a level, rung, strand, population or role, or its id when it is unknown."""
        return next((named.name for named in kind if named.id == id), id)
