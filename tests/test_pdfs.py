"""Every kind of PDF: tagged, titled, in its language, with its fonts and bookmarks, and read in the order it was meant.

ISO 14289-1 (PDF/UA-1): 7.1 (tagged, title shown), 7.2 (language), 7.4.2 (headings), 7.21.4.1 (fonts embedded). What a
screen reader is given is the text of the structure tree. poppler's `pdfinfo -struct-text` prints it; where it is not
installed the order in which the text was drawn is taken. qpdf looks at the file's syntax, where it is installed.
"""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import pypdf
import pypdfium2
import pytest
from attack_strings import enriched, filled, with_texts
from invented_standings import codes, invented_readiness
from tiny_handbook import BASE

from generator.model import Curriculum, Paper
from generator.reading import read_curriculum
from generator.rendering.lab_plans import days_of
from generator.rendering.reports import board, day_list, letter, standard_sheet, typesetter
from generator.rendering.sheets import Sheet, sheets_of
from generator.rendering.sheets.lab_packet import packet_of
from generator.rendering.sheets.packet import typeset_packet
from generator.rendering.sheets.sheet import KINDS, Address
from generator.rendering.sheets.typesetter import set_sheet

PAPERS: tuple[Paper, ...] = ("a4", "us-letter")
POINTS = {"a4": (595, 842), "us-letter": (612, 792)}
OTHERS = ("packet", "roster print", "letter", "day", "board", "standard")
each_pdf = pytest.mark.parametrize(("kind", "paper"), [(kind, paper) for kind in (*KINDS, *OTHERS) for paper in PAPERS])


@cache
def tiny() -> Curriculum:
    curriculum, _ = read_curriculum(BASE)
    assert curriculum is not None
    return curriculum


@cache
def days() -> Any:
    return days_of(tiny(), store=None, seconds=2)


@cache
def sheets() -> dict[str, Sheet]:
    """One sheet of each kind."""
    return {sheet.kind: sheet for sheet in reversed(sheets_of(tiny(), days=days()))}


@cache
def pdf_of(kind: str, paper: Paper) -> bytes:  # noqa: PLR0911
    if kind in KINDS:
        return set_sheet(sheets()[kind], paper).pdf
    if kind == "packet":
        packet = packet_of(tiny(), next(iter(days().values())), sheets_of(tiny(), days=days()))
        return typeset_packet(packet, paper, Path("/nonexistent/store")).pdf
    if kind == "roster print":
        whom = Address(
            learner="L01", role="peer", on=date(2026, 3, 1), rung=sheets()["checklist"].data["rungs"][0]["id"]
        )
        return set_sheet(replace(sheets()["checklist"], address=whom), paper).pdf
    readiness = invented_readiness(tiny(), codes(6))
    if kind == "letter":
        return letter(readiness, readiness.learners[0], tiny(), paper=paper)
    if kind == "day":
        return day_list(readiness, tiny(), lab=readiness.labs[0].lab, paper=paper)
    if kind == "board":
        return board(readiness, tiny(), paper=paper)
    return standard_sheet(tiny(), next(iter(tiny().skills)), paper=paper)


def letters(text: str) -> str:
    """Letters and digits only: a line may break anywhere, and a hyphen may be one of the typesetter's."""
    return "".join(character for character in text if character.isalnum())


@cache
def drawn(kind: str, paper: Paper) -> str:
    return drawn_of(pdf_of(kind, paper))


def drawn_of(pdf: bytes) -> str:
    return letters("".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(pdf)))


@cache
def told(kind: str, paper: Paper) -> str:
    """The text of the structure tree, in its order."""
    return told_of(pdf_of(kind, paper))


def told_of(pdf: bytes) -> str:
    poppler = shutil.which("pdfinfo")
    if poppler is None:
        return drawn_of(pdf)
    command = [poppler, "-enc", "UTF-8", "-struct-text", "-"]
    done = subprocess.run(command, input=pdf, capture_output=True, check=True)
    return letters("".join(re.findall(r'^\s*"(.*)"$', done.stdout.decode(), re.MULTILINE)))


@each_pdf
def test_every_pdf_is_tagged_titled_in_its_language_with_its_fonts(kind: str, paper: Paper) -> None:
    pdf = pdf_of(kind, paper)
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    root: Any = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert str(root["/Lang"]).split("-")[0] == tiny().program.language
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert reader.metadata is not None and reader.metadata.title
    assert len(reader.metadata.title) > 8
    assert "pdfuaid:part>1<" in root["/Metadata"].get_data().decode().replace(" ", "")
    sizes = {tuple(sorted(round(float(one)) for one in page.mediabox[2:])) for page in reader.pages}
    assert sizes == {POINTS[paper]}
    fonts = list(fonts_in(reader))
    assert fonts
    for font in fonts:
        assert {"/FontFile2", "/FontFile3"} & set(font["/FontDescriptor"].get_object()), font["/BaseFont"]


def fonts_in(reader: pypdf.PdfReader) -> Iterator[Any]:
    for page in reader.pages:
        resources: Any = page["/Resources"]
        for font in resources.get("/Font", {}).values():
            for part in font.get_object().get("/DescendantFonts", [font]):
                yield part.get_object()


