"""Sources (CSL), cited numbers, and the glossary."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from generator.model.base import Bool, Count, Day, Id, Number, Record, Text

Checked = Literal["primary", "secondary", "memory"]
"""How far the source was opened: `primary` the number was seen in the source itself; `secondary` it was seen
quoted elsewhere; `memory` nobody has looked yet, so it prints as provisional."""

SourceType = Literal[
    "article", "article-journal", "article-magazine", "article-newspaper", "bill", "book", "broadcast", "chapter",
    "classic", "collection", "dataset", "document", "entry", "entry-dictionary", "entry-encyclopedia", "event",
    "figure", "graphic", "hearing", "interview", "legal_case", "legislation", "manuscript", "map", "motion_picture",
    "musical_score", "pamphlet", "paper-conference", "patent", "performance", "periodical",
    "personal_communication", "post", "post-weblog", "regulation", "report", "review", "review-book", "software",
    "song", "speech", "standard", "thesis", "treaty", "webpage",
]  # fmt: skip
"""The item types of the CSL 1.0.2 data schema."""


class Name(Record):
    """A CSL name: a person by `family` and `given`, a body by `literal`."""

    family: Text | None = None
    given: Text | None = None
    suffix: Text | None = None
    literal: Text | None = None
    dropping_particle: Text | None = Field(None, alias="dropping-particle")
    non_dropping_particle: Text | None = Field(None, alias="non-dropping-particle")


class CslDate(Record):
    """A CSL date: `date-parts: [[year, month, day]]`, the last two optional."""

    date_parts: tuple[tuple[Count, ...], ...] = Field((), alias="date-parts")
    raw: Text | None = None
    literal: Text | None = None
    season: Text | None = None
    circa: Bool | None = None

    @property
    def year(self) -> int | None:
        """The first year given, if there is one."""
        return self.date_parts[0][0] if self.date_parts and self.date_parts[0] else None


class SourceCare(Record):
    """What the program adds to a source, kept in CSL's own `custom` object so that exports stay valid CSL."""

    edition_of: Id | None = None
    """A name shared by all editions of one work; the newest is the current one."""
    superseded_by: Id | None = None
    reviewed: Day | None = None
    """Day on which someone looked whether this source still stands."""
    metadata: Checked = "primary"
    """How far this bibliographic record itself was checked."""
    kept_because: Text | None = None
    """Why a superseded or old source is still cited."""
    incomplete_because: Text | None = None
    """Why part of the record could not be found, such as a page that names no author; printed with the reference."""


class Source(Record):
    """One entry of `sources.yaml`: a CSL item."""

    id: Id
    type: SourceType
    title: Text
    author: tuple[Name, ...] = ()
    editor: tuple[Name, ...] = ()
    issued: CslDate | None = None
    accessed: CslDate | None = None
    container_title: Text | None = Field(None, alias="container-title")
    container_title_short: Text | None = Field(None, alias="container-title-short")
    collection_title: Text | None = Field(None, alias="collection-title")
    collection_number: Text | None = Field(None, alias="collection-number")
    title_short: Text | None = Field(None, alias="title-short")
    publisher: Text | None = None
    publisher_place: Text | None = Field(None, alias="publisher-place")
    authority: Text | None = None
    volume: Text | None = None
    issue: Text | None = None
    page: Text | None = None
    number: Text | None = None
    edition: Text | None = None
    version: Text | None = None
    genre: Text | None = None
    medium: Text | None = None
    status: Text | None = None
    language: Text | None = None
    DOI: Text | None = None
    PMID: Text | None = None
    PMCID: Text | None = None
    ISBN: Text | None = None
    ISSN: Text | None = None
    URL: Text | None = None
    abstract: Text | None = None
    keyword: Text | None = None
    note: Text | None = None
    custom: SourceCare = SourceCare()


class Sources(Record):
    """`sources.yaml`: `references`, a list of CSL items, as reference managers export CSL-YAML."""

    references: tuple[Source, ...]


class OtherView(Record):
    """What another body says about the same number."""

    body: Text
    year: Count
    says: Text
    source: Id | None = None
    checked: Checked = "memory"


class Quantity(Record):
    """A cited number: `value`, or `low` and `high`, or `at_least` and/or `at_most`, or `says` for a form of words."""

    name: Text
    value: Number | None = None
    low: Number | None = None
    high: Number | None = None
    at_least: Number | None = None
    at_most: Number | None = None
    says: Text | None = None
    """The wording to print instead of the number, such as `30:2`."""
    unit: Text | None = None
    """As it is read aloud after the number: `seconds`, `cm`, `per minute`."""
    populations: tuple[Id, ...] = ()
    """Who it applies to; empty when it is about equipment, not patients."""
    sources: tuple[Id, ...] = ()
    checked: Checked = "memory"
    about: Text | None = None
    others: tuple[OtherView, ...] = ()
    count_aloud: tuple[Text, ...] = ()
    """Words said at even spacing through one interval, the first of them on the action."""


class Quantities(Record):
    """`quantities.yaml`."""

    quantities: dict[Id, Quantity]


class Term(Record):
    """A word or abbreviation. Search finds the page by either."""

    term: Text
    meaning: Text
    also: tuple[Text, ...] = ()
    """Synonyms that mean the same; the handbook's own text uses `term`."""
    avoid: tuple[Text, ...] = ()
    """Words that the handbook's own text should not use for this."""


class Glossary(Record):
    """`glossary.yaml`."""

    terms: tuple[Term, ...]
