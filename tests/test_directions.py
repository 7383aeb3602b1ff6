"""Text in its own direction: full stops and brackets stay at the end of the text they belong to.

Direction by the first strong letter and isolates are rules P2, P3 and X5c of the Unicode Bidirectional Algorithm
(UAX #9).
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path

import pypdfium2
import pytest
from bs4 import BeautifulSoup, NavigableString
from pypdf import PdfReader
from turned import ENGLISH, SEEN, STRANGER, as_hebrew, english, labelled, translated

from generator.build import prepare
from generator.cli import main
from generator.model import Curriculum
from generator.reading import read_curriculum
from generator.rendering.directions import OPEN, SHUT, apart, direction_of, on_page, unstopped
from generator.rendering.lab_plans import lab_day
from generator.rendering.pages import pages_of
from generator.rendering.pages.frame import prose_apart
from generator.rendering.sheets import Sheet, sheets_of
from generator.rendering.sheets.lab_packet import packet_of
from generator.rendering.sheets.packet import typeset_packet
from generator.rendering.sheets.typesetter import set_sheet

TOP = Path(__file__).resolve().parents[1]


def checklist(curriculum: Curriculum) -> Sheet:
    return next(one for one in sheets_of(curriculum) if (one.kind, one.id) == ("checklist", "sling-anchor"))


def rows(pdf: bytes) -> list[str]:
    """The lines of a PDF as an eye meets them: characters by where their ink stands, from left to right.

    The reader turns some brackets round by itself, so either bracket reads as `|`: what counts is where it stands.
    """
    found: list[str] = []
    document = pypdfium2.PdfDocument(pdf)
    for page in document:
        text = page.get_textpage()
        placed: list[tuple[float, float, str]] = []
        for number in range(text.count_chars()):
            letter = text.get_text_range(number, 1)
            left, bottom, right, top = text.get_charbox(number, loose=True)
            if letter.strip() and letter not in "\u2068\u2069" and right > left:
                placed.append((round((bottom + top) / 2), left, "|" if letter in "()" else letter))
        lines: dict[int, list[tuple[float, str]]] = {}
        for middle, left, letter in placed:
            line = next((known for known in lines if abs(known - middle) <= 2), int(middle))
            lines.setdefault(line, []).append((left, letter))
        found += ["".join(letter for _, letter in sorted(line)) for line in lines.values()]
    return found


def holds(lines: list[str], words: str) -> bool:
    return any(re.sub("[()]", "|", words.replace(" ", "")) in line for line in lines)


# --- the rules


@pytest.mark.parametrize(
    ("text", "direction"),
    [
        ("Press.", "ltr"),
        ("(1) שלום", "rtl"),
        ("1. مرحبا", "rtl"),
        ("12 (3).", None),
        ("\u2068Press\u2069 שלום", "rtl"),  # P2 skips what stands in an isolate
        (f"{OPEN}שלום{SHUT} press", "ltr"),
        ("\u2069 press \u05d0", "ltr"),
    ],
)
def test_a_text_has_the_direction_of_its_first_strong_letter(text: str, direction: str | None) -> None:
    assert direction_of(text) == direction


@pytest.mark.parametrize("folder", [TOP / "curriculum", STRANGER])
def test_where_all_runs_one_way_nothing_is_touched(folder: Path) -> None:
    curriculum, _ = read_curriculum(folder)
    assert curriculum is not None
    assert apart(curriculum) is curriculum


def test_only_what_runs_the_other_way_is_set_apart_and_only_once() -> None:
    made = apart(labelled(english()))
    assert made.skills["sling-anchor"].steps[0].do == f"{OPEN}{ENGLISH}{SHUT}"
    assert made.quantities["sling-angle"].unit == "degrees"
    assert made.program.language == "he"
    assert apart(made) == made
    whole = apart(translated(labelled(english())))
    assert whole.skills["sling-anchor"].steps[0].do == as_hebrew(ENGLISH)
    mixed = apart(translated(english()))
    assert mixed.skills["sling-anchor"].steps[0].do == f"{OPEN}{as_hebrew(ENGLISH)}{SHUT}"


def test_characters_that_an_author_typed_cannot_open_or_close_anything() -> None:
    curriculum = labelled(english())
    skill = curriculum.skills["sling-anchor"].model_copy(update={"title": f"A{SHUT}\u2069\u202e{OPEN}b"})
    made = apart(replace(curriculum, skills={"sling-anchor": skill}))
    assert made.skills["sling-anchor"].title == f"{OPEN}Ab{SHUT}"


def test_a_full_stop_is_found_inside() -> None:
    assert unstopped(f"{OPEN}Press.{SHUT}") == f"{OPEN}Press{SHUT}"
    assert unstopped("Press.") == "Press"


# --- paper


def test_english_text_on_a_sheet_from_right_to_left_keeps_its_full_stop_at_its_end() -> None:
    lines = rows(set_sheet(checklist(labelled(english())), "a4").pdf)
    assert holds(lines, ENGLISH)
    assert holds(lines, SEEN)
    assert holds(lines, "Keep fingers out of the rope's path.")
    assert holds(lines, "No live load without a second rope.")


def test_without_isolates_the_full_stop_would_jump(monkeypatch: pytest.MonkeyPatch) -> None:
    """The look at the places can fail."""
    monkeypatch.setattr("generator.rendering.sheets.contents.apart", lambda curriculum: curriculum)
    monkeypatch.setattr("generator.rendering.sheets.typesetter.on_paper", lambda data, _: data)
    lines = rows(set_sheet(checklist(labelled(english())), "a4").pdf)
    assert not holds(lines, ENGLISH)
    assert holds(lines, ".Press on the gate (both ways)")


@pytest.mark.parametrize("around", ["en", "he"])
def test_text_from_right_to_left_ends_on_the_left(around: str) -> None:
    curriculum = translated(english())
    lines = rows(set_sheet(checklist(labelled(curriculum) if around == "he" else curriculum), "a4").pdf)
    assert holds(lines, as_hebrew(ENGLISH)[::-1])
    assert holds(lines, as_hebrew(SEEN)[::-1])


def test_a_label_with_a_name_in_it_keeps_the_name_together() -> None:
    sheet = checklist(labelled(english()))
    assert sheet.data["end"].startswith(as_hebrew("End of checklist"))
    assert f"{OPEN}Sling anchor{SHUT}" in sheet.data["end"]


@cache
def kinds() -> tuple[tuple[Sheet, Sheet], ...]:
    """Each sheet in English, and in English text with labels from right to left."""
    pairs = zip(sheets_of(english()), sheets_of(labelled(english())), strict=True)
    return tuple({one.kind: (one, other) for one, other in pairs}.values())


@pytest.mark.parametrize("number", range(len(kinds())), ids=[one.kind for one, _ in kinds()])
def test_every_sheet_from_right_to_left_has_the_same_boxes_and_shows_every_letter(number: int) -> None:
    """A code of ours that was taken for text would lose a sign or a box, or stop the typesetter."""
    one, other = kinds()[number]
    first, second = (set_sheet(sheet, "a4") for sheet in (one, other))
    names = [sorted(place["what"] for place in made.geometry["places"]) for made in (first, second)]
    assert set(names[0]) == set(names[1])
    assert "not_shown" not in second.geometry
    faces = {
        font.get_object()["/BaseFont"].split("+")[1]
        for page in PdfReader(io.BytesIO(second.pdf)).pages
        for font in page["/Resources"]["/Font"].values()
    }
    assert {face.split("-")[0] for face in faces} == {"AtkinsonHyperlegibleNext", "NotoSansHebrew"}


def test_arabic_is_shown_and_what_no_font_has_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    curriculum = english()
    skill = curriculum.skills["sling-anchor"]

    def titled(title: str) -> Sheet:
        own = {**curriculum.skills, skill.id: skill.model_copy(update={"title": title})}
        return checklist(replace(curriculum, skills=own))

    assert "not_shown" not in set_sheet(titled("مرساة"), "a4").geometry
    assert set_sheet(titled("ก anchor"), "a4").geometry["not_shown"] == ["ก"]
    folder = tmp_path / "curriculum"
    for path in STRANGER.rglob("*"):
        if path.is_file():
            target = folder / path.relative_to(STRANGER)
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(path.read_bytes())
    file = folder / "skills" / "anchors" / "sling-anchor.yaml"
    file.write_text(file.read_text(encoding="utf-8").replace("Sling anchor", "Sling anchor ก"), encoding="utf-8")
    arguments = ["print", "checklist", "sling-anchor", "--curriculum", str(folder), "--out", str(tmp_path / "out")]
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(tmp_path)
        assert main(arguments) == 0
        said = capsys.readouterr().err
        assert "No font of the sheets has “ก” (U+0E01)" in said
        assert "[sheet-letter-missing]" in said
        assert main(arguments) == 0
        assert "U+0E01" in capsys.readouterr().err, "also when the sheet comes from the store"
        assert main(["print", "--lab", "rope-day", "--curriculum", str(folder), "--out", str(tmp_path / "out")]) == 0
        assert "No font of the sheets has “ก” (U+0E01). packet-rope-day-" in capsys.readouterr().err
    read, _ = read_curriculum(folder)
    assert read is not None
    prepared = prepare(read, (), today=date(2026, 3, 1), papers=("a4",), store=tmp_path / "store")
    assert {problem.rule for problem in prepared.problems} == {"sheet-letter-missing"}
    again = prepare(read, (), today=date(2026, 3, 1), papers=("a4",), store=tmp_path / "store")
    assert again.problems == prepared.problems, "what comes from the store is told as well"


# --- pages


@pytest.fixture(scope="module")
def page() -> str:
    made = pages_of(labelled(english()), sheets=(), problems=(), today=date(2026, 3, 1))
    assert not [path for path, text in made.items() if OPEN in text or SHUT in text]
    return made["skills/anchors/sling-anchor.md"]


def test_english_text_on_a_page_from_right_to_left_is_set_apart(page: str) -> None:
    front, body = page.split("---\n", 2)[1:]
    assert "\u2068" not in front
    soup = BeautifulSoup(body, "html.parser")
    loose = [
        str(text)
        for text in soup.find_all(string=True)
        if type(text) is NavigableString
        and direction_of(str(text)) == "ltr"
        and not text.find_parent(["bdi", "code", "script", "svg"])
    ]
    # The reference style writes its own English.
    assert [text for text in loose if "Invented Press" not in text and not text.startswith("\n")] == []
    step = soup.select_one("#step-gloves")
    assert step is not None
    assert [text.get_text() for text in step.select("bdi")] == [ENGLISH]
    assert soup.select_one('[aria-label="\u2068Rope team lead\u2069"]')


def test_english_pages_stay_as_they_are() -> None:
    made = pages_of(english(), sheets=(), problems=(), today=date(2026, 3, 1))
    assert not [path for path, text in made.items() if "<bdi>" in text or "\u2068" in text]


def test_an_isolate_stands_where_no_element_may() -> None:
    body = (
        f'<p title="{OPEN}a{SHUT}">{OPEN}b <a href="#">c</a>.{SHUT}</p><svg><text>{OPEN}d{SHUT}</text></svg><p>e.</p>'
    )
    assert on_page(body, "rtl") == (
        '<p title="\u2068a\u2069"><bdi>b <a href="#"><bdi>c</bdi></a>.</bdi></p><svg><text>\u2068d\u2069</text></svg>'
        "<p><bdi>e.</bdi></p>"
    )


def test_prose_from_right_to_left_finds_its_own_direction() -> None:
    html = '<p>Press (now).</p><ul><li class="x">One.</li></ul><p dir="ltr">Two.</p><pre>x</pre>'
    assert prose_apart(html, "rtl") == (
        '<p dir="auto">Press (now).</p><ul><li dir="auto" class="x">One.</li></ul><p dir="ltr">Two.</p><pre>x</pre>'
    )
    assert prose_apart(html, "ltr") == html


# --- the frame


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """The stranger from right to left, with other words for the frame."""
    folder = tmp_path_factory.mktemp("frame")
    for path in STRANGER.parent.rglob("*"):
        if path.is_file():
            target = folder / path.relative_to(STRANGER.parent)
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(path.read_bytes())
    program = folder / "curriculum" / "program.yaml"
    text = program.read_text(encoding="utf-8").replace("language: en", "language: he")
    own = "  Switch to dark: להחשיך\n  Switch to light: להאיר\n  On this page: בעמוד זה\n"
    program.write_text(text + own, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        options = ["--curriculum", "curriculum", "--config", "mkdocs.yml", "--site", "site", "--on", "2026-03-01"]
        assert main(["build", "--no-sheets", *options]) == 0
    yield folder / "site"


def test_the_words_of_the_frame_are_the_programs(site: Path) -> None:
    soup = BeautifulSoup((site / "skills/anchors/sling-anchor.html").read_text(encoding="utf-8"), "html.parser")
    switches = soup.select("form[data-md-component=palette] input")
    assert [switch["aria-label"] for switch in switches] == ["להחשיך", "להאיר"]
    assert [label["title"] for label in soup.select("form[data-md-component=palette] label")] == ["להחשיך", "להאיר"]
    contents = soup.select_one("nav.md-nav--secondary")
    assert contents is not None
    assert contents["aria-label"] == "בעמוד זה"
    assert not re.search("Switch to|On this page", str(soup))


def test_the_frame_sets_the_line_of_deference_apart(site: Path) -> None:
    soup = BeautifulSoup((site / "index.html").read_text(encoding="utf-8"), "html.parser")
    foot = soup.select_one(".md-copyright__highlight bdi")
    assert foot is not None
    assert foot.get_text().startswith("The site's rope plan")
    prose = BeautifulSoup((site / "about.html").read_text(encoding="utf-8"), "html.parser").select_one("article p")
    assert prose is not None
    assert prose["dir"] == "auto"


def test_a_configuration_with_other_words_keeps_them(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    config = tmp_path / "mkdocs.yml"
    text = (STRANGER.parent / "mkdocs.yml").read_text(encoding="utf-8").replace("name: Switch to dark", "name: Night")
    config.write_text(text.replace("docs_dir: curriculum/pages", f"docs_dir: {STRANGER}/pages"), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    options = ["--curriculum", str(STRANGER), "--config", str(config), "--site", "site", "--on", "2026-03-01"]
    assert main(["build", "--no-sheets", *options]) == 0
    soup = BeautifulSoup(Path("site/index.html").read_text(encoding="utf-8"), "html.parser")
    said = [switch["aria-label"] for switch in soup.select("form[data-md-component=palette] input")]
    assert said == ["Night", "Switch to light"]


def test_the_words_of_the_frame_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["labels", "--curriculum", str(STRANGER)]) == 0
    made = capsys.readouterr().out
    for words in ("Switch to dark", "Switch to light", "On this page"):
        assert f'\nmsgid "{words}"\n' in made


def test_a_packet_speaks_the_programs_words(tmp_path: Path) -> None:
    curriculum = labelled(english())
    sheets = sheets_of(curriculum)
    day = lab_day(curriculum, "rope-day", store=tmp_path, seconds=2)
    packet = packet_of(curriculum, day, sheets, copies=False, fronts=True)
    made = typeset_packet(replace(packet, parts=packet.parts[:2]), "a4", tmp_path)
    lines = rows(made.pdf)
    assert any(as_hebrew("Packet page")[::-1].replace(" ", "") in line for line in lines)
    assert any("Twolegs,onepull" in line for line in lines)
    text = "".join(page.extract_text() for page in PdfReader(io.BytesIO(made.pdf)).pages)
    assert "Packet page" not in text
    assert PdfReader(io.BytesIO(made.pdf)).metadata["/Title"] == f"First rope day: {as_hebrew('packet')}"
