"""The timetable sheet and the packet of an invented lab day: 24 learners, 8 stations."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import pypdf
import pytest
from lab_days import EIGHT, lab, planned, shipped

from generator.analysis.rotation.roles import Attempt
from generator.model import Paper
from generator.rendering.lab_day import LabDay, attempts_say, short_roles
from generator.rendering.sheets import Sheet, Typeset, sheets_of, typesetter
from generator.rendering.sheets.lab_packet import packet_of
from generator.rendering.sheets.packet import Packet, Part, typeset_packet
from generator.rendering.sheets.typesetter import first_pages


@cache
def all_sheets() -> tuple[Sheet, ...]:
    return sheets_of(replace(shipped(), labs={"invented-day": lab()}), days={"invented-day": planned()})


def cover() -> Sheet:
    return next(sheet for sheet in all_sheets() if sheet.kind == "timetable")


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("store")


@pytest.fixture(scope="module")
def packet(store: Path) -> Typeset:
    return typeset_packet(packet_of(shipped(), planned(), all_sheets()), "us-letter", store)


def read(done: Typeset) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(done.pdf))


def flat(text: str) -> str:
    return re.sub(r"\s+", " ", re.sub("[\u00ad\u200b]", "", text)).strip()


def letters(text: str) -> str:
    """Letters and digits only: a line may break at a hyphen, which the reader of a PDF then takes for its own."""
    return "".join(character for character in text if character.isalnum())


def words_of(done: Typeset) -> list[str]:
    return list(texts_of(done.pdf))


@cache
def texts_of(pdf: bytes) -> tuple[str, ...]:
    """The text of each page; a packet of eighty pages is read once for all tests."""
    return tuple(flat(page.extract_text()) for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)


def bookmarks(pdf: pypdf.PdfReader, outline: Any = None, depth: int = 0) -> Iterator[tuple[int, str, int]]:
    """Depth, title and page, from 1."""
    for entry in pdf.outline if outline is None else outline:
        if isinstance(entry, list):
            yield from bookmarks(pdf, entry, depth + 1)
        else:
            yield depth, str(entry.title), (pdf.get_destination_page_number(entry) or 0) + 1


# The timetable


def test_the_timetable_tells_the_day_four_ways_and_what_to_bring() -> None:
    text = " ".join(words_of(typesetter.set_sheet(cover(), "us-letter")))
    at = 0
    for said in (
        "Wednesday 13 January 2027",
        "24 learners in 8 groups, 8 stations, blocks of 25 minutes, 5 minutes to change over.",
        "From 08:30 to 13:20 (America/New_York).",
        "Always:",
        "Whole day",
        "08:30–08:55",
        "Group 1 with A",
        "Coffee",
        "Lunch",
        "How good this timetable is 8 blocks.",
        "By group Group 1 3 learners 08:30 1 See the tongue move with A 09:00 2",
        "By instructor Instructor A 08:30 1 See the tongue move Group 1",
        "By trainer Cutaway airway head",
        "Set up, and clean",
        "Ready by 08:30.",
        "Print: 24 checklists: Opening the airway by hand.",
        "Bring: 24 × Pair of gloves",
        "Bring for the whole day",
        "384 × Disinfectant wipe",
        "End of timetable: An invented day.",
    ):
        found = text.find(said, at)
        assert found >= 0, said
        at = found


def test_every_turn_is_in_the_whole_day_and_on_its_three_cards() -> None:
    data, day = cover().data, planned()
    (table,) = data["tables"]
    cells = sum(len(cell) for row in table["rows"] for cell in row["cells"])
    assert cells == len(day.turns) == 64
    for cards in ("groups", "instructors", "trainers"):
        assert sum(len(line["at"]) for card in data[cards] for line in card["turns"]) == 64
    assert len(data["groups"]) == len(data["instructors"]) == 8


@pytest.mark.parametrize(("count", "tables"), [(1, [1]), (8, [8]), (9, [5, 4]), (17, [6, 6, 5])])
def test_more_stations_than_fit_side_by_side_make_even_tables(count: int, tables: list[int]) -> None:
    from generator.rendering.sheets.timetables import timetable_of

    ids = list(shipped().stations)[:count]
    made = planned(lab(stations=[{"station": id} for id in ids], instructors=[], learners=str(count * 3)))
    assert [len(table["stations"]) for table in timetable_of(shipped(), made)["tables"]] == tables


def test_a_day_without_a_timetable_prints_why_and_still_what_to_set_up() -> None:
    clash = ("Group 2 is fixed at a station in block 1, and the station has one unit.",)
    day = LabDay(lab=lab(), group_sizes=(3,) * 8, slots=(), turns=(), clash=clash)
    made = sheets_of(replace(shipped(), labs={"invented-day": lab()}), days={"invented-day": day})
    sheet = next(sheet for sheet in made if sheet.kind == "timetable")
    text = " ".join(words_of(typesetter.set_sheet(sheet, "a4")))
    assert "There is no timetable for this day" in text
    assert clash[0] in text
    assert "Set up, and clean" in text
    assert "Whole day" not in text


def test_a_lab_that_was_not_planned_has_no_timetable_sheet() -> None:
    made = sheets_of(replace(shipped(), labs={"invented-day": lab()}))
    assert [sheet for sheet in made if sheet.kind == "timetable"] == []


def test_attempts_name_their_performers_helpers_and_rounds() -> None:
    def attempt(round: int, *performers: int, partners: tuple[int, ...] = ()) -> Attempt:
        seats = tuple((f"seat-{n}", learner) for n, learner in enumerate(performers))
        return Attempt(number=1, round=round, performers=seats, partners=partners, evaluators=())

    pairs = (attempt(1, 1, partners=(2,)), attempt(1, 3, partners=(4,)), attempt(2, 2, partners=(1, 3)))
    assert flat(attempts_say(pairs)) == "1 (2) & 3 (4), 2 (1, 3)"
    assert attempts_say((attempt(1, 1, 2), attempt(2, 2, 0))) == "1+2, 2+I"
    assert attempts_say(()) == ""


def test_role_codes_are_short_where_all_share_a_word() -> None:
    assert short_roles(("instructor-a", "instructor-b")) == {"instructor-a": "A", "instructor-b": "B"}
    assert short_roles(("instructor-a", "lead")) == {"instructor-a": "Instructor A", "lead": "Lead"}
    assert short_roles(()) == {}


# The packet


def test_the_packet_runs_in_the_order_of_the_day(packet: Typeset) -> None:
    marks = list(bookmarks(read(packet)))
    titles = [(depth, title) for depth, title, _ in marks]
    base = shipped()
    expected: list[tuple[int, str]] = []
    for number, id in enumerate(EIGHT, 1):
        station = base.stations[id]
        skill = base.skills[station.skill]
        expected.append((0, f"Station {number}: {station.title}"))
        expected += [(1, f"Evaluator checklist: {skill.title}"), (1, f"Practice card: {skill.title}")]
    assert titles[0] == (0, "Timetable: An invented day")
    assert [title for title in titles if title[1].partition(":")[0] not in ("Timetable",)][-24:] == expected
    assert {title for depth, title in titles if depth == 1} >= {"Whole day", "By group", "By instructor", "By trainer"}
    pages = [page for _, _, page in marks]
    assert pages == sorted(pages)


def test_bookmarks_land_on_the_sheets_they_name(packet: Typeset) -> None:
    texts = words_of(packet)
    seen = 0
    for _, title, page in bookmarks(read(packet)):
        kind, _, name = title.partition(": ")
        if kind.startswith("Station"):
            assert letters(f"Station guide · {name}")[:30] in letters(texts[page - 1])
            assert kind in texts[page - 1]
            seen += 1
        elif kind in ("Evaluator checklist", "Practice card"):
            assert letters(f"{kind} · {name}")[:30] in letters(texts[page - 1])
            seen += 1
    assert seen == 24


def test_every_page_says_where_it_is_in_the_packet_and_in_its_sheet(packet: Typeset) -> None:
    texts = words_of(packet)
    total = len(texts)
    assert packet.geometry["pages"] == total
    empty = "Empty, so that the next sheet starts on a front page."
    ends = [*packet.geometry["firsts"][1:], total + 1]
    for first, after in zip(packet.geometry["firsts"], ends, strict=True):
        assert first % 2 == 1
        own = [page for page in range(first, after) if texts[page - 1] != empty]
        for number, page in enumerate(own, 1):
            assert f"Packet page {page} of {total} · Page {number} of {len(own)}" in texts[page - 1]


def test_a_sheet_in_the_packet_is_the_sheet_alone(packet: Typeset) -> None:
    """The same text but for the packet's page number, so a checklist from a packet scans as any other."""
    sheet = next(s for s in all_sheets() if (s.kind, s.id) == ("checklist", "oral-adjunct"))
    alone = words_of(typesetter.set_sheet(sheet, "us-letter"))
    parts = packet_of(shipped(), planned(), all_sheets()).parts
    first = packet.geometry["firsts"][[part.sheet for part in parts].index(sheet)]
    within = [
        re.sub(r"Packet page \d+ of \d+ · ", "", text) for text in words_of(packet)[first - 1 : first - 1 + len(alone)]
    ]
    assert within == alone


