"""Hostile text from everywhere that is not a record of the curriculum: translated labels, the addresses of a program,
files of attempts, rosters and logs of runs, through reports, tables, PDFs and what the commands print.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import pypdf
import pytest
from attack_strings import attacks
from bs4 import BeautifulSoup
from invented_standings import invented_readiness
from test_attacks import HANDLER, assert_quiet, base, one_by_one, soup_of, written

from generator.analysis.scenario.debrief import read_log
from generator.reading.attempt_lines import COLUMNS
from generator.reading.attempts import read_attempts
from generator.reading.labels import read_labels
from generator.reading.roster import read_roster
from generator.reading.run_log import read_run_log
from generator.rendering.lab_plans import days_of
from generator.rendering.pages.labels import label_ids
from generator.rendering.readiness.aside import aside_csv, aside_text
from generator.rendering.readiness.tables import readiness_csv, readiness_json
from generator.rendering.readiness.text import readiness_text
from generator.rendering.reports import board, day_list, letter, report_html, standard_sheet
from generator.rendering.scenario_text import debrief_text
from generator.rendering.sheets import sheets_of
from generator.rendering.sheets.lab_packet import packet_of
from generator.rendering.sheets.packet import typeset_packet

EVERY = tuple(dict.fromkeys(one for kind in attacks().values() for one in kind))
ACTIVE = re.compile(rb"/(?:JavaScript|JS|Launch|SubmitForm|ImportData|GoToR|GoToE|EmbeddedFile|RichMedia|AA)\b")
"""What makes a PDF act by itself or reach outside (ISO 32000-2, 12.6.4)."""


def quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n").replace("\r", "\\r") + '"'


# --- labels


@pytest.mark.parametrize("shift", range(2))
def test_a_translation_carries_no_element_no_handler_and_no_link(shift: int) -> None:
    """Every label is an attack and keeps its parts in braces, or it is refused; in two turns every attack is tried."""
    known = label_ids()
    assert 2 * len(known) > len(EVERY)
    labels: dict[str, str] = {}
    for number, words in enumerate(known):
        attack = re.sub(r"[{}]", "", EVERY[(number + shift * len(known)) % len(EVERY)])
        labels[words] = " ".join((attack, *re.findall(r"\{[a-z]+\}", words), f"zq{number}"))
    seen: set[str] = set()
    for name, page in written(replace(base(), labels=labels)).items():
        assert_quiet(name, soup_of(page), clean_once()[name])
        seen |= set(re.findall(r"zq\d+", page))
    assert len(seen) > 100, "the labels are really printed"


def test_a_catalogue_is_read_as_typed_or_refused(tmp_path: Path) -> None:
    """A catalogue with a character that nobody sees is refused as a whole; any other attack is a label like another."""
    path = tmp_path / "labels" / "en.po"
    path.parent.mkdir()
    refused = 0
    for attack in EVERY:
        own = re.sub(r"[{][a-z]+[}]", "", attack) + " x"
        head = 'msgid ""\nmsgstr "Content-Type: text/plain; charset=utf-8\\n"\n\n'
        text = f"{head}msgid {quoted('Trainers')}\nmsgstr {quoted(own)}\n"
        path.write_text(text, encoding="utf-8", errors="surrogatepass", newline="\n")
        labels, _, problems = read_labels(tmp_path, base().program)
        refused += not labels
        assert labels == {"Trainers": own} or (problems and not labels), attack
    assert 10 < refused < 60


@pytest.mark.parametrize(
    "own", ["{count.__class__}", "{count} {", "} {count}", "{0} {count}", "{count!r}", "{ #id } x", "x"]
)
def test_a_label_that_is_filled_in_has_its_own_parts_and_no_other_brace(tmp_path: Path, own: str) -> None:
    """Wherever it is typed: what would stop the filling in, or reach into what is filled in, is refused with a word."""
    words = "On at least {count} different days."
    program = base().program.model_copy(update={"labels": {words: own}})
    labels, _, problems = read_labels(tmp_path, program)
    assert labels == {}
    assert [one.rule for one in problems] == ["labels-parts"]
    (tmp_path / "labels").mkdir()
    head = 'msgid ""\nmsgstr "Content-Type: text/plain; charset=utf-8\\n"\n\n'
    catalogue = f"{head}msgid {quoted(words)}\nmsgstr {quoted(own)}\n"
    (tmp_path / "labels" / "en.po").write_text(catalogue, encoding="utf-8")
    labels, _, problems = read_labels(tmp_path, base().program)
    assert labels == {}
    assert [one.rule for one in problems] == ["labels-parts"]


@pytest.mark.parametrize(
    "rule",
    [
        *("__import__('os').system('id')", "n.__class__", "n if n else 1", "(lambda: n)()", "n ** n", "9" * 5000),
        *("n % 0", "1 / (n - n)", "-n", "n * 1000000", "(" * 500 + "n" + ")" * 500, "!" * 3000 + "n", "n = 1", "[n]"),
    ],
)
def test_a_rule_of_plurals_chooses_a_form_or_is_refused(tmp_path: Path, rule: str) -> None:
    (tmp_path / "labels").mkdir()
    head = f'msgid ""\nmsgstr "Plural-Forms: nplurals=2; plural={rule};\\n"\n\n'
    words = 'msgid "{count} month"\nmsgid_plural "{count} months"\nmsgstr[0] "{count} one"\nmsgstr[1] "{count} more"\n'
    (tmp_path / "labels" / "en.po").write_text(head + words, encoding="utf-8")
    labels, plurals, problems = read_labels(tmp_path, base().program)
    said = replace(base(), labels=labels, plurals=plurals)
    for count in (0, 1, 2, 5):
        assert said.many(count, "{count} month", "{count} months") in (
            {f"{count} one", f"{count} more"} if not problems else {f"{count} month", f"{count} months"}
        )
    for problem in problems:
        assert_for_a_terminal(problem.message)


# --- the addresses of a program


@pytest.mark.parametrize("field", ["site_url", "language"])
def test_the_address_and_the_language_stay_what_they_are(field: str) -> None:
    for number, attack in enumerate(EVERY):
        if number % 12 and not attack.lower().startswith(("javascript", "data", "vbscript")):
            continue
        program = base().program.model_copy(update={field: attack})
        pages = written(replace(base(), program=program))
        assert pages.keys() == written_once().keys()
        for name in ("index.md", "skills/airway/mask-breath.md", "health.md"):
            assert_quiet(name, soup_of(pages[name]), clean_once()[name])


@cache
def written_once() -> dict[str, str]:
    return written(base())


@cache
def clean_once() -> dict[str, BeautifulSoup]:
    return {name: soup_of(page) for name, page in written_once().items()}


# --- PDFs other than single sheets

HOSTILE = ("<script>alert(1)</script>", "=cmd|' /C calc'!A0", '#read("/etc/passwd")', "../../etc", "\u202egnp.exe")


def whole_pdfs() -> Mapping[str, bytes]:
    curriculum, _ = one_by_one()
    readiness = invented_readiness(base(), HOSTILE)
    days = days_of(base(), store=None, seconds=2)
    day = next(iter(days.values()))
    packet = packet_of(
        curriculum, replace(day, lab=next(iter(curriculum.labs.values()))), sheets_of(curriculum, days=days)
    )
    return {
        "day": day_list(readiness, curriculum, lab=readiness.labs[0].lab),
        "board": board(readiness, curriculum),
        "standard": standard_sheet(curriculum, next(iter(curriculum.skills))),
        "letter": letter(readiness, HOSTILE[0], curriculum),
        "packet": typeset_packet(packet, "a4", Path("/nonexistent/store")).pdf,
    }


def test_pdfs_with_hostile_words_do_nothing_and_reach_nowhere() -> None:
    marks = set()
    for name, pdf in whole_pdfs().items():
        reader = pypdf.PdfReader(io.BytesIO(pdf))
        root: Any = reader.trailer["/Root"]
        assert not {"/OpenAction", "/AA", "/AcroForm"} & set(root), name
        for index in range(1, len(reader.xref_objStm) + sum(map(len, reader.xref.values())) + 1):
            found = reader.get_object(index) if index in reader.xref.get(0, {}) else None
            if isinstance(found, dict):
                assert not ACTIVE.search(repr(dict(found)).encode()), (name, index)
                assert found.get("/S") not in ("/URI", "/JavaScript", "/Launch"), (name, index)
        text = "".join(page.extract_text() for page in reader.pages)
        marks |= set(re.findall(r"q\d+q", text))
    assert len(marks) > 50, "the hostile words are really printed"


# --- files of attempts


def file_of_attempts(folder: Path, column: str) -> Path:
    """One row for each attack, in one column of a row that is otherwise good."""
    good = {
        "date": "2026-02-01", "learner": "L1", "skill": "mask-breath", "rung": "perform", "trainer": "whole-body",
        "evaluator": "E1", "role": "instructor", "team_role": "", "revision": "", "missed": "", "unseen": "",
        "note": "",
    }  # fmt: skip
    path = folder / f"{column}.csv"
    with path.open("w", encoding="utf-8", errors="replace", newline="") as stream:
        out = csv.DictWriter(stream, COLUMNS, restval="")
        out.writeheader()
        for number, attack in enumerate(EVERY):
            out.writerow(good | {"attempt": f"a{number}"} | {column: attack})
    return path


@pytest.mark.parametrize("column", COLUMNS)
def test_attempts_with_hostile_cells_reach_every_report_as_words(tmp_path: Path, column: str) -> None:
    read = read_attempts(file_of_attempts(tmp_path, column), base(), on=date(2026, 3, 1))
    assert read.rows >= len(EVERY) * 0.98  # an unclosed quote may join two
    assert len(read.attempts) + len(read.set_aside) == read.rows
    kept = {attempt.learner for attempt in read.attempts} | {"L1"}
    learners = sorted(kept)[:20]
    readiness = invented_readiness(base(), learners)
    html = report_html(readiness, base(), attempts=read.attempts, set_aside=read.set_aside, file_name="attempts.csv")
    soup = BeautifulSoup(html, "html.parser")
    assert not soup.find_all(["script", "link", "img", "iframe", "object", "embed", "form", "base", "svg:script"])
    assert not [key for tag in soup.find_all(True) for key in tag.attrs if HANDLER.match(key)]
    assert all(str(tag.get("href", "#")).startswith("#") for tag in soup.find_all("a"))
    assert_plain_csv(aside_csv(read.set_aside))
    standings = tuple(readiness.standings.values())
    assert_plain_csv(readiness_csv(standings))
    json.loads(readiness_json(readiness, standings, read.set_aside, rows=read.rows))
    assert_for_a_terminal(aside_text(read.set_aside, most=1000))
    assert_for_a_terminal(readiness_text(readiness, base(), standings))


def assert_plain_csv(text: str) -> None:
    """No cell that a spreadsheet would run; as many cells in each row as in the first."""
    rows = list(csv.reader(io.StringIO(text, newline="")))
    assert {len(row) for row in rows} == {len(rows[0])}
    for cell in (cell for row in rows for cell in row):
        assert not re.match(r"[\s\x00]*[=+\-@\uff1d\uff0b\uff0d\uff20]", cell) or re.fullmatch(
            r"-?\d+(\.\d+)?", cell
        ), cell


def assert_for_a_terminal(text: str) -> None:
    """No character that moves the cursor, colours, rings or turns the reading direction (ECMA-48; UAX #9)."""
    found = {hex(ord(one)) for one in text if one != "\n" and not one.isprintable()}
    assert found == set()


def test_rosters_take_codes_and_nothing_else(tmp_path: Path) -> None:
    path = tmp_path / "roster.csv"
    with path.open("w", encoding="utf-8", errors="replace", newline="") as stream:
        out = csv.writer(stream)
        out.writerow(("learner", "role"))
        out.writerows((attack, "peer") for attack in EVERY)
        out.writerows((f"L{number}", attack) for number, attack in enumerate(EVERY))
    lines, problems = read_roster(path)
    assert all(re.fullmatch(r"[A-Z0-9.-]{1,20}", line.learner) for line in lines)
    assert len(problems) > 1.8 * len(EVERY)
    for problem in problems:
        assert_for_a_terminal(problem.message)


def test_logs_of_runs_print_as_words(tmp_path: Path) -> None:
    scenario = next(iter(base().scenarios.values()))
    path = tmp_path / "log.csv"
    with path.open("w", encoding="utf-8", errors="replace", newline="") as stream:
        out = csv.writer(stream)
        out.writerow(("second", "clock", "event", "move", "state", "words"))
        for number, attack in enumerate(EVERY):
            out.writerow((number, "0:00", "note", "", "", attack))
            out.writerow((number, "0:00", "move", attack, "", "x"))
            out.writerow((number, attack, "seen", "x/y", attack, "x"))
    events, problems = read_run_log(path, scenario)
    assert len(events) + len(problems) > 2 * len(EVERY)
    said = debrief_text(base(), scenario, read_log(base(), scenario, events), events)
    assert said.count("\n") > len(EVERY)
    assert_for_a_terminal(said)
    for problem in problems:
        assert_for_a_terminal(problem.message)
