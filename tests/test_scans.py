"""Filled sheets read back: print → mark → scan → read gives what was marked, and nothing goes missing.

Marks and wear are drawn (tests/scans/), not collected, and the demo learners are invented.
"""

from __future__ import annotations

import csv
import io
import sys
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pypdfium2
import pytest

from generator.analysis.readiness import readiness_of
from generator.cli import main
from generator.model import Curriculum
from generator.reading import read_curriculum
from generator.reading.attempts import read_attempts
from generator.reading.roster import read_roster
from generator.reading.scans.codes import parse_code
from generator.reading.scans.outcome import append_rows, read_answers, read_scans
from generator.reading.scans.outlines import PX_PER_MM
from generator.reading.scans.prints import find_prints
from generator.reading.scans.rows import sheet_id
from generator.rendering.sheets import Job, Typeset, sheets_of, typeset_all

sys.path.insert(0, str(Path(__file__).parent / "scans"))
from filling import filled, pages_of

SHIPPED = Path(__file__).parent.parent / "curriculum"
SKILL = "oral-adjunct"
DAY = date(2027, 1, 13)


@pytest.fixture(scope="module")
def curriculum() -> Curriculum:
    found, _ = read_curriculum(SHIPPED)
    assert found is not None
    return found


@pytest.fixture(scope="module")
def printed(curriculum: Curriculum, tmp_path_factory: pytest.TempPathFactory) -> Typeset:
    sheet = next(one for one in sheets_of(curriculum) if (one.kind, one.id) == ("checklist", SKILL))
    return next(iter(typeset_all([Job(sheet=sheet, paper="us-letter")], store=tmp_path_factory.mktemp("store"))))


@pytest.fixture(scope="module")
def prints(printed: Typeset) -> dict[Any, Any]:
    g = printed.geometry
    return {(g["kind"], g["id"], g["revision"], g["paper"]): g}


def marks_of(curriculum: Curriculum, *, missed: tuple[str, ...] = (), unseen: tuple[str, ...] = ()) -> dict[str, str]:
    """One attempt on the last rung, scored by an instructor; other steps are ticked."""
    skill = curriculum.skills[SKILL]
    marks = {f"rung:{skill.ladder[-1].rung}": "marked", "scored-by:instructor": "marked"}
    for step in skill.steps:
        if step.id in unseen:
            marks[f"step:{step.id}:attempt-1"] = "line"
        elif step.id not in missed:
            marks[f"step:{step.id}:attempt-1"] = "marked"
    return marks


def scan(folder: Path, pages: list[np.ndarray[Any, Any]], name: str = "scan") -> list[Path]:
    paths = []
    for number, page in enumerate(pages, start=1):
        path = folder / f"{name}-{number}.png"
        cv2.imwrite(str(path), page)
        paths.append(path)
    return paths


WHO = {"learner": "L01", "evaluator": "E1", "date": DAY.isoformat()}


def answered(outcome: Any, **more: str) -> dict[str, dict[str, str]]:
    return {held.reading.id: {**WHO, **more} for held in outcome.held}


def test_what_a_code_says() -> None:
    blank = parse_code("CHECKLIST:ORAL-ADJUNCT:0CD63D2D:US-LETTER:2")
    assert blank is not None
    assert (blank.kind, blank.id, blank.revision, blank.paper, blank.page) == (
        "checklist", "oral-adjunct", "0cd63d2d", "us-letter", 2,
    )  # fmt: skip
    full = parse_code("CHECKLIST:ORAL-ADJUNCT:0CD63D2D:A4:1:L07:P:20270113:ISOLATE:3")
    assert full is not None and full.address is not None
    assert (full.address.learner, full.address.role, full.address.on, full.address.copy) == ("L07", "peer", DAY, 3)
    for other in ("", "https://handbook.example/", "CHECKLIST:X:ZZZZZZZZ:A4:1", "A" * 500,
                  "CHECKLIST:X:0CD63D2D:A4:1:L07:P:20271313:ISOLATE:3"):  # fmt: skip
        assert parse_code(other) is None


