"""A published list of outcomes, in our own words, and the skills that meet each."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from generator.model.base import Id, Record, Text


class Outcome(Record):
    """One statement of the list, paraphrased."""

    id: Id
    number: Text
    """The number by which the page names it; `numbered_by` of the list says whose number it is."""
    says: Text
    """What a person must be able to do, in our own words."""
    levels: tuple[Id, ...] = ()
    """The levels that the list asks it of; empty when the list names none."""
    skills: tuple[Id, ...] = ()
    """Skills of this handbook that meet it."""
    not_here: Text | None = None
    """Why this handbook leaves it, or one of its levels, uncovered; printed beside it."""
    provisional: Text | None = None
    """What about this outcome could not be confirmed in the source."""


class Standard(Record):
    """`standards/*.yaml`: one published list in one edition."""

    id: Id
    title: Text
    source: Id
    edition: Text
    """The edition that was paraphrased, such as `2025`."""
    numbered_by: Literal["source", "program"]
    """Whose numbers the outcomes bear: the source's own, or ours where the source has none or it was not opened."""
    about: Text | None = None
    provisional: Text | None = None
    """What about the whole list could not be confirmed."""
    outcomes: tuple[Outcome, ...] = Field(min_length=1)