def test_one_sided_leaves_no_page_empty(store: Path) -> None:
    done = typeset_packet(packet_of(shipped(), planned(), all_sheets(), fronts=False), "a4", store)
    assert "Empty, so that" not in " ".join(words_of(done))


def test_copies_repeat_each_checklist_as_often_as_the_day_needs(store: Path) -> None:
    one = lab(stations=[{"station": EIGHT[0]}], instructors=[], learners="3")
    parts = packet_of(shipped(), planned(one), all_sheets(), copies=True).parts
    assert [part.sheet.kind for part in parts] == ["timetable", "station", *["checklist"] * 3, "practice"]
    done = typeset_packet(Packet(title="Copies", parts=parts), "us-letter", store)
    starts = [text for text in words_of(done) if "Evaluator checklist" in text and "Page 1 of" in text]
    assert len(starts) == 3


@pytest.mark.parametrize(
    ("pages", "fronts", "expected"),
    [
        ([2, 1, 3], True, ((1, 3, 5), 7)),
        ([2, 1, 3], False, ((1, 3, 4), 6)),
        ([1], True, ((1,), 1)),
        ([3, 3], True, ((1, 5), 7)),
    ],
)
def test_first_pages(pages: list[int], fronts: bool, expected: tuple[tuple[int, ...], int]) -> None:
    assert first_pages(pages, fronts=fronts) == expected