@pytest.mark.parametrize("worn", ["flatbed", "rotated", "photographed", "stained", "copied"])
def test_a_marked_sheet_gives_the_row_that_was_marked(
    curriculum: Curriculum, printed: Typeset, prints: dict[Any, Any], tmp_path: Path, worn: str
) -> None:
    steps = [step.id for step in curriculum.skills[SKILL].steps]
    missed, unseen = (steps[1], steps[6]), (steps[8],)
    marks = marks_of(curriculum, missed=missed, unseen=unseen)
    marks[f"step:{steps[6]}:attempt-1"] = "filled"  # a tick that was taken back counts as missed
    pages = filled(pages_of(printed.pdf), printed.geometry, marks, seed=5, worn=worn)
    paths = scan(tmp_path, pages)
    first = read_scans(paths, prints, curriculum, answers={})
    assert (first.pages, first.sheets, len(first.refused)) == (len(pages), 1, 0)
    asked = [question.what for question in first.held[0].reading.questions]
    assert asked[:3] == ["learner", "evaluator", "date"]
    # A worn sheet may leave a box or two to a person, who sees what was marked.
    assert len(asked) <= (3 if worn == "flatbed" else 6)
    truth = {what: marks.get(what, "empty") for what in asked[3:]}
    truth |= {group: what.partition(":")[2] for what in marks for group in [what.partition(":")[0]] if group in asked}
    [row] = read_scans(paths, prints, curriculum, answers=answered(first, **truth)).rows
    assert (row.missed, row.unseen) == (missed, unseen)
    assert (row.rung, row.role, row.learner, row.on) == (
        curriculum.skills[SKILL].ladder[-1].rung,
        "instructor",
        "L01",
        DAY,
    )
    assert row.revision == printed.geometry["revision"]


def test_pages_in_any_order_and_a_pdf(
    curriculum: Curriculum, printed: Typeset, prints: dict[Any, Any], tmp_path: Path
) -> None:
    pages = filled(pages_of(printed.pdf), printed.geometry, marks_of(curriculum), seed=2)
    document = pypdfium2.PdfDocument.new()
    for page in reversed(pages):
        turned = cv2.rotate(page, cv2.ROTATE_180)
        _, data = cv2.imencode(".jpg", turned)
        picture = pypdfium2.PdfImage.new(document)
        picture.load_jpeg(io.BytesIO(bytes(data)), inline=True)
        height, width = turned.shape
        sheet = document.new_page(612, 612 * height / width)
        matrix = pypdfium2.PdfMatrix().scale(612, 612 * height / width)
        picture.set_matrix(matrix)
        sheet.insert_obj(picture)
        sheet.gen_content()
    path = tmp_path / "pile.pdf"
    document.save(str(path))
    first = read_scans([path], prints, curriculum, answers={})
    assert first.refused == ()
    [row] = read_scans([path], prints, curriculum, answers=answered(first)).rows
    assert row.is_clean


