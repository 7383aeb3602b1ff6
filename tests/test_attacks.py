"""Hostile text in every text field of every record, through every output: it shows as words and does nothing.

Each kind of attack goes through every field at once: the field holds all attacks of the kind, and begins with another
one from field to field, because some act only at the beginning.
"""

from __future__ import annotations

import csv
import io
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Mapping
from dataclasses import fields as fields_of
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import icalendar
import markdown
import pypdfium2
import pytest
import yaml
from attack_strings import NO_RECORDS, approved, attacks, enriched, fields_in, filled, text_fields, with_texts
from bs4 import BeautifulSoup
from invented_standings import ASIDE, codes, invented_attempts, invented_readiness
from tiny_handbook import BASE, laid_out

from generator.build import prepare, publish
from generator.mkdocs_plugin import make_site
from generator.model import Curriculum
from generator.reading import read_curriculum
from generator.rendering.lab_plans import days_of
from generator.rendering.pages import pages_of
from generator.rendering.pages.inert import inert, quiet
from generator.rendering.reports import letter, report_html
from generator.rendering.reports.confirm import Asked, AskedSheet, RefusedPage, confirm_html
from generator.rendering.sheets import sheets_of
from generator.rendering.sheets.typesetter import set_sheet
from generator.rendering.tables import tables_of

TODAY = date(2026, 3, 1)
OUTCOMES = BASE.parents[1] / "ok" / "outcome-uncovered" / "covered" / "curriculum"
KINDS = attacks()
HANDLER = re.compile(r"^on", re.IGNORECASE)


