"""Every word that the program itself writes can be written in another language: a made-up one proves it.

All author text is put into Cyrillic letters and every label into double brackets. What is then left in Latin letters
outside the brackets is a word that no catalogue can reach.
"""

from __future__ import annotations

import functools
import re
import typing
from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from generator.model import Curriculum
from generator.model.base import Record, Text, leaves
from generator.reading import read_curriculum
from generator.rendering.lab_plans import days_of
from generator.rendering.pages import pages_of
from generator.rendering.pages.labels import label_ids
from generator.rendering.reports.labels import report_label_ids
from generator.rendering.scripts import NAMES, script_in_own_words, script_label_ids
from generator.rendering.sheets import sheets_of
from generator.rendering.sheets.own_words import sheet_label_ids

ROOT = Path(__file__).parent.parent
BASE = Path(__file__).parent / "cases" / "base" / "curriculum"
DAY = date(2026, 11, 25)

LEFT_IN_ENGLISH = (
    # Sentences of the analysis: why a ladder, what closes a gap, what a trainer's wear means, what carries over. They
    # are reasons put together from a dozen parts each, and a translator would need the parts' grammar.
    r"page skills (?:Start on|End on|The|the|Keeps every rule: no technique is rewarded.*|earned|given|measured"
    r"|You could prove every technique.*|it answers only to correct|it takes the whole skill|more rung"
    r"|more minutes of setting up.*|more wear for one.*|will do alone.*)",
    r"page trainers (?:Every technique that a critical step.*|It is rated for|No ladder keeps the rules.*|The|and|for"
    r"|more|Nothing else proves|Others can stand in for these.*|The written ladders of|an attempt; the labs plan|costs"
    r"|earned|given|measured|skill is left without a ladder|stand on it|technique is left to a person s eye)",
    r"page trainers/index\.md Every technique that a critical step rests on has an honest trainer in this lab",
    r"page course\.md (?:No group meets a technique on a lying trainer.*|again|silent)",
    # What a search for a timetable proved, for the same reason.
    r"(?:page labs|sheet timetable verdict) (?:The day takes|blocks\. No timetable has fewer|No group waits"
    r"|No instructor changes station)",
    # Names of published formulas and what they are for, which stand with their sources.
    r"(?:page scenarios|sheet facilitator \w+) (?:Predicted body weight|Tidal volume|adults of|cm or taller only.*"
    r"|mL, usually|evidence from intensive care.*|unknown: \w+)",
    # References, in the style of the National Library of Medicine, whose words are English.
    r"page \S+ (?:Available from|Internet|Mar|nd ed|doi|DOI)",
    # Names of paper and of a file format; days and months where the program writes English.
    r"page \S+ (?:US Letter(?:, PDF)?|PDF|Monday|September)",
    r"sheet timetable day (?:Monday|September)",
    # Ids: what layouts and scripts compare, which nobody reads.
    r"sheet \w+ (?:level|cause|worth) \w+",
    r"page labs (?:first-day|units owned)",
    r"page \w+ [0-9a-f]{3,8}",  # digits of a revision
    r"page scenarios critical",
)


@functools.cache
def plan(record: type[Record]) -> tuple[tuple[str, bool], ...]:
    hints = typing.get_type_hints(record, include_extras=True)
    return tuple((name, Text in set(leaves(hints[name]))) for name in record.model_fields)


CYRILLIC = str.maketrans(
    "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ", "абцдефгхийклмнопярстувщхызАБЦДЕФГХИЙКЛМНОПЯРСТУВЩХЫЗ"
)


def foreign(value: Any, *, is_text: bool = False) -> Any:
    """A value with all author text in another alphabet; ids and mentions of numbers are left."""
    if isinstance(value, Record):
        fields = {name: foreign(getattr(value, name), is_text=text) for name, text in plan(type(value))}
        return value.model_copy(update=fields)
    if isinstance(value, tuple):
        return tuple(foreign(item, is_text=is_text) for item in value)
    if isinstance(value, Mapping):
        return {key: foreign(item, is_text=is_text) for key, item in value.items()}
    if is_text and isinstance(value, str):
        parts = re.split(r"(\{[a-z0-9-]+\})", value)
        return "".join(part if part.startswith("{") else part.translate(CYRILLIC) for part in parts)
    return value


