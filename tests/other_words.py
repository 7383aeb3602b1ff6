"""A curriculum in a made-up language, to find the words that no catalogue of labels can reach.

All author text is put into Cyrillic letters and every label into double brackets. What is then left in Latin letters
outside the brackets is a word that the program writes by itself.
"""

from __future__ import annotations

import functools
import re
import typing
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from generator.analysis.wording import UNITS
from generator.model import Curriculum, Quantity
from generator.model.base import Record, Text, leaves
from generator.rendering.pages.labels import label_ids
from generator.rendering.reports.labels import report_label_ids
from generator.rendering.sheets.own_words import sheet_label_ids

CYRILLIC = str.maketrans(
    "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ", "абцдефгхийклмнопярстувщхызАБЦДЕФГХИЙКЛМНОПЯРСТУВЩХЫЗ"
)
GROUPS = (
    "techniques", "equipment", "quantities", "sources", "trainers", "skills", "stations", "labs", "readings",
    "scenarios", "standards",
)  # fmt: skip
"""Records of a curriculum by id."""


@functools.cache
def plan(record: type[Record]) -> tuple[tuple[str, bool], ...]:
    """The fields of a kind of record, and whether each holds author text."""
    hints = typing.get_type_hints(record, include_extras=True)
    return tuple((name, Text in set(leaves(hints[name]))) for name in record.model_fields)


def foreign(value: Any, *, is_text: bool = False) -> Any:
    """A value with all author text in another alphabet; ids and mentions of numbers are left."""
    if isinstance(value, Record):
        fields = {name: foreign(getattr(value, name), is_text=text) for name, text in plan(type(value))}
        if isinstance(value, Quantity) and value.unit in UNITS:
            fields["unit"] = value.unit  # a word that beats are known by, so the catalogue holds it
        return value.model_copy(update=fields)
    if isinstance(value, tuple):
        return tuple(foreign(item, is_text=is_text) for item in value)
    if isinstance(value, Mapping):
        return {key: foreign(item, is_text=is_text) for key, item in value.items()}
    return in_cyrillic(value) if is_text and isinstance(value, str) else value


def in_cyrillic(text: str) -> str:
    """A text in another alphabet, but for its parts in braces."""
    parts = re.split(r"(\{[^{}]+\})", text)
    return "".join(part if part.startswith("{") else part.translate(CYRILLIC) for part in parts)


def bracketed() -> dict[str, str]:
    """Every label of pages, sheets and reports, in double brackets."""
    return {id: f"⟦{id}⟧" for id in {*label_ids(), *sheet_label_ids(), *report_label_ids()}}


def in_other_words(curriculum: Curriculum) -> Curriculum:
    """A curriculum with all author text in another alphabet and every label in double brackets."""
    return replace(
        curriculum,
        program=foreign(curriculum.program),
        terms=foreign(curriculum.terms),
        local=foreign(curriculum.local),
        labels=bracketed(),
        **{name: foreign(getattr(curriculum, name)) for name in GROUPS},
    )


def latin(text: str) -> Iterator[str]:
    """Words in Latin letters outside the brackets of labels, which may stand in one another."""
    while (bare := re.sub(r"⟦[^⟦⟧]*⟧", "", text)) != text:
        text = bare
    for found in re.finditer(r"[A-Za-z][A-Za-z '’,.;:()%-]*", text):
        words = found[0].strip(" ,.;:()-")
        if len(words) > 2:
            yield words


SILENT = frozenset({"id", "url", "page", "kind", "lang", "region", "revision", "shape"})


def printed(value: Any, key: str = "", silent: frozenset[str] = SILENT) -> Iterator[tuple[str, str]]:
    """Texts that a sheet or another document prints, with the field that holds each; not those of `silent` fields."""
    if isinstance(value, Mapping):
        for name, item in value.items():
            yield from printed(item, name, silent)
    elif isinstance(value, (list, tuple)):
        for item in value:
            yield from printed(item, key, silent)
    elif isinstance(value, str) and key not in silent:
        yield key, value