@cache
def base() -> Curriculum:
    """The tiny curriculum and a published list of outcomes: records of every kind there is."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = shutil.copytree(BASE, Path(scratch) / "curriculum")
        shutil.copytree(OUTCOMES, folder, dirs_exist_ok=True)
        curriculum, problems = read_curriculum(folder)
    assert curriculum is not None
    assert not problems
    return filled(enriched(curriculum))


def attacked(kind: str) -> Curriculum:
    """Every field holds every attack of a kind."""
    given = KINDS[kind]
    turn = iter(range(10**6))

    def give(path: str) -> str:
        first = next(turn) % len(given)
        return " ".join((*given[first:], *given[:first]))

    return with_texts(base(), give)


@cache
def one_by_one() -> tuple[Curriculum, dict[str, str]]:
    """Every field holds one attack and a mark of its own; every attack is in some field. Also: text by mark."""
    everything = [one for kind in KINDS.values() for one in kind]
    texts: dict[str, str] = {}

    def give(path: str) -> str:
        number = len(texts)
        mark = f"q{number}q"
        texts[mark] = " ".join((everything[number % len(everything)], everything[-1 - number % len(everything)]))
        return f"{texts[mark]} {mark}"

    return with_texts(base(), give), texts


def sheets(curriculum: Curriculum) -> list[Any]:
    kinds = {"practice": curriculum.skills, "checklist": curriculum.skills, "trainer": curriculum.trainers}
    return [SimpleNamespace(kind=kind, id=id, revision="0123abcd") for kind, ids in kinds.items() for id in ids]


def written(curriculum: Curriculum) -> dict[str, str]:
    days = days_of(base(), store=None, seconds=2)
    return pages_of(curriculum, sheets=sheets(curriculum), problems=(), today=TODAY, days=days)


def soup_of(page: str) -> BeautifulSoup:
    body = page.split("---\n", 2)[2]
    return BeautifulSoup(markdown.markdown(body, extensions=["attr_list", "tables", "toc"]), "html.parser")


@cache
def clean() -> dict[str, BeautifulSoup]:
    return {name: soup_of(page) for name, page in written(base()).items()}


def shapes(soup: BeautifulSoup) -> set[tuple[str, tuple[str, ...], str]]:
    """Elements as (name, names of attributes, classes)."""
    return {
        (tag.name, tuple(sorted(key.lower() for key in tag.attrs)), " ".join(tag.get("class") or ()))
        for tag in soup.find_all(True)
    }


def addresses(soup: BeautifulSoup) -> set[str]:
    names = ("href", "src", "srcset", "action", "formaction", "data", "poster", "xlink:href", "background", "ping")
    return {str(tag[name]) for tag in soup.find_all(True) for name in names if tag.has_attr(name)}


def assert_quiet(name: str, dirty: BeautifulSoup, plain: BeautifulSoup) -> None:
    assert shapes(dirty) <= shapes(plain) | ALLOWED, (name, shapes(dirty) - shapes(plain))
    count = Counter(tag.name for tag in dirty.find_all(["script", "style", "link", "meta", "img", "iframe", "input"]))
    assert count == Counter(tag.name for tag in plain.find_all(list(count))), name
    for address in addresses(dirty) - addresses(plain):
        assert re.match(r"(?:[\w./-]*#[\w-]*$|https://doi\.org/)", address), (name, address)
        assert not re.search(r"[\"'<>\s]", address), (name, address)
    assert not [key for tag in dirty.find_all(True) for key in tag.attrs if HANDLER.match(key)], name


ALLOWED: set[tuple[str, tuple[str, ...], str]] = {("bdi", (), "")}
"""A text with letters from right to left is set apart, so that it turns nothing round beside it."""


UNFILLED = {
    "Program.labels",  # attacked with a catalogue's own words, in the tests of files
}
"""Texts that are not attacked here. A new text field is attacked, or this test tells of it."""


def test_the_corpus_is_large_and_reaches_every_field() -> None:
    everything = [one for kind in KINDS.values() for one in kind]
    assert len(set(everything)) >= 300
    assert all(len(set(kind)) == len(kind) for kind in KINDS.values())
    assert {"html", "events", "links", "svg", "markdown", "templates", "typesetting", "formulas", "line-ends"} <= set(
        KINDS
    )
    fields: list[str] = []
    with_texts(base(), lambda path: fields.append(path) or "x")  # type: ignore[func-returns-value]
    # Rises with every new text field that the tiny curriculum fills in; one that is lost is missed here.
    assert len(fields) == len(set(fields)) >= 150
    # Every kind of record there is, has a field that is attacked.
    kinds = {one.name for one in fields_of(base())} - NO_RECORDS
    assert {field.split(".")[0] for field in fields} == kinds

    assert text_fields() - fields_in(base()) - fields_in(approved(base())) == UNFILLED
    # What the walk must not miss: fields in tuples of records, in optional records, and in lists of texts.
    assert {"skills.mask-breath.title", "skills.mask-breath.steps.1.do", "program.usual_cautions.0"} <= set(fields)


@pytest.mark.parametrize("kind", KINDS)
def test_no_page_gains_an_element_an_attribute_or_a_link(kind: str) -> None:
    pages = written(attacked(kind))
    assert pages.keys() == clean().keys()
    for name, page in pages.items():
        head = page.split("---\n", 2)[1]
        assert (
            head.count("\n") == written(base())[name].split("---\n", 2)[1].count("\n") if kind == "line-ends" else True
        )
        assert isinstance(yaml.safe_load(head), dict), name
        assert_quiet(name, soup_of(page), clean()[name])


def test_who_approved_the_content_is_printed_nowhere() -> None:
    """So it carries nothing anywhere. Where it is printed one day, this test goes and the field is attacked."""
    plain = approved(base())
    approval = plain.program.approval
    assert approval is not None
    hostile = approval.model_copy(update={"by": " ".join(KINDS["html"])})
    dirty = replace(plain, program=plain.program.model_copy(update={"approval": hostile}))
    assert written(dirty) == written(plain) != written(base())
    assert sheets_of(dirty) == sheets_of(plain) != sheets_of(base())


@pytest.mark.parametrize("kind", KINDS)
def test_tables_stay_tables(kind: str) -> None:
    days = days_of(base(), store=None, seconds=2)
    plain, dirty = tables_of(base(), days=days), tables_of(attacked(kind), days=days)
    assert plain.keys() == dirty.keys()
    assert plain
    for name, content in dirty.items():
        if name.endswith(".csv"):
            rows, before = (list(csv.reader(io.StringIO(one.decode(), newline=""))) for one in (content, plain[name]))
            assert [len(row) for row in rows] == [len(row) for row in before], name
            for field in (field for row in rows for field in row):
                assert not re.match(r"\s*[=+\-@]", field) or re.fullmatch(r"-?\d+(\.\d+)?", field), (name, field)
        elif name.endswith(".ics"):
            kinds = [[each.name for each in icalendar.Calendar.from_ical(one).walk()] for one in (content, plain[name])]
            assert kinds[0] == kinds[1], name
            keys = [
                [sorted(each.keys()) for each in icalendar.Calendar.from_ical(one).walk()]
                for one in (content, plain[name])
            ]
            assert keys[0] == keys[1], name


def shown(soup: BeautifulSoup) -> str:
    # A unit loses its hyphens where it is read out, and a reference the full stops of what it shortens.
    return "".join(soup.get_text().replace("-", "").replace(".", "").split()).casefold()


def test_every_text_reads_as_it_was_typed() -> None:
    """Wherever a field's mark stands on a page, its text stands before it, or the look-alike that titles get."""
    curriculum, texts = one_by_one()
    seen: set[str] = set()
    for name, page in written(curriculum).items():
        text = shown(soup_of(page))
        for found in re.finditer(r"q(\d+)q", text):
            typed = texts[found[0]]
            before = text[: found.start()]
            ways = {shown(BeautifulSoup(str(way), "html.parser")) for way in (inert(typed), inert(quiet(typed)))}
            assert any(before.endswith(way) for way in ways), (name, typed, before[-80:])
            seen.add(found[0])
    assert len(seen) > len(texts) * 0.6