@pytest.fixture(scope="module")
def made_up() -> Curriculum:
    curriculum, _ = read_curriculum(BASE)
    assert curriculum is not None
    ids = {*label_ids(), *sheet_label_ids(), *report_label_ids()}
    groups = ("techniques", "equipment", "quantities", "sources", "trainers", "skills", "stations", "labs", "readings")
    return replace(
        curriculum,
        program=foreign(curriculum.program),
        terms=foreign(curriculum.terms),
        local=foreign(curriculum.local),
        labels={id: f"⟦{id}⟧" for id in ids},
        **{name: foreign(getattr(curriculum, name)) for name in (*groups, "scenarios", "standards")},
    )


def latin(text: str) -> Iterator[str]:
    """Words in Latin letters outside the brackets of labels, which may stand in one another."""
    while (bare := re.sub(r"⟦[^⟦⟧]*⟧", "", text)) != text:
        text = bare
    for found in re.finditer(r"[A-Za-z][A-Za-z '’,.;:()%-]*", text):
        words = found[0].strip(" ,.;:()-")
        if len(words) > 2:
            yield words


def of_sheet(value: Any, key: str = "") -> Iterator[tuple[str, str]]:
    """Texts that a sheet prints, with the field that holds each."""
    if isinstance(value, Mapping):
        for name, item in value.items():
            yield from of_sheet(item, name)
    elif isinstance(value, (list, tuple)):
        for item in value:
            yield from of_sheet(item, key)
    elif isinstance(value, str) and key not in {"id", "url", "page", "kind", "lang", "region", "revision", "shape"}:
        yield key, value


def of_page(markdown: str) -> Iterator[str]:
    """Texts that a page shows or speaks."""
    body = markdown.split("---", 2)[2]
    yield from re.findall(r'(?:aria-label|alt|placeholder)="([^"]*)"', body)
    bare = re.sub(r"<(script|style)[^>]*>.*?</\1>|\{ #[^}]*\}", "", body, flags=re.DOTALL)
    yield from re.sub(r"&#?\w+;", " ", re.sub(r"<[^>]*>", "\n", bare)).split("\n")


@pytest.fixture(scope="module")
def left(made_up: Curriculum, tmp_path_factory: pytest.TempPathFactory) -> set[str]:
    """Whatever stays in English, with where it stands."""
    days = days_of(made_up, store=tmp_path_factory.mktemp("store"))
    sheets = sheets_of(made_up, days=days)
    found = {
        f"sheet {sheet.kind} {key} {words}"
        for sheet in sheets
        for key, text in of_sheet(sheet.data)
        for words in latin(text)
    }
    for path, markdown in pages_of(made_up, sheets=sheets, problems=(), today=DAY, days=days).items():
        place = path.split("/")[0] if "/" in path and not path.endswith("index.md") else path
        found |= {f"page {place} {words}" for text in of_page(markdown) for words in latin(text)}
    return found


def test_no_english_is_left_but_what_is_listed_with_a_reason(left: set[str]) -> None:
    assert sorted(one for one in left if not any(re.fullmatch(known, one) for known in LEFT_IN_ENGLISH)) == []


def test_the_list_of_what_is_left_holds_nothing_that_is_not(left: set[str]) -> None:
    assert [known for known in LEFT_IN_ENGLISH if not any(re.fullmatch(known, one) for one in left)] == []


def test_a_skill_page_and_a_checklist_are_nearly_all_in_the_other_language(left: set[str]) -> None:
    assert not [one for one in left if one.startswith(("sheet checklist", "sheet practice")) and " level " not in one]


def test_scripts_in_the_programs_own_words_keep_their_parts() -> None:
    """Each label is exchanged, each part in braces stays a part, and without other words nothing changes."""
    ids = script_label_ids()
    assert len(ids) > 80
    for name in NAMES:
        folder = "offline" if name in ("offline.js", "worker.js") else "assets"
        source = (ROOT / "generator" / "rendering" / folder / name).read_text(encoding="utf-8")
        assert script_in_own_words(source, str) == source
        marked = script_in_own_words(source, lambda words: f"[[{words}]]")
        assert marked.count("[[") > 3, name
        assert marked.count("${") == source.count("${"), name
        assert (
            re.sub(r"\[\[|\]\]", "", marked) == source.encode("ascii", "backslashreplace").decode() or marked != source
        )


@pytest.mark.parametrize("word", ["Clear all ticks", "Start the clock", "Show it", "Not kept on this device"])
def test_what_a_reader_sees_of_scripts_is_in_the_catalogue(word: str) -> None:
    assert word in script_label_ids()


def test_no_class_address_or_key_is_taken_for_a_label() -> None:
    assert [one for one in script_label_ids() if re.search(r"rb-|\.js|https?:|[#\[\]<>]|^[A-Z][a-z]+[A-Z]", one)] == []