def test_the_round_trip_equals_the_typed_rows(
    curriculum: Curriculum, printed: Typeset, prints: dict[Any, Any], tmp_path: Path
) -> None:
    """Print → mark → scan → read → ready says the same as the rows typed by hand."""
    steps = [step.id for step in curriculum.skills[SKILL].steps]
    plans = [((), ()), ((steps[2],), ()), ((), (steps[4],)), ((), ())]
    into, typed = tmp_path / "read.csv", tmp_path / "typed.csv"
    rows = []
    for number, (missed, unseen) in enumerate(plans):
        marks = marks_of(curriculum, missed=missed, unseen=unseen)
        paths = scan(tmp_path, filled(pages_of(printed.pdf), printed.geometry, marks, seed=number), f"sheet{number}")
        first = read_scans(paths, prints, curriculum, answers={})
        day = date(2027, 1, 13 + number).isoformat()
        read = read_scans(paths, prints, curriculum, answers=answered(first, date=day))
        assert append_rows(into, read.rows) == (1, 0)
        assert append_rows(into, read.rows) == (0, 1)  # the same pile again adds nothing
        skill = curriculum.skills[SKILL]
        end = skill.ladder[-1]
        row = [day, "L01", SKILL, end.rung, end.trainer, "E1", "instructor", "", f"typed-{number}"]
        rows.append([*row, printed.geometry["revision"], " ".join(missed), " ".join(unseen), ""])
    with typed.open("w", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(into.read_text().splitlines()[0].split(","))
        writer.writerows(rows)
    on = date(2027, 1, 20)
    known = {}
    both = [
        readiness_of(curriculum, read_attempts(path, curriculum, revisions=known).attempts, on=on)
        for path in (into, typed)
    ]
    assert both[0].standings == both[1].standings
    assert any(standing.clean_in_a_row for standing in both[0].standings.values())


def test_a_column_without_marks_is_no_attempt_and_a_sheet_without_marks_no_row(
    curriculum: Curriculum, printed: Typeset, prints: dict[Any, Any], tmp_path: Path
) -> None:
    marks = {"rung:perform": "marked", "scored-by:peer": "marked"}
    paths = scan(tmp_path, filled(pages_of(printed.pdf), printed.geometry, marks, seed=1))
    first = read_scans(paths, prints, curriculum, answers={}, on=DAY, evaluator="E1")
    read = read_scans(
        paths, prints, curriculum, answers={first.held[0].reading.id: {"learner": "L02"}}, on=DAY, evaluator="E1"
    )
    assert (read.rows, read.held, read.unused) == ((), (), 1)


def test_a_result_that_contradicts_the_steps_is_asked(
    curriculum: Curriculum, printed: Typeset, prints: dict[Any, Any], tmp_path: Path
) -> None:
    critical = curriculum.skills[SKILL].critical_steps[0].id
    marks = {**marks_of(curriculum, missed=(critical,)), "result:clean:attempt-1": "marked"}
    paths = scan(tmp_path, filled(pages_of(printed.pdf), printed.geometry, marks, seed=3))
    first = read_scans(paths, prints, curriculum, answers={})
    assert "attempt-1" in [question.what for question in first.held[0].reading.questions]
    [row] = read_scans(paths, prints, curriculum, answers=answered(first, **{"attempt-1": "yes"})).rows
    assert row.missed == (critical,)


def test_two_rungs_ticked_is_asked(
    curriculum: Curriculum, printed: Typeset, prints: dict[Any, Any], tmp_path: Path
) -> None:
    marks = {**marks_of(curriculum), "rung:isolate": "marked"}
    paths = scan(tmp_path, filled(pages_of(printed.pdf), printed.geometry, marks, seed=4))
    [held] = read_scans(paths, prints, curriculum, answers={}).held
    assert "rung" in [question.what for question in held.reading.questions]


def test_a_missing_page_and_an_unknown_revision_are_told(
    curriculum: Curriculum, printed: Typeset, prints: dict[Any, Any], tmp_path: Path
) -> None:
    pages = filled(pages_of(printed.pdf), printed.geometry, marks_of(curriculum), seed=6)
    paths = scan(tmp_path, pages)
    [held] = read_scans(paths[:-1], prints, curriculum, answers={}).held
    assert held.reading.questions[0].asks == f"Page {len(pages)} of {len(pages)} was not scanned."
    older = {(*key[:2], "00000000", key[3]): value for key, value in prints.items()}
    outcome = read_scans(paths, older, curriculum, answers={})
    assert outcome.rows == () and len(outcome.refused) == len(pages)
    assert "not among the prints" in outcome.refused[0].reason


def spoilt(rng: np.random.Generator, page: np.ndarray[Any, Any], number: int) -> np.ndarray[Any, Any]:
    """Random noise, other forms, torn and half sheets."""
    height, width = page.shape
    sort = number % 6
    if sort == 0:
        return rng.integers(0, 256, (height // 3, width // 3)).astype(np.uint8)
    if sort == 1:
        return np.full((1200, 900), int(rng.integers(0, 256)), np.uint8)
    if sort == 2:
        return page[: int(height * rng.uniform(0.3, 0.8))]
    if sort == 3:
        return page[:, int(width * rng.uniform(0.3, 0.6)) :]
    if sort == 4:
        torn = page.copy()
        corner = np.array([(0, 0), (int(width * 0.9), 0), (0, int(height * 0.6))])
        return cv2.fillPoly(torn, [corner], 60)
    form = np.full((1600, 1200), 255, np.uint8)
    for row in range(10):
        cv2.rectangle(form, (100, 100 + row * 120), (160, 160 + row * 120), 0, 3)
    return form


def test_whatever_is_scanned_ends_somewhere(
    curriculum: Curriculum, printed: Typeset, prints: dict[Any, Any], tmp_path: Path
) -> None:
    rng = np.random.default_rng(11)
    pages = pages_of(printed.pdf)
    paths = []
    for number in range(48):
        path = tmp_path / f"{number:02}.png"
        cv2.imwrite(str(path), spoilt(rng, pages[number % len(pages)], number))
        paths.append(path)
    for name, data in (("empty.png", b""), ("text.jpg", b"not a picture"), ("broken.pdf", b"%PDF-1.7 broken"),
                       ("cut.png", (tmp_path / "05.png").read_bytes()[:400])):  # fmt: skip
        path = tmp_path / name
        path.write_bytes(data)
        paths.append(path)
    outcome = read_scans(paths, prints, curriculum, answers={})
    on_sheets = sum(len(held.sheet.pages) for held in outcome.held)
    assert outcome.pages == len(paths) == on_sheets + len(outcome.refused)
    assert outcome.rows == ()


def test_appending_keeps_what_is_there_and_refuses_another_file(tmp_path: Path, curriculum: Curriculum) -> None:
    other = tmp_path / "other.csv"
    other.write_text("name,phone\nsomebody,1\n")
    from generator.model.attempt import Attempt

    row = Attempt(line=0, on=DAY, learner="L01", skill=SKILL, rung="isolate", trainer="x", evaluator="E1", role="peer",
                  team_role="", attempt="abc.1", revision="0cd63d2d")  # fmt: skip
    with pytest.raises(ValueError, match="columns of attempts"):
        append_rows(other, [row])
    assert other.read_text() == "name,phone\nsomebody,1\n"
    good = tmp_path / "good.csv"
    assert append_rows(good, [row, replace(row, attempt="abc.2"), row]) == (2, 1)
    assert good.read_bytes().count(b"\r\n") == 3
    assert good.stat().st_mode & 0o077 == 0  # learner records are for their keeper alone


def test_answers_are_read_and_bad_lines_told(tmp_path: Path) -> None:
    path = tmp_path / "answers.csv"
    path.write_text("sheet,what,answer\r\nab,learner,L01\r\nab,,x\r\ncd,step:seal:attempt-1,marked\r\n")
    answers, troubles = read_answers(path)
    assert answers == {"ab": {"learner": "L01"}, "cd": {"step:seal:attempt-1": "marked"}}
    assert troubles == ("answers.csv:3: this line names no sheet, place or answer; it is passed over",)


def test_only_geometry_is_taken_for_a_print(tmp_path: Path, printed: Typeset) -> None:
    (tmp_path / "sheet.json").write_bytes(printed.geometry_json())
    (tmp_path / "other.json").write_text('{"places": 3}')
    (tmp_path / "broken.json").write_text("{")
    assert list(find_prints([tmp_path, tmp_path / "absent"])) == [
        ("checklist", SKILL, printed.geometry["revision"], "us-letter")
    ]


def test_the_command_from_scan_to_rows(
    curriculum: Curriculum, printed: Typeset, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "prints").mkdir()
    (tmp_path / "prints" / "sheet.json").write_bytes(printed.geometry_json())
    (tmp_path / "pile").mkdir()
    scan(tmp_path / "pile", filled(pages_of(printed.pdf), printed.geometry, marks_of(curriculum), seed=8))
    into = tmp_path / "attempts.csv"
    words = ["read", str(tmp_path / "pile"), "--into", str(into), "--prints", str(tmp_path / "prints"),
             "--curriculum", str(SHIPPED), "--on", DAY.isoformat(), "--evaluator", "E1"]  # fmt: skip
    assert main(words) == 1
    page = tmp_path / "attempts-to-confirm" / "confirm.html"
    html = page.read_text(encoding="utf-8")
    assert "Which learner code is written here?" in html
    assert html.count("data:image/png;base64,") >= 1
    assert "http" not in html.replace("http-equiv", "")
    id = html.split('data-sheet="')[1].split('"')[0]
    (tmp_path / "answers.csv").write_text(f"sheet,what,answer\r\n{id},learner,L03\r\n")
    assert main([*words, "--answers", str(tmp_path / "answers.csv")]) == 0
    assert "1 rows added" in capsys.readouterr().out
    read = read_attempts(into, curriculum, revisions={})
    assert (len(read.attempts), read.set_aside) == (1, ())
    assert read.attempts[0].learner == "L03"


def test_pixels_and_millimeters_agree() -> None:
    """1 inch is 25.4 mm (NIST SP 811, exact): 8 pixels a millimeter are 203.2 dpi."""
    assert pytest.approx(203.2) == PX_PER_MM * 25.4


def test_a_blank_sheet_has_the_same_name_when_it_is_read_again(
    curriculum: Curriculum, printed: Typeset, prints: dict[Any, Any], tmp_path: Path
) -> None:
    paths = scan(tmp_path, filled(pages_of(printed.pdf), printed.geometry, marks_of(curriculum), seed=9))
    ids = {sheet_id(read_scans(paths, prints, curriculum, answers={}).held[0].sheet) for _ in range(2)}
    assert len(ids) == 1


def test_a_sheet_printed_for_someone_needs_no_typing(curriculum: Curriculum, tmp_path: Path) -> None:
    """Print for a roster → mark → scan → read: learner, role, day and rung come from the sheet code."""
    roster = tmp_path / "roster.csv"
    roster.write_text("learner,role\r\nL01,\r\nL02,instructor\r\n")
    out = tmp_path / "prints"
    words = ["print", "--lab", "airway-1", "--roster", str(roster), "--one-sided", "--out", str(out)]
    assert main([*words, "--curriculum", str(SHIPPED)]) == 0
    prints = find_prints([out])
    pages = pages_of((out / f"checklists-airway-1-{curriculum.program.paper}.pdf").read_bytes())
    key = next(key for key in prints if key[1] == "recovery-position")
    skill, geometry = curriculum.skills["recovery-position"], prints[key]
    per_learner = sum(print_["pages"] for print_ in prints.values())
    assert len(pages) == 2 * per_learner
    station_order = [curriculum.stations[stop.station].skill for stop in curriculum.labs["airway-1"].stations]
    before = sum(prints[(*("checklist", id), *key[2:])]["pages"] if id == key[1] else
                 next(p["pages"] for k, p in prints.items() if k[1] == id)
                 for id in station_order[: station_order.index("recovery-position")])  # fmt: skip
    mine = pages[per_learner + before : per_learner + before + geometry["pages"]]
    plan = next(p for p in skill.ladder if p.rung == curriculum.stations["recovery-isolate"].rung)
    missed = skill.steps_on(plan)[0].id
    marks = {f"step:{step.id}:attempt-1": "marked" for step in skill.steps_on(plan) if step.id != missed}
    paths = scan(tmp_path, filled(mine, geometry, marks, seed=4))
    outcome = read_scans(paths, prints, curriculum, answers={}, evaluator="E4")
    assert outcome.held == () and outcome.refused == ()
    [row] = outcome.rows
    assert (row.learner, row.role, row.on, row.rung) == ("L02", "instructor", DAY, plan.rung)
    assert row.missed == (missed,)
    # The same sheet scanned anew is known by what is printed on it, however the scan came out.
    again = scan(tmp_path, filled(mine, geometry, marks, seed=5, worn="photographed"), "again")
    second = read_scans(again, prints, curriculum, answers={}, evaluator="E4")
    into = tmp_path / "attempts.csv"
    assert append_rows(into, outcome.rows) == (1, 0)
    assert append_rows(into, second.rows)[0] == 0


def test_a_roster_with_a_name_in_it_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "roster.csv"
    path.write_text("learner,role\nL01,\nNo Body,\nL02,boss\nL01,peer\n")
    lines, problems = read_roster(path)
    assert [line.learner for line in lines] == ["L01"]
    assert [(problem.rule, problem.location.line) for problem in problems] == [
        ("roster-unread", 3), ("roster-unread", 4), ("roster-unread", 5),
    ]  # fmt: skip


def test_two_processes_read_the_same_as_one(
    curriculum: Curriculum, printed: Typeset, prints: dict[Any, Any], tmp_path: Path
) -> None:
    paths = []
    for number in range(4):
        pages = filled(pages_of(printed.pdf), printed.geometry, marks_of(curriculum), seed=20 + number)
        paths += scan(tmp_path, pages, f"s{number}")
    one, two = (
        read_scans(paths, prints, curriculum, answers={}, on=DAY, evaluator="E1", workers=workers) for workers in (1, 2)
    )
    assert one.pages == two.pages == len(paths) >= 12
    assert [held.reading for held in one.held] == [held.reading for held in two.held]


@pytest.mark.parametrize("option", ["--into", "--confirm"])
def test_nothing_about_learners_is_written_into_the_curriculum(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], option: str
) -> None:
    folder = tmp_path / "curriculum"
    folder.mkdir()
    words = {"--into": tmp_path / "attempts.csv", "--confirm": tmp_path / "confirm", option: folder / "here"}
    said = [word for name, path in words.items() for word in (name, str(path))]
    assert main(["read", str(tmp_path), *said, "--curriculum", str(folder)]) == 3
    assert "lies in the curriculum" in capsys.readouterr().err
    assert list(folder.iterdir()) == []