def letters(text: str) -> str:
    """Letters and digits, each run of one letter once: a letter under several accents is read out of a PDF for each."""
    return re.sub(r"([a-z])\1+", r"\1", "".join(one for one in text if one.isascii() and one.isalnum()))


def test_sheets_print_the_text_and_run_nothing() -> None:
    curriculum, texts = one_by_one()
    days = days_of(base(), store=None, seconds=2)
    seen: set[str] = set()
    made = sheets_of(curriculum, days=days)
    assert {sheet.kind for sheet in made} >= {"checklist", "practice", "trainer", "station"}
    for sheet in made:
        document = pypdfium2.PdfDocument(set_sheet(sheet, "a4").pdf)
        printed = "".join(page.get_textpage().get_text_range() for page in document)
        printed = letters(re.sub(r"\[\s*(?:U\+[0-9A-F]{4,6}\s*)+\]", "", printed))
        for found in re.finditer(r"q(\d+)q", printed):
            typed = texts.get(found[0])
            if typed is None:
                continue
            # Characters that no font has print as their number. A line of the text may stand elsewhere in the head.
            wanted = letters(typed.split("\n")[-1])[-12:]
            before, around = printed[: found.start()], printed[max(0, found.start() - 300) : found.end() + 100]
            # In a narrow column a long word is broken, and its end may be read after the mark.
            pieces = [letters(one) for one in re.findall(r"[A-Za-z]{3,5}", typed.split("\n")[-1])]
            broken = sheet.kind == "worth" and pieces and all(one in around for one in pieces)
            assert before.endswith(wanted) or broken, (sheet.kind, sheet.id, typed, before[-40:])
            seen.add(found[0])
    assert len(seen) > len(texts) * 0.3  # that all of a sheet is printed, another test judges


def test_no_template_of_a_sheet_evaluates_text() -> None:
    import generator.rendering

    folder = Path(generator.rendering.__file__).parent
    templates = sorted(folder.rglob("*.typ"))
    assert len(templates) > 8
    for path in templates:
        text = re.sub(r"//.*", "", path.read_text(encoding="utf-8"))
        assert not re.search(r"\b(?:eval|plugin)\s*\(", text), path.name
        assert not re.search(r"\b(?:read|json|yaml|csv|image)\s*\(\s*(?!bytes|\")", text), path.name


@pytest.mark.parametrize("kind", KINDS)
def test_private_pages_and_the_page_to_confirm_gain_nothing(kind: str) -> None:
    learners = codes(6)
    readiness = invented_readiness(base(), learners)
    tried = invented_attempts(base(), learners)

    def report(curriculum: Curriculum) -> BeautifulSoup:
        html = report_html(readiness, curriculum, attempts=tried, set_aside=ASIDE, file_name="attempts.csv")
        return BeautifulSoup(html, "html.parser")

    def confirm(curriculum: Curriculum, text: str) -> BeautifulSoup:
        asked = Asked(what=text, asks=text, choices=("empty", "marked"), guess=None, picture=b"png")
        sheet = AskedSheet(id="s", skill="mask-breath", where=text, asked=(asked,))
        refused = RefusedPage(where=text, reason=text, remedy=text, picture=None)
        return BeautifulSoup(confirm_html(curriculum, [sheet], [refused], command=text), "html.parser")

    dirty = attacked(kind)
    assert_quiet("report", report(dirty), report(base()))
    everything = " ".join(KINDS[kind])
    made, plain = confirm(dirty, everything), confirm(base(), "x")
    assert [str(one) for one in made.find_all(["script", "style"])] == [
        str(one) for one in plain.find_all(["script", "style"])
    ]
    assert_quiet("confirm", made, plain)


