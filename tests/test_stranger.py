"""Another trade's curriculum, a new empty one, labels in a program's own words, and pages for another engine."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import markdown
import pytest
from babel.messages.catalog import Catalog
from babel.messages.pofile import write_po
from bs4 import BeautifulSoup, NavigableString
from pypdf import PdfReader

from generator.analysis.scenario.numbers import worked_numbers
from generator.cli import main
from generator.model import Curriculum
from generator.reading import read_curriculum
from generator.reading.attempt_lines import COLUMNS
from generator.rendering.pages import pages_of
from generator.rendering.pages.labels import LabelExtension, label_ids
from generator.rendering.reports.labels import report_label_ids
from generator.rendering.reports.standard import standard_sheet
from generator.rendering.scripts import NAMES, script_in_own_words, script_label_ids
from generator.rendering.sheets import Job, sheets_of, typeset_all
from generator.rendering.sheets.own_words import sheet_label_ids

TOP = Path(__file__).resolve().parents[1]
STRANGER = TOP / "tests" / "stranger"
FIRST = TOP / "generator" / "reading" / "first_files"
TODAY = date(2026, 3, 1)

MEDICAL = re.compile(
    r"\b(patients?|medical|medics?|medicine|medication|clinical\w*|protocols?|EMTs?|EMS|airways?|paramedics?|"
    r"pre-?hospital|ambulances?|crews?|hospitals?|doctors?|nurses?|casualt\w+|breath\w*|oxygen|infants?|vital|drugs?|"
    r"ventilat\w+|resuscitat\w+|wounds?|bleed\w*)\b",
    re.IGNORECASE,
)
"""Words of the shipped trade (ours, common practice)."""


def medical_in(text: str) -> list[str]:
    return [text[max(0, one.start() - 40) : one.end() + 20] for one in MEDICAL.finditer(text)]


def shown(html: str) -> str:
    """All text that a reader or a screen reader meets."""
    soup = BeautifulSoup(html, "html.parser")
    for hidden in soup(["script", "style"]):
        hidden.decompose()
    spoken = [
        str(element[name])
        for element in soup.find_all(True)
        for name in ("aria-label", "alt", "title", "placeholder", "content")
        if element.has_attr(name)
    ]
    return " ".join([soup.get_text(" "), *spoken])


def pdf_text(data: bytes | Path) -> str:
    reader = PdfReader(io.BytesIO(data) if isinstance(data, bytes) else data)
    return " ".join(page.extract_text() for page in reader.pages)


def built(curriculum: Path, config: Path, site: Path, *words: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(site.parent)
    options = ["--curriculum", str(curriculum), "--config", str(config), "--site", str(site), "--on", str(TODAY)]
    assert main(["build", *options, *words]) == 0


# --- a new program


def test_a_new_program_is_accepted_and_built_at_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "new one"
    assert main(["new", "program", str(folder)]) == 0
    made = capsys.readouterr().out.splitlines()
    assert made
    assert all(Path(path).is_file() for path in made)
    monkeypatch.chdir(folder)
    assert main(["check"]) == 0
    assert "0 errors, 0 warnings" in capsys.readouterr().out
    assert main(["build"]) == 0
    pages = sorted((folder / "site").rglob("*.html"))
    assert len(pages) >= 10
    assert [found for page in pages for found in medical_in(shown(page.read_text(encoding="utf-8")))] == []
    for kind, id, needs in (("trainer", "first-bar", "technique"), ("skill", "first-skill", "trainer")):
        assert main(["new", kind, id]) == 2, "a record that must name another says so"
        assert f"Write a {needs} first" in capsys.readouterr().err
    (folder / "curriculum" / "techniques.yaml").write_text(
        "# yaml-language-server: $schema=.schema/techniques.json\n"
        "techniques:\n  even-pull:\n    name: Even pull\n    right: Both ends carry.\n    wrong: One end tears.\n",
        encoding="utf-8",
    )
    assert main(["new", "trainer", "first-bar"]) == 0
    assert main(["new", "skill", "first-skill"]) == 0
    read, problems = read_curriculum(folder / "curriculum")
    assert read is not None
    assert not [problem for problem in problems if problem.is_error]
    assert list(read.skills) == ["first-skill"]


def test_a_new_program_leaves_what_is_there_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "mine.txt").write_text("mine", encoding="utf-8")
    assert main(["new", "program", str(tmp_path)]) == 2
    assert "left as it is" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


@pytest.mark.parametrize("name", ["mkdocs.yml", "site_overrides/main.html"])
def test_a_new_program_gets_the_files_of_this_one(name: str) -> None:
    assert (FIRST / name).read_bytes() == (TOP / name).read_bytes()


# --- another trade


@pytest.fixture(scope="module")
def rope() -> Curriculum:
    curriculum, problems = read_curriculum(STRANGER / "curriculum")
    assert curriculum is not None
    assert not problems
    return curriculum


@pytest.fixture(scope="module")
def rope_site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    with pytest.MonkeyPatch.context() as monkeypatch:
        site = tmp_path_factory.mktemp("rope") / "site"
        built(STRANGER / "curriculum", STRANGER / "mkdocs.yml", site, monkeypatch=monkeypatch)
        yield site


def test_the_stranger_is_clean(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "--curriculum", str(STRANGER / "curriculum"), "--on", str(TODAY)]) == 0
    assert "0 errors, 0 warnings" in capsys.readouterr().out


def test_no_word_of_the_shipped_trade_reaches_the_strangers_site(rope_site: Path) -> None:
    pages, sheets = sorted(rope_site.rglob("*.html")), sorted(rope_site.rglob("*-a4.pdf"))
    tables = [path for ending in ("csv", "ics", "md") for path in rope_site.rglob(f"*.{ending}")]
    assert len(pages) >= 20
    assert {path.name.split("-")[0] for path in sheets} >= {
        "checklist", "practice", "trainer", "station", "poster", "timetable", "worth",
        "facilitator", "patient", "observer",
    }  # fmt: skip
    assert {"scenarios/stuck-on-the-wall.html", "scenarios/stuck-on-the-wall-run.html"} <= {
        path.relative_to(rope_site).as_posix() for path in pages
    }
    assert tables
    found = {
        path.name: words
        for path in (*pages, *sheets, *tables)
        if (
            words := medical_in(
                shown(path.read_text(encoding="utf-8"))
                if path.suffix == ".html"
                else pdf_text(path)
                if path.suffix == ".pdf"
                else path.read_text(encoding="utf-8")
            )
        )
    }
    assert found == {}


def test_no_word_of_the_shipped_trade_is_said_by_a_script(rope_site: Path) -> None:
    """The page that runs a scenario is written by its script, from labels and from data in the page."""
    said: set[str] = set()

    def note(words: str) -> str:
        said.add(re.sub(r"\{[^{}]*\}", "", words))
        return words

    for path in rope_site.rglob("*.js"):
        if path.name in NAMES:
            script_in_own_words(path.read_text(encoding="utf-8"), note)
    assert "Load and numbers" in said
    assert medical_in(" | ".join(said)) == []
    html = (rope_site / "scenarios/stuck-on-the-wall-run.html").read_text(encoding="utf-8")
    (run,) = BeautifulSoup(html, "html.parser").select("[data-run]")
    told = " | ".join(_texts(json.loads(str(run["data-run"]))))
    assert "Woman, 41 years, 172 cm, 70 kg" in told
    assert medical_in(told) == []


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for item in value.values():
            yield from _texts(item)
    elif isinstance(value, list):
        for item in value:
            yield from _texts(item)


def test_a_trade_that_treats_nobody_meets_no_medical_formula(rope: Curriculum) -> None:
    scenario = rope.scenarios["stuck-on-the-wall"]
    assert scenario.patient.height_cm is not None
    assert worked_numbers(scenario) == ()
    treated = scenario.model_copy(update={"patient": scenario.patient.model_copy(update={"formulas": True})})
    assert [one.id for one in worked_numbers(treated)] == ["predicted-weight", "tidal-volume"]


def test_the_stranger_renames_every_label_with_a_word_of_the_shipped_trade(rope: Curriculum) -> None:
    """So each such word of ours can be renamed; what is left belongs to formulas and units of that trade."""
    known = {*label_ids(), *sheet_label_ids(), *report_label_ids(), *script_label_ids()}
    medical = {words for words in known if medical_in(re.sub(r"\{[^{}]*\}", "", words))}
    assert len(medical) >= 20
    assert medical - set(rope.labels) == {"breath", "breaths", "not for infants; a length-based tape is preferred"}
    assert {words for words in rope.labels if medical_in(re.sub(r"\{[^{}]*\}", "", rope.labels[words]))} == set()


def test_without_its_labels_the_stranger_would_read_of_patients(rope: Curriculum) -> None:
    """The search for such words can fail: today's own labels hold them."""
    bare = replace(rope, labels={})
    page = pages_of(bare, sheets=(), problems=(), today=TODAY)["skills/anchors/sling-anchor.md"]
    assert {"patient", "medical", "protocol"} <= {word.lower().rstrip("s") for word in MEDICAL.findall(page)}
    sheet = next(one for one in sheets_of(bare) if one.kind == "checklist")
    assert medical_in(str(sheet.data))
    cards = [one for one in sheets_of(bare) if one.kind in ("facilitator", "patient")]
    assert len(cards) == 2
    assert all(medical_in(str(one.data["words"])) for one in cards)


