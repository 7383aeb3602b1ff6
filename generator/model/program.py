"""Who we are and the program's own rules: levels, rungs, strands, paper, medical direction."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from generator.model.base import Count, Day, Id, Number, Record, Text

Paper = Literal["a4", "us-letter"]


class Named(Record):
    """Anything that is an id with a name and a line about it."""

    id: Id
    name: Text
    short: Text | None = None
    """Abbreviation for tables."""
    about: Text | None = None


class Approval(Record):
    """A medical director's approval of the content."""

    on: Day
    by: Text
    """The role that approved it, never a person's name."""


class LadderWeights(Record):
    """What the best ladder minimises, as one cost. Defaults put few rungs first, then wear, then set-up."""

    rung: Number = Number("1000")
    """Cost of one more rung."""
    wear: Number = Number("1")
    """Cost of one unit of currency of wear for one attempt."""
    setup_minute: Number = Number("0.01")
    """Cost of one minute of setting up."""


class Program(Record):
    """`program.yaml`: the program that this handbook belongs to."""

    name: Text
    short_name: Text
    language: Text = "en"
    site_url: Text
    """Address at which the handbook is published; printed as a QR code on each sheet."""
    about: Text
    paper: Paper = "us-letter"
    currency: Text = "USD"
    medical_direction: Text
    """The line on every page and sheet that defers to local protocol, medical direction and licensed practice."""
    usual_cautions: tuple[Text, ...]
    """Cautions shown on every skill page and sheet."""
    approval: Approval | None = None
    """Absent until a medical director has approved the content: pages then say `starter content`."""
    levels: tuple[Named, ...]
    rungs: tuple[Named, ...]
    """The rungs of every ladder, lowest first."""
    strands: tuple[Named, ...]
    populations: tuple[Named, ...]
    review_every_months: Count = 12
    evidence_limit_years: Count = 10
    """A source older than this needs a `reviewed` day of its own within the limit of the program's review."""
    spares_service_level: Number = Number("0.95")
    """Chance that the spares held last until the next order."""
    ladder_weights: LadderWeights = LadderWeights()
    labels: dict[Text, Text] = Field(default_factory=dict)
    """Fixed words of pages and sheets in the program's own words, such as `Patients: Casualties`."""