def test_the_packet_is_tagged_and_has_title_language_and_embedded_fonts(packet: Typeset) -> None:
    pdf = read(packet)
    root = pdf.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert str(root["/Lang"]).startswith("en")
    assert "/StructTreeRoot" in root
    assert b"pdfuaid:part" in packet.pdf
    assert pdf.metadata is not None
    assert pdf.metadata.title == "An invented day: packet"
    fonts = {
        id(f): f for page in pdf.pages for f in (x.get_object() for x in page["/Resources"].get("/Font", {}).values())
    }
    assert fonts
    for font in fonts.values():
        for inner in font.get("/DescendantFonts", [font]):
            descriptor = inner.get_object()["/FontDescriptor"].get_object()
            assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(descriptor)


def test_headings_never_skip_a_level(packet: Typeset) -> None:
    """PDF/UA-1 (ISO 14289-1, 7.4.2): no level of heading is skipped on the way down."""
    levels: list[int] = []

    def walk(node: Any) -> None:
        node = node.get_object()
        if isinstance(node, dict):
            kind = str(node.get("/S", ""))
            if re.fullmatch(r"/H\d", kind):
                levels.append(int(kind[2:]))
            walk_children(node.get("/K", []))

    def walk_children(children: Any) -> None:
        children = children.get_object() if hasattr(children, "get_object") else children
        if isinstance(children, list):
            for child in children:
                if not isinstance(child, int):
                    walk(child)
        elif not isinstance(children, int):
            walk(children)

    walk(read(packet).trailer["/Root"]["/StructTreeRoot"])
    assert len(levels) > 50
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


@pytest.mark.parametrize("paper", ["us-letter", "a4"])
def test_a_second_run_gives_the_same_bytes(tmp_path: Path, store: Path, paper: Paper) -> None:
    small = packet_of(shipped(), planned(lab(stations=[{"station": EIGHT[0]}], learners="3")), all_sheets())
    first = typeset_packet(small, paper, store).pdf
    assert typeset_packet(small, paper, tmp_path).pdf == first
    assert typeset_packet(small, paper, store).pdf == first


def test_a_packet_of_nothing_is_refused(store: Path) -> None:
    with pytest.raises(ValueError, match="at least one sheet"):
        typeset_packet(Packet(title="Nothing", parts=()), "a4", store)


def test_text_that_no_font_can_show_does_not_stop_a_packet(store: Path) -> None:
    sheet = next(s for s in all_sheets() if s.kind == "station")
    strange = replace(sheet, data={**sheet.data, "brief": "Say \U0001f600 aloud."})
    done = typeset_packet(Packet(title="Strange", parts=(Part(sheet=strange, bookmark="Strange"),)), "a4", store)
    assert "Say [U+1F600] aloud." in words_of(done)[0]