def test_reports_of_the_stranger_speak_its_trade(rope: Curriculum, tmp_path: Path) -> None:
    sheet = next(one for one in sheets_of(rope) if (one.kind, one.id) == ("checklist", "sling-anchor"))
    rows = [
        [f"2026-02-0{day}", "L01", sheet.id, rung, trainer, f"E0{day}", role, "", f"a{day}", sheet.revision, *[""] * 3]
        for day, rung, trainer, role in (
            (1, "bench", "two-scale-bar", "peer"),
            (2, "bench", "two-scale-bar", "peer"),
            (3, "bench", "two-scale-bar", "peer"),
            (4, "tower", "tower", "instructor"),
            (5, "tower", "tower", "instructor"),
        )
    ]
    table = io.StringIO()
    csv.writer(table).writerows([COLUMNS, *rows])
    attempts = tmp_path / "attempts.csv"
    attempts.write_text(table.getvalue(), encoding="utf-8")
    html, letters, board = tmp_path / "ready.html", tmp_path / "letters", tmp_path / "board.pdf"
    options = ["--html", str(html), "--letters", str(letters), "--board", str(board), "--on", "2026-02-20"]
    code = main(["ready", str(attempts), "--curriculum", str(STRANGER / "curriculum"), *options])
    assert code in (0, 1)
    texts = [shown(html.read_text(encoding="utf-8")), pdf_text(board), pdf_text(standard_sheet(rope, "sling-anchor"))]
    texts += [pdf_text(path) for path in letters.glob("*.pdf")]
    assert len(texts) == 4
    assert any("live load" in " ".join(text.split()) for text in texts)
    assert [found for text in texts for found in medical_in(text)] == []


