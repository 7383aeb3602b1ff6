"""Every word that the program itself writes can be written in another language: a made-up one proves it.

All author text is put into Cyrillic letters and every label into double brackets. What is then left in Latin letters
outside the brackets is a word that no catalogue can reach.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from icalendar import Calendar
from other_words import in_other_words, latin, printed

from generator.reading import read_curriculum
from generator.rendering.lab_plans import days_of
from generator.rendering.pages import pages_of
from generator.rendering.scripts import NAMES, script_in_own_words, script_label_ids
from generator.rendering.sheets import sheets_of
from generator.rendering.tables import tables_of

ROOT = Path(__file__).parent.parent
BASE = Path(__file__).parent / "cases" / "base" / "curriculum"
DAY = date(2026, 11, 25)

DAYS_AND_MONTHS = (
    "(?:Mon|Tues|Wednes|Thurs|Fri|Satur|Sun)day|January|February|March|April|May|June|July|August|September|October"
    "|November|December"
)

LEFT_IN_ENGLISH = (
    # References, in the style of the National Library of Medicine, whose words are English.
    r"page (?:evidence\.md|skills) (?:Available from|Internet(?: ?\. +(?:Available from|cited))?|et al|nd ed|doi|DOI"
    r"|(?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)(?:\. (?:Available from|Report))?)",
    # Names of registers of publications, of paper and of a file format.
    r"page (?:evidence\.md|skills) (?:DOI )?PubMed(?: PMID)?",
    r"page \S+ (?:US Letter(?:, PDF)?|PDF)",
    # Days and months where the program writes English.
    rf"(?:page labs(?:/index\.md)?|sheet timetable day) (?:{DAYS_AND_MONTHS})",
    # Ids: what layouts and scripts compare, which nobody reads.
    r"sheet \w+ (?:level|cause|worth) \w+",
    r"page \w+ [0-9a-f]{3,8}",  # digits of a revision
)
CURRICULA = (BASE, ROOT / "curriculum")


def of_page(markdown: str) -> Iterator[str]:
    """Texts that a page shows or speaks."""
    body = markdown.split("---", 2)[2]
    yield from re.findall(r'(?:aria-label|alt|placeholder)="([^"]*)"', body)
    bare = re.sub(r"<(script|style)[^>]*>.*?</\1>|\{ #[^}]*\}", "", body, flags=re.DOTALL)
    # A link or a field inside a sentence does not end it.
    whole = re.sub(r"</?(?:a|code)\b[^>]*>", "", bare.replace("</a><a", "</a>\n<a"))
    yield from re.sub(r"&#?\w+;", " ", re.sub(r"<[^>]*>", "\n", whole)).split("\n")


@pytest.fixture(scope="module")
def left(tmp_path_factory: pytest.TempPathFactory) -> set[str]:
    """Whatever stays in English, with where it stands."""
    return {one for folder in CURRICULA for one in left_of(folder, tmp_path_factory.mktemp("store"))}


def left_of(folder: Path, store: Path) -> Iterator[str]:
    curriculum, _ = read_curriculum(folder)
    assert curriculum is not None
    made_up = in_other_words(curriculum)
    days = days_of(made_up, store=store)
    sheets = sheets_of(made_up, days=days)
    # The command that plans a lab day names it by its id.
    ids = {id.rstrip("-0123456789") for id in made_up.labs}
    for sheet in sheets:
        for key, text in printed(sheet.data):
            yield from (f"sheet {sheet.kind} {key} {words}" for words in latin(text))
    for path, markdown in pages_of(made_up, sheets=sheets, problems=(), today=DAY, days=days).items():
        place = path.split("/")[0] if "/" in path and not path.endswith("index.md") else path
        for text in of_page(markdown):
            yield from (f"page {place} {words}" for words in latin(text) if words not in ids)


def test_no_english_is_left_but_what_is_listed_with_a_reason(left: set[str]) -> None:
    assert sorted(one for one in left if not any(re.fullmatch(known, one) for known in LEFT_IN_ENGLISH)) == []


def test_the_list_of_what_is_left_holds_nothing_that_is_not(left: set[str]) -> None:
    assert [known for known in LEFT_IN_ENGLISH if not any(re.fullmatch(known, one) for one in left)] == []


def test_a_skill_page_and_a_checklist_are_nearly_all_in_the_other_language(left: set[str]) -> None:
    assert not [one for one in left if one.startswith(("sheet checklist", "sheet practice")) and " level " not in one]


def test_calendars_are_in_the_other_language(tmp_path: Path) -> None:
    """Columns of the tables are names of fields, which other programs read; what a calendar shows is for people."""
    curriculum, _ = read_curriculum(BASE)
    assert curriculum is not None
    made_up = in_other_words(curriculum)
    files = tables_of(made_up, days=days_of(made_up, store=tmp_path))
    calendars = [Calendar.from_ical(data) for name, data in files.items() if name.endswith(".ics")]
    shown = [
        str(event[name])
        for calendar in calendars
        for event in calendar.walk("VEVENT")
        for name in ("SUMMARY", "LOCATION", "DESCRIPTION")
        if name in event
    ]
    assert len(shown) > 10
    assert [words for text in shown for words in latin(text)] == []


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