def test_letters_are_set_with_hostile_names() -> None:
    curriculum, _ = one_by_one()
    learners = codes(3)
    made = letter(invented_readiness(base(), learners), learners[0], curriculum)
    assert made.startswith(b"%PDF")
    assert b"/JavaScript" not in made
    assert b"/URI" not in made


def test_the_run_page_hands_its_script_plain_data() -> None:
    curriculum, _ = one_by_one()

    def data(one: Curriculum) -> Any:
        page = next(page for name, page in written(one).items() if name.endswith("-run.md") or "/run" in name)
        holder = soup_of(page).select_one("[data-run]")
        assert holder is not None
        return json.loads(str(holder["data-run"]))

    def ways(value: Any, path: str = "") -> set[str]:
        """Names that lead to a value."""
        if isinstance(value, Mapping):
            return {way for key, each in value.items() for way in ways(each, f"{path}.{key}")}
        if isinstance(value, list):
            return {way for each in value for way in ways(each, f"{path}[]")}
        return {path}

    hostile = data(curriculum)
    assert ways(hostile) <= ways(data(base()))
    told = json.dumps(hostile, ensure_ascii=False)
    assert len(set(re.findall(r"q\d+q", told))) > 10


def test_built_html_gains_nothing(tmp_path: Path) -> None:
    """Through the real engine and theme: titles, navigation, search index."""
    folder = laid_out(tmp_path / "book")
    sites = {}
    for name, curriculum in (("plain", base()), ("dirty", one_by_one()[0])):
        prepared = prepare(curriculum, (), today=TODAY, papers=(), store=tmp_path / "store")
        found = publish(
            prepared,
            tmp_path / name,
            make_site=lambda ready, out: make_site(ready, out, config_file=folder / "mkdocs.yml"),
        )
        assert not [problem for problem in found if problem.is_error], found
        sites[name] = tmp_path / name
    pages = sorted(path.relative_to(sites["plain"]) for path in sites["plain"].rglob("*.html"))
    assert pages == sorted(path.relative_to(sites["dirty"]) for path in sites["dirty"].rglob("*.html"))
    assert len(pages) > 15
    for page in pages:
        dirty, plain = (
            BeautifulSoup((sites[name] / page).read_text(encoding="utf-8"), "html.parser")
            for name in ("dirty", "plain")
        )
        scripts = [
            [str(one) for one in soup.find_all("script") if one.get("id") != "__config"] for soup in (dirty, plain)
        ]
        assert scripts[0] == scripts[1], page
        assert shapes(dirty) <= shapes(plain) | ALLOWED, (page, shapes(dirty) - shapes(plain))
        assert not [key for tag in dirty.find_all(True) for key in tag.attrs if HANDLER.match(key)], page
        for address in addresses(dirty) - addresses(plain):
            assert re.match(r"(?:[\w./-]*(?:#[\w-]*)?$|https://doi\.org/)", address), (page, address)
    index = json.loads((sites["dirty"] / "search" / "search_index.json").read_text(encoding="utf-8"))
    for entry in index["docs"]:
        # The theme shows these as HTML: only the plain tags that the engine itself keeps may stand in them.
        for text in (entry["title"], entry["text"]):
            tags = {tag.name for tag in BeautifulSoup(text, "html.parser").find_all(True)}
            assert not tags & {"script", "img", "svg", "iframe", "a", "style", "input", "form", "object", "math"}, text[
                :80
            ]


# --- nothing outside the folder