# --- every label in other words

MARKED = re.compile(r"¡[^¡!]*!")


def pseudo(words: str) -> str:
    """`¡wörds!`: what a translation of every label would look like, still readable."""
    parts = re.split(r"(\{[^{}]+\})", words.replace("!", ""))
    return "¡" + "".join(part if part.startswith("{") else part.translate(_ACCENTS) for part in parts) + "!"


_ACCENTS = str.maketrans("aeiouAEIOU", "àéîõüÀÉÎÕÜ")


def catalogue(language: str) -> str:
    made = Catalog(locale=language, charset="utf-8")
    for words in sorted({*label_ids(), *sheet_label_ids(), *report_label_ids()}):
        made.add(words, pseudo(words))
    out = io.BytesIO()
    write_po(out, made)
    return out.getvalue().decode()


@pytest.fixture(scope="module")
def renamed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The stranger's folder in a language that is written from right to left, with every label in marks."""
    folder = Path(shutil.copytree(STRANGER, tmp_path_factory.mktemp("renamed") / "rope"))
    program = folder / "curriculum" / "program.yaml"
    text = program.read_text(encoding="utf-8").split("labels:\n")[0].replace("language: en", "language: he")
    program.write_text(text, encoding="utf-8")
    (folder / "curriculum" / "labels").mkdir()
    (folder / "curriculum" / "labels" / "he.po").write_text(catalogue("he"), encoding="utf-8")
    return folder