@each_pdf
def test_bookmarks_are_the_headings_and_no_level_is_skipped(kind: str, paper: Paper) -> None:
    reader = pypdf.PdfReader(io.BytesIO(pdf_of(kind, paper)))
    tags = [tag for tag in structure(reader.trailer["/Root"]["/StructTreeRoot"]) if re.fullmatch(r"/H[1-6]", tag)]
    assert tags[0] == "/H1"
    levels = [int(tag[2:]) for tag in tags]
    assert all(after <= before + 1 for before, after in pairwise(levels)), levels
    marks = list(bookmarks(reader.outline))
    assert marks, "no bookmark at all"
    read = told(kind, paper)
    at = 0
    for title in marks:
        # A packet says of what kind each of its sheets is.
        found = read.find(letters(title.split(": ", 1)[-1] if kind == "packet" else title), at)
        assert found >= 0, (title, "is no heading after the one before it")
        at = found


def structure(node: Any) -> Iterator[str]:
    node = node.get_object() if hasattr(node, "get_object") else node
    if isinstance(node, list):
        for kid in node:
            yield from structure(kid)
    elif isinstance(node, dict):
        yield str(node.get("/S", ""))
        yield from structure(node.get("/K"))


def bookmarks(outline: Any) -> Iterator[str]:
    for entry in outline:
        if isinstance(entry, list):
            yield from bookmarks(entry)
        else:
            yield str(entry.title)