AUDIT = """
import json, os, sys
seen = []
def hook(event, args):
    if event in ("open", "os.scandir", "os.listdir") and args and isinstance(args[0], (str, bytes, os.PathLike)):
        seen.append(os.fsdecode(args[0]))
import generator.checks, generator.reading
from generator.build import problems_of
from datetime import date
from pathlib import Path
problems_of(Path(sys.argv[1]), today=date(2026, 3, 1))  # whatever is loaded late is loaded now
sys.addaudithook(hook)
_, problems = problems_of(Path(sys.argv[2]), today=date(2026, 3, 1))
print(json.dumps({"seen": seen, "rules": sorted({one.rule for one in problems})}))
"""


def test_a_check_opens_nothing_outside_the_curriculum_folder(tmp_path: Path) -> None:
    folder = laid_out(tmp_path / "book") / "curriculum"
    secret = tmp_path / "secret.yaml"
    secret.write_text("id: secret\n", encoding="utf-8")
    (tmp_path / "hidden").mkdir()
    (tmp_path / "hidden" / "page.md").write_text("secret", encoding="utf-8")
    (folder / "trainers" / "linked.yaml").symlink_to(secret)
    (folder / "pages" / "linked.md").symlink_to(tmp_path / "hidden" / "page.md")
    (folder / "pages" / "linked").symlink_to(tmp_path / "hidden", target_is_directory=True)
    (folder / "skills" / "linked").symlink_to(tmp_path / "hidden", target_is_directory=True)
    (folder / "pages" / "up.md").write_text(
        "![x](../../secret.png) [y](../../secret.yaml) --8<-- '../../secret.yaml'\n", encoding="utf-8"
    )
    station = next((folder / "stations").glob("*.yaml"))
    text = station.read_text(encoding="utf-8")
    station.write_text(re.sub(r"(?m)^(skill|trainer): .*$", r"\1: ../../secret", text), encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-c", AUDIT, str(BASE), str(folder)], capture_output=True, text=True, check=True, cwd=tmp_path
    )
    told = json.loads(done.stdout)
    assert "link-outside" in told["rules"]
    inside = [path for path in told["seen"] if (tmp_path / path).is_relative_to(folder)]
    assert len(inside) > 15
    outside = {path for path in told["seen"] if not Path(os.path.realpath(path)).is_relative_to(folder)}
    own = Path(sys.prefix).resolve(), Path(sys.base_prefix).resolve(), Path(BASE).parents[3].resolve() / "generator"
    assert {path for path in outside if not any(Path(path).resolve().is_relative_to(one) for one in own)} == set()


@pytest.mark.parametrize("kind", ["paths", "yaml", "html"])
def test_no_attack_is_an_id(tmp_path: Path, kind: str) -> None:
    folder = laid_out(tmp_path / "book") / "curriculum"
    trainer = folder / "trainers" / "half-torso.yaml"
    text = trainer.read_text(encoding="utf-8")
    for attack in KINDS[kind]:
        for typed in (json.dumps(attack), attack):
            trainer.write_text(re.sub(r"(?m)^id: .*$", lambda _, typed=typed: f"id: {typed}", text), encoding="utf-8")
            curriculum, problems = read_curriculum(folder)
            allowed = {"con", "nul", "null"}  # plain words; the file's own name differs, so these are refused too
            assert any(problem.is_error for problem in problems), typed
            if curriculum is not None:
                assert all(re.fullmatch(r"[a-z][a-z0-9]*(-[a-z0-9]+)*", id) for id in curriculum.trainers), typed
                assert attack not in curriculum.trainers or attack in allowed


def test_yaml_as_typed_is_text_or_refused_and_runs_nothing(tmp_path: Path) -> None:
    folder = laid_out(tmp_path / "book") / "curriculum"
    skill = folder / "skills" / "airway" / "mask-breath.yaml"
    text = skill.read_text(encoding="utf-8")
    refused = 0
    begun = time.monotonic()
    for attack in KINDS["yaml"]:
        changed = re.sub(r"(?m)^summary: .*$", lambda _, attack=attack: f"summary: {attack}", text)
        skill.write_text(changed, encoding="utf-8")
        curriculum, problems = read_curriculum(folder)
        assert curriculum is not None
        read = curriculum.skills.get("mask-breath")
        if read is None or any(problem.is_error for problem in problems):
            refused += 1
        else:
            assert isinstance(read.summary, str)
            assert " ".join(read.summary.split()) == " ".join(attack.split()), attack
    assert refused > len(KINDS["yaml"]) / 2
    assert time.monotonic() - begun < 30