@cache
def typed(folder: Path) -> str:
    """All that the stranger's authors typed, on one line."""
    files = sorted(folder.glob("curriculum/**/*.yaml"))
    return " ".join(" ".join(path.read_text(encoding="utf-8") for path in files).split()).casefold()


def english_left(texts: list[str], authors: str, allowed: tuple[str, ...] = ()) -> list[str]:
    """Texts that are neither marked, nor an author's, nor a number or a name of ours that cannot be renamed."""
    left = []
    for text in texts:
        words = text
        while MARKED.search(words):
            words = MARKED.sub(" ", words)
        words = " ".join(words.split()).strip(" .,:;()·¶")
        if re.search(r"[^\W\d_]{2}", words) and words.casefold() not in authors and words not in allowed:
            left.append(words)
    return left


def test_no_english_label_is_left_on_a_skill_page_and_it_reads_from_right_to_left(
    renamed: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    site = tmp_path / "site"
    built(renamed / "curriculum", renamed / "mkdocs.yml", site, "--no-sheets", monkeypatch=monkeypatch)
    soup = BeautifulSoup((site / "skills/anchors/sling-anchor.html").read_text(encoding="utf-8"), "html.parser")
    assert soup.html is not None
    assert soup.html["lang"] == "he"
    assert soup.body is not None
    assert soup.body["dir"] == "rtl"
    article = soup.select_one("article")
    assert article is not None
    for part in article.select("script, style, .rb-weighed, #sources ~ *, .rb-ladder-weighed"):
        part.decompose()
    for text in article.find_all("bdi"):  # author text that is set apart, perhaps inside a label
        text.unwrap()
    article.smooth()
    texts = [str(one) for one in article.find_all(string=True) if type(one) is NavigableString]
    assert sum(bool(MARKED.search(text)) for text in texts) >= 25
    assert [word.get_text() for word in article.select(".rb-caution-word")] == [pseudo("warning")]
    left = english_left(texts, typed(renamed), NOT_RENAMED)
    assert not left, "\n".join(left)


NOT_RENAMED = (
    "at most 90 degrees",  # how a number is said is code, in English
    "Set the legs of the sling to at most 90 degrees",
    "A sewn loop that goes round a fixed thing. strop",  # an author's words, put together
    "2026-02-01 Lead instructor",
    # the reference style writes its own English
    "Northcrag Quarry. An invented book of ropes [Internet]. 2nd ed. Northcrag: Invented Press; 2023. Available from: "
    "https://press.example/ropes",
)


def test_no_english_label_is_left_on_a_checklist(renamed: Path, tmp_path: Path) -> None:
    curriculum, problems = read_curriculum(renamed / "curriculum")
    assert curriculum is not None
    assert not problems
    sheet = next(one for one in sheets_of(curriculum) if (one.kind, one.id) == ("checklist", "sling-anchor"))
    assert all(MARKED.fullmatch(words) for words in sheet.data["words"].values())
    (made,) = typeset_all([Job(sheet=sheet, paper="a4")], store=tmp_path)
    printed = " ".join(pdf_text(made.pdf).split())
    labels = [words for words in sheet_label_ids() if len(words) >= 5 and words.casefold() not in typed(renamed)]
    assert len(labels) >= 60
    assert [words for words in labels if words in printed and words not in PARTS_OF_SENTENCES] == []
    reader = PdfReader(io.BytesIO(made.pdf))
    assert reader.trailer["/Root"]["/Lang"] == "he"
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]


PARTS_OF_SENTENCES: tuple[str, ...] = ()