@each_pdf
def test_qpdf_finds_nothing_wrong(kind: str, paper: Paper, tmp_path: Path) -> None:
    tool = shutil.which("qpdf")
    if tool is None:
        pytest.skip("no qpdf")
    path = tmp_path / "made.pdf"
    path.write_bytes(pdf_of(kind, paper))
    done = subprocess.run([tool, "--check", str(path)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


@each_pdf
def test_what_is_read_is_what_is_drawn(kind: str, paper: Paper) -> None:
    """Nothing is told to a screen reader that is not on paper; what is drawn and not told is the frame of each page."""
    read, seen = told(kind, paper), drawn(kind, paper)
    assert len(read) > 100
    assert not Multiset(read) - Multiset(seen)
    assert len(read) > 0.3 * len(seen), "much of the text is told"


class Multiset(dict[str, int]):
    """How often each letter stands in a text."""

    def __init__(self, text: str) -> None:
        super().__init__({one: text.count(one) for one in set(text)})

    def __sub__(self, other: Multiset) -> dict[str, int]:
        return {one: count - other.get(one, 0) for one, count in self.items() if count > other.get(one, 0)}


# --- sheets against their data

NOT_PRINTED = re.compile(r"\.(url|id|kind|cause|level|lang|region)$")
UNREAD = {
    "practice": {"No", "Do", "then", "NoDo"},  # heads of columns
    "checklist": {"No"},
    "facilitator": {"BP", "HR", "RR", "SpO"},
    "patient": {"BP", "HR", "RR", "SpO"},
}
"""Words that stand in the layouts, not in the data."""


def texts_in(value: Any, path: str = "") -> Iterator[tuple[str, str]]:
    if isinstance(value, str):
        yield path, letters(value)
    elif isinstance(value, dict):
        for key, each in value.items():
            yield from texts_in(each, f"{path}.{key}")
    elif isinstance(value, (list, tuple)):
        for each in value:
            yield from texts_in(each, f"{path}[]")


def lists_in(value: Any, path: str = "") -> Iterator[tuple[str, list[Any]]]:
    if isinstance(value, dict):
        for key, each in value.items():
            yield from lists_in(each, f"{path}.{key}")
    elif isinstance(value, (list, tuple)):
        yield path, list(value)
        for each in value:
            yield from lists_in(each, f"{path}[]")


@pytest.mark.parametrize("kind", KINDS)
def test_a_sheet_tells_its_data_and_nothing_else(kind: str) -> None:
    """Every word of the structure tree comes from the sheet's data, so nothing is told twice over or from elsewhere."""
    rest = told(kind, "a4")
    for text in sorted({text for _, text in texts_in(sheets()[kind].data)}, key=len, reverse=True):
        if len(text) > 2:
            rest = rest.replace(text, "|")
    left = {re.sub(r"\d", "", each) for each in rest.split("|")} - {""}
    assert left <= UNREAD.get(kind, set()), left


@cache
def marked() -> tuple[tuple[Sheet, ...], dict[str, str]]:
    """Every sheet of a curriculum in which each text is a mark of its own, optional texts too; also: field by mark."""
    fields: dict[str, str] = {}

    def give(path: str) -> str:
        fields[mark := f"q{len(fields)}q"] = path
        return f"X{mark}"

    full = filled(enriched(tiny()))
    return sheets_of(with_texts(full, give), days=days_of(full, store=None, seconds=2)), fields


FRAME = {".program", ".deferral"}
"""Drawn in the frame of each page, and no part of what is read in order."""
@pytest.mark.parametrize("kind", KINDS)
def test_all_of_a_sheets_data_is_told(kind: str) -> None:
    """Each mark in the data of each sheet of a kind stands in the structure tree, as often as in the data; in order."""
    made = [sheet for sheet in marked()[0] if sheet.kind == kind]
    assert made
    told_marks, lost = 0, set()
    for sheet in made:
        pdf = set_sheet(sheet, "a4").pdf
        read, seen = told_of(pdf), drawn_of(pdf)
        wanted = [(path, mark) for path, text in texts_in(sheet.data) for mark in re.findall(r"q\d+q", text)]
        for path, mark in wanted:
            inside = seen if path in FRAME else read
            lost |= {path} if mark not in inside else set()
        body = [mark for path, mark in wanted if path not in FRAME]
        told_marks += len(body)
        assert set(re.findall(r"q\d+q", seen)) <= {mark for _, mark in wanted}, "what is not in the data is not printed"
        for path, items in lists_in(sheet.data):
            firsts = [found[0] for item in items if (found := [m for _, t in texts_in(item) for m in MARK.findall(t)])]
            if len(set(firsts)) == len(firsts):
                assert_in_order(firsts, read, (kind, path))
    assert not lost
    assert told_marks >= 8, "the marks are really in the data"


MARK = re.compile(r"q\d+q")


def assert_in_order(marks: list[str], text: str, about: Any) -> None:
    """Marks that are printed come one after the other; one that is printed again elsewhere may stand there too."""
    at = 0
    for mark in (one for one in marks if one in text):
        found = text.find(mark, at)
        assert found >= 0, (about, mark)
        at = found


@pytest.mark.parametrize("kind", KINDS)
def test_a_sheet_is_told_in_the_order_of_its_data(kind: str) -> None:
    """The parts of each list that are printed, such as steps, cautions and states, come one after the other."""
    data, read = sheets()[kind].data, told(kind, "a4")
    assert read.startswith((letters(data["title"]), *(f"Station{n}{letters(data['title'])}" for n in range(1, 9))))
    compared = 0
    for path, items in lists_in(data):
        if kind == "worth" and path.endswith(".key"):
            continue  # the key names words that stand in the table before it
        leads = [
            next((t for at, t in texts_in(item) if not NOT_PRINTED.search(at) and len(t) > 3 and t in read), None)
            for item in items
        ]
        wanted = [lead for lead in leads if lead]
        at = 0
        for lead in wanted:
            found = read.find(lead, at)
            assert found >= 0, (path, lead, wanted)
            at = found + len(lead)
        compared += len(wanted)
    assert compared >= 3, "nothing was compared"
    steps = [text for at, text in texts_in(data) if re.search(r"\.steps\[\]\.(do|text|title)$", at)]
    assert bool(steps) == (kind in ("checklist", "practice", "poster", "facilitator", "observer"))
    if kind != "patient":  # who plays the patient is not told what the team should do
        assert [text for text in steps if text not in read] == []


FRAME_OF_PAPERS = re.compile(r"\.(kind|paper|lang|running|program|deferral|private|status|id)$|^\.words\.")


@pytest.mark.parametrize("kind", ["letter", "day", "board", "standard"])
def test_all_of_a_private_papers_data_is_told_in_order(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    given: list[dict[str, Any]] = []
    real = typesetter._made

    def noted(document: dict[str, Any], how: dict[str, Any]) -> tuple[bytes, ...]:
        given.append(document)
        return real(document, how)

    monkeypatch.setattr(typesetter, "_made", noted)
    pdf_of.cache_clear()
    read, seen = told_of(pdf_of(kind, "a4")), drawn_of(pdf_of(kind, "a4"))
    (document,) = given
    texts = [(path, text) for path, text in texts_in(document) if text and not FRAME_OF_PAPERS.search(path)]
    assert len(texts) >= 5
    assert [(path, text) for path, text in texts if text not in read] == []
    for name in ("program", "deferral", "private"):
        assert letters(document[name]) in seen
    for _, items in lists_in(document):
        at = 0
        for lead in [text for item in items for _, text in list(texts_in(item))[:1] if len(text) > 3 and text in read]:
            found = read.find(lead, at)
            assert found >= 0, lead
            at = found


def test_a_packet_tells_each_of_its_sheets_whole_and_in_running_order() -> None:
    packet = packet_of(tiny(), next(iter(days().values())), sheets_of(tiny(), days=days()))
    read = told("packet", "a4")
    at = 0
    assert len(packet.parts) >= 5
    for part in packet.parts:
        alone = told_of(set_sheet(part.sheet, "a4").pdf)
        body = alone[len(letters(part.sheet.title)) :]
        found = read.find(body, at)
        assert found >= 0, (part.sheet.kind, part.sheet.id, body[:60])
        at = found + len(body)


@each_pdf
def test_the_frame_of_every_page_holds_the_deference_and_the_page(kind: str, paper: Paper) -> None:
    if kind not in KINDS:
        pytest.skip("its own frame, tested with its kind")
    for page in pypdfium2.PdfDocument(pdf_of(kind, paper)):
        text = letters(page.get_textpage().get_text_range())
        assert letters(sheets()[kind].data["deferral"]) in text
        assert sheets()[kind].revision in text