def test_a_label_holds_no_markup(rope: Curriculum) -> None:
    attack = '<script>alert(1)</script> [x](javascript:alert(1)) {{ 7*7 }} "'
    spoiled = replace(rope, labels=dict.fromkeys(label_ids(), attack))
    page = pages_of(spoiled, sheets=(), problems=(), today=TODAY)["skills/anchors/sling-anchor.md"]
    html = markdown.markdown(page.split("---\n", 2)[2], extensions=["attr_list", "tables"])
    soup = BeautifulSoup(html, "html.parser")
    assert "alert(1)" in soup.get_text()
    assert soup.select("script") == []
    assert [a for a in soup.select("a[href]") if str(a["href"]).startswith("javascript")] == []
    assert "49" not in soup.get_text()


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        ("this is no catalogue\n", "labels-unreadable"),
        ('msgid "{times}, scored by {who}"\nmsgstr "{times}"\n', "labels-parts"),
    ],
)
def test_a_broken_catalogue_is_a_problem_and_never_a_crash(tmp_path: Path, text: str, rule: str) -> None:
    folder = Path(shutil.copytree(STRANGER / "curriculum", tmp_path / "curriculum"))
    (folder / "labels").mkdir()
    (folder / "labels" / "en.po").write_text(text, encoding="utf-8")
    curriculum, problems = read_curriculum(folder)
    assert curriculum is not None
    assert [problem.rule for problem in problems] == [rule]
    assert problems[0].location.file == "curriculum/labels/en.po"


def test_the_catalogue_command_names_every_label_and_what_is_unknown(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = Path(shutil.copytree(STRANGER / "curriculum", tmp_path / "curriculum"))
    assert main(["labels", "--curriculum", str(folder)]) == 0
    made = capsys.readouterr().out
    (folder / "labels").mkdir()
    (folder / "labels" / "en.po").write_text(made, encoding="utf-8")
    read, problems = read_curriculum(folder)
    assert not problems
    assert read is not None
    assert read.label("Patients") == "Loads"
    assert made.count("\nmsgid ") >= 300
    program = folder / "program.yaml"
    program.write_text(program.read_text(encoding="utf-8") + "  Nowhere printed: Nowhere\n", encoding="utf-8")
    assert main(["labels", "--curriculum", str(folder)]) == 1
    assert "'Nowhere printed'" in capsys.readouterr().err


def test_templates_without_labels_are_left_as_they_are() -> None:
    assert "Steps" in label_ids()
    assert not [words for words in label_ids() if words.startswith(("rb-", "http")) or words.endswith(".md")]
    assert LabelExtension.identifier


# --- another engine


def test_plain_markdown_builds_with_another_engine_and_nothing_is_missing(tmp_path: Path) -> None:
    """Sphinx with MyST: each page of the manifest has its HTML, its title and every one of its words."""
    build = pytest.importorskip("sphinx.cmd.build", reason="sphinx is not installed")
    pytest.importorskip("myst_parser", reason="myst-parser is not installed")
    source, out = tmp_path / "pages", tmp_path / "html"
    options = ["--curriculum", str(STRANGER / "curriculum"), "--on", str(TODAY)]
    assert main(["pages", "--out", str(source), *options]) == 0
    manifest = sorted(path.relative_to(source).with_suffix("") for path in source.rglob("*.md"))
    assert len(manifest) >= 20
    (source / "conf.py").write_text(
        "extensions = ['myst_parser']\nmyst_enable_extensions = ['attrs_block', 'attrs_inline']\n"
        "suppress_warnings = ['toc.not_included', 'myst']\n",
        encoding="utf-8",
    )
    assert build.main(["-q", "-b", "html", str(source), str(out)]) == 0
    missing: list[Any] = [page for page in manifest if not (out / page).with_suffix(".html").is_file()]
    assert missing == []
    for page in manifest:
        text = (out / page).with_suffix(".html").read_text(encoding="utf-8")
        body = BeautifulSoup(text, "html.parser").select_one("div.body")
        assert body is not None
        written = (source / page).with_suffix(".md").read_text(encoding="utf-8").split("---\n", 2)[-1]
        plain = BeautifulSoup(re.sub(r"\{ ?#[^}]*\}", "", written), "html.parser").get_text(" ")
        words = set(re.findall(r"[A-Za-z]{4,}", plain))
        lost = words - set(re.findall(r"[A-Za-z]{4,}", body.get_text(" ")))
        assert len(lost) <= len(words) // 50, (page, sorted(lost))
