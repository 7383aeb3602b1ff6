"""The command `ready`: what it prints and writes, what it refuses to write, and that no code of a learner is published.

The invented cohort of `curriculum/example-records` is what it reads here.
"""

from __future__ import annotations

import csv
import importlib.util
import io
import json
import re
import shutil
import subprocess
from datetime import date
from pathlib import Path
from types import ModuleType

import pypdf
import pytest

from generator.analysis.readiness import Status, readiness_of
from generator.build import prepare, problems_of, publish
from generator.cli import main
from generator.model import Curriculum
from generator.model.attempt import Attempt
from generator.reading import read_curriculum
from generator.reading.attempts import AttemptsFile, read_attempts
from generator.reading.revisions import read_revisions
from generator.rendering.sheets import sheets_of

ROOT = Path(__file__).parents[1]
SHIPPED = ROOT / "curriculum"
RECORDS = SHIPPED / "example-records"
COHORT = RECORDS / "cohort.csv"
ON = "2027-03-31"


@pytest.fixture(scope="module")
def curriculum() -> Curriculum:
    found, _ = read_curriculum(SHIPPED)
    assert found is not None
    return found


@pytest.fixture(scope="module")
def cohort(curriculum: Curriculum) -> AttemptsFile:
    known, problems = read_revisions(RECORDS / "revisions.json")
    assert problems == ()
    return read_attempts(COHORT, curriculum, revisions=known)


def maker() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_cohort", RECORDS / "make_cohort.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def ready(*words: str | Path, curriculum: Path = SHIPPED) -> int:
    return main(["ready", *map(str, words), "--curriculum", str(curriculum), "--on", ON])


# --- the invented cohort -----------------------------------------------------------------------------------------


def test_the_script_makes_the_same_bytes_again() -> None:
    made = maker().files()
    assert set(made) == {"cohort.csv", "revisions.json"}
    for name, content in made.items():
        assert (RECORDS / name).read_bytes() == content


def test_the_cohort_is_large_enough_sound_and_said_to_be_invented(cohort: AttemptsFile) -> None:
    assert cohort.set_aside == ()
    assert cohort.remarks == ()
    assert len({one.learner for one in cohort.attempts}) == 24
    assert len({(one.learner, one.skill, one.attempt) for one in cohort.attempts}) >= 1_500
    assert not any(one.flag for one in cohort.attempts)
    assert {one.on.replace(day=1) for one in cohort.attempts} == {date(2027, month, 1) for month in (1, 2, 3)}
    for name in ("README.md", "make_cohort.py"):
        assert "nvented" in (RECORDS / name).read_text(encoding="utf-8")[:300]


def test_the_report_finds_what_was_built_into_the_cohort(curriculum: Curriculum, cohort: AttemptsFile) -> None:
    found = readiness_of(curriculum, cohort.attempts, on=date(2027, 3, 31))
    tilt = next(one for one in found.carry_over if one.technique == "head-tilt")
    assert set(tilt.given_first.learners) == {f"L{number}" for number in range(17, 25)}
    assert tilt.interval.low > 0  # type: ignore[union-attr]
    statuses = {one.status for one in found.standings.values()}
    assert statuses == set(Status) - {Status.REFRESH_DUE}
    autumn = readiness_of(curriculum, cohort.attempts, on=date(2027, 10, 1))
    assert Status.REFRESH_DUE in {one.status for one in autumn.standings.values()}

    tries: dict[tuple[str, str], list[bool]] = {}
    for one in cohort.attempts:
        if one.rung == "isolate":
            tries.setdefault((one.learner, one.skill), []).append(one.is_clean)
    first = [is_clean for marks in tries.values() for is_clean in marks[:2]]
    later = [is_clean for marks in tries.values() for is_clean in marks[4:]]
    assert sum(first) / len(first) + 0.1 < sum(later) / len(later)


def test_harsh_and_lax_peers_are_there_to_be_found(cohort: AttemptsFile) -> None:
    pairs: dict[str, list[Attempt]] = {}
    for one in cohort.attempts:
        pairs.setdefault(one.attempt, []).append(one)
    both = [(a, b) for marks in pairs.values() if len(marks) == 2 for a, b in [sorted(marks, key=lambda m: m.role)]]
    assert len(both) >= 100
    assert all((instructor.role, peer.role) == ("instructor", "peer") for instructor, peer in both)
    overlooked = dict.fromkeys(("lax", "others"), 0)
    there = dict(overlooked)
    for instructor, peer in both:
        who = "lax" if peer.evaluator in ("L08", "L19") else "others"
        there[who] += len(instructor.missed)
        overlooked[who] += len(set(instructor.missed) - set(peer.missed))
    assert overlooked["lax"] / there["lax"] > overlooked["others"] / there["others"]


# --- what is printed ---------------------------------------------------------------------------------------------


def test_text_leads_with_the_cohort(capsys: pytest.CaptureFixture[str]) -> None:
    assert ready(COHORT) == 0
    said = capsys.readouterr()
    assert said.err == ""
    assert said.out.startswith("On 2027-03-31: 24 learners, ")
    for words in ("On hold:", "Ready to check:", "Clearances that end next:", "Steps missed most", "clean in a row"):
        assert words in said.out
    assert max(map(len, said.out.splitlines())) < 400


def test_a_learner_is_shown_with_every_reason(capsys: pytest.CaptureFixture[str]) -> None:
    assert ready(COHORT, "--learner", "L14", "--skill", "oral-adjunct") == 0
    said = capsys.readouterr().out
    assert said.startswith("L14, Oral airway adjunct: ")
    assert "attempts on this rung were clean" in said


def test_csv_and_json_say_the_same(capsys: pytest.CaptureFixture[str], curriculum: Curriculum) -> None:
    assert ready(COHORT, "--format", "csv") == 0
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out, newline="")))
    assert ready(COHORT, "--format", "json") == 0
    whole = json.loads(capsys.readouterr().out)
    assert len(rows) == len(whole["standings"]) == 24 * len(curriculum.skills)
    for row, one in zip(rows, whole["standings"], strict=True):
        assert (row["learner"], row["skill"], row["status"]) == (one["learner"], one["skill"], one["status"])
        assert row["valid_until"] == (one["valid_until"] or "")
        assert row["reasons"] == " ".join(one["reasons"])
    assert whole["rows"]["read"] == whole["rows"]["judged"] + whole["rows"]["set_aside"]
    assert whole["on"] == ON


def test_rows_set_aside_are_said_and_written_and_make_the_exit_code(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "attempts.csv"
    lines = COHORT.read_bytes().decode().splitlines(keepends=True)[:30]
    lines[5] = lines[5].replace("open-airway", "opn-airway")
    path.write_text("".join([*lines, lines[0], lines[3]]), encoding="utf-8", newline="")
    shutil.copy(RECORDS / "revisions.json", tmp_path)
    aside = tmp_path / "aside.csv"
    assert ready(path, "--aside", aside) == 1
    said = capsys.readouterr().err
    assert "1 row set aside: skill-unknown" in said
    assert "Did you mean open-airway-by-hand?" in said
    rows = list(csv.DictReader(io.StringIO(aside.read_text(encoding="utf-8"), newline="")))
    assert [(row["line"], row["rule"]) for row in rows] == [
        ("6", "skill-unknown"), ("31", "header-repeated"), ("32", "row-repeated"),
    ]  # fmt: skip
    lines[5] = ""
    path.write_text("".join([*lines, lines[0], lines[3]]), encoding="utf-8", newline="")
    assert ready(path) == 0


def test_slips_are_said_without_a_traceback(tmp_path: Path, tiny: Path, capsys: pytest.CaptureFixture[str]) -> None:
    empty = tmp_path / "empty.csv"
    empty.write_bytes(b"")
    for words, code, says in (
        ([COHORT, "--skill", "oral-adjnct"], 2, "Did you mean oral-adjunct?"),
        ([COHORT, "--learner", "L99"], 2, "no learner is called L99"),
    ):
        assert ready(*words) == code, words
        assert says in capsys.readouterr().err
    for words, code, says in (
        ([tmp_path / "none.csv"], 3, "is not a file"),
        ([tmp_path], 3, "is not a file"),
        ([empty], 1, "The file is empty"),
        ([COHORT, "--encoding", "klingon"], 3, "no encoding is called klingon"),
        ([COHORT, "--encoding", "base64"], 3, "no encoding is called base64"),
        ([COHORT, "--revisions", tmp_path / "none.json"], 3, "is not there"),
    ):
        assert ready(*words, curriculum=tiny) == code, words
        assert says in capsys.readouterr().err


def test_papers_are_written_where_they_were_asked_for(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert ready(COHORT, "--html", tmp_path / "r.html", "--letters", tmp_path / "l", "--learner", "L14") == 0
    assert (tmp_path / "r.html").read_text(encoding="utf-8").startswith("<!doctype html>")
    assert [path.name for path in (tmp_path / "l").iterdir()] == ["letter-L14.pdf"]
    assert (tmp_path / "l" / "letter-L14.pdf").read_bytes().startswith(b"%PDF-")


def test_printing_remembers_the_sheets_that_were_printed(
    tmp_path: Path, tiny: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A sheet is printed, the skill changes, it is printed again: marks on either print are judged by its own steps."""
    monkeypatch.chdir(tmp_path)
    shutil.rmtree(tiny / "scenarios", ignore_errors=True)  # they name the step that is about to change
    printing = ["print", "practice", "mask-breath", "--curriculum", str(tiny), "--out", "sheets"]
    assert main(printing) == 0
    (old,) = json.loads((tmp_path / "sheets/revisions.json").read_bytes())
    path = tiny / "skills/airway/mask-breath.yaml"
    text = path.read_text(encoding="utf-8")
    changed = text.replace("  - id: gloves\n    do: Put on gloves.", "  - id: mitts\n    do: Put on mitts.")
    assert changed != text
    path.write_text(changed, encoding="utf-8")
    assert main(printing) == 0
    known, problems = read_revisions(tmp_path / "sheets/revisions.json")
    assert (len(known), problems) == (2, ())
    row = f"2027-01-13,L1,mask-breath,perform,whole-body,E1,peer,,a1,{old},gloves,,\r\n"
    header = "date,learner,skill,rung,trainer,evaluator,role,team_role,attempt,revision,missed,unseen,note\r\n"
    (tmp_path / "a.csv").write_text(header + row, encoding="utf-8", newline="")
    assert ready(tmp_path / "a.csv", curriculum=tiny) == 0
    (tmp_path / "sheets/revisions.json").unlink()
    assert ready(tmp_path / "a.csv", curriculum=tiny) == 1


def test_the_list_for_a_day_says_which_attempts_were_marked_on_an_older_print(
    tmp_path: Path, tiny: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A packet is printed for a day, a critical step is added, and marks on the earlier print come in."""
    monkeypatch.chdir(tmp_path)
    shutil.rmtree(tiny / "scenarios", ignore_errors=True)
    day = tiny / "labs/first-day.yaml"
    day.write_text(day.read_text(encoding="utf-8").replace("2026-09-14", "2027-02-01"), encoding="utf-8")
    packet = ["print", "--lab", "first-day", "--curriculum", str(tiny)]
    assert main(packet) == 0
    printed = json.loads((tmp_path / "sheets/revisions.json").read_bytes())
    old = next(revision for revision, one in printed.items() if one["skill"] == "mask-breath")
    header = "date,learner,skill,rung,trainer,evaluator,role,team_role,attempt,revision,missed,unseen,note\r\n"
    rows = [f"2027-01-{10 + n},L1,mask-breath,{place},E1,instructor,,a{n},{old},,,\r\n" for n, place in enumerate(
        ["isolate,half-torso"] * 3 + ["perform,whole-body"]
    )]  # fmt: skip
    (tmp_path / "a.csv").write_text(header + "".join(rows), encoding="utf-8", newline="")
    path = tiny / "skills/airway/mask-breath.yaml"
    before = path.read_text(encoding="utf-8")
    path.write_text(before.replace("Put on gloves.", "Put on two gloves."), encoding="utf-8")
    told = _lists(tmp_path, tiny)
    assert "4 attempts were marked on an older print, the last on 13 January 2027." in told
    assert "did not list" not in told
    path.write_text(before.replace("  - id: gloves\n", f"{LOOK_FIRST}  - id: gloves\n"), encoding="utf-8")
    assert "It did not list “Look first”: watch for that." in _lists(tmp_path, tiny)
    path.write_text(before, encoding="utf-8")
    assert "older print" not in _lists(tmp_path, tiny)


LOOK_FIRST = """\
  - id: look
    do: Look first.
    see: Looks before touching.
    critical: true
    critical_because: It may not be safe.
"""


def _lists(tmp_path: Path, tiny: Path) -> str:
    """The list of the day as text, with what the sheets of the day say of their revision checked against today's."""
    assert main(["ready", str(tmp_path / "a.csv"), "--on", "2027-01-20", "--curriculum", str(tiny),
                 "--lists", str(tmp_path / "lists")]) == 0  # fmt: skip
    found, _ = read_curriculum(tiny)
    assert found is not None
    now = next(sheet.revision for sheet in sheets_of(found) if (sheet.kind, sheet.id) == ("checklist", "mask-breath"))
    pages = pypdf.PdfReader(tmp_path / "lists/list-first-day.pdf").pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert f"revision {now}" in text
    return text


def test_sheets_of_a_git_revision_are_known_when_it_is_named(
    tmp_path: Path, tiny: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    def git(*words: str) -> None:
        who = ("-c", "user.name=Tester", "-c", "user.email=tester@invented.example")
        subprocess.run(["git", "-C", str(tiny.parent), *who, *words], check=True, capture_output=True)

    git("init", "-q")
    git("add", "curriculum")
    git("commit", "-qm", "First")
    before, _ = read_curriculum(tiny)
    assert before is not None
    old = next(sheet.revision for sheet in sheets_of(before) if (sheet.kind, sheet.id) == ("checklist", "mask-breath"))
    shutil.rmtree(tiny / "scenarios", ignore_errors=True)
    path = tiny / "skills/airway/mask-breath.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace("  - id: gloves\n", "  - id: mitts\n"), encoding="utf-8")
    row = f"2027-01-13,L1,mask-breath,perform,whole-body,E1,peer,,a1,{old},gloves,,\r\n"
    header = "date,learner,skill,rung,trainer,evaluator,role,team_role,attempt,revision,missed,unseen,note\r\n"
    (tmp_path / "a.csv").write_text(header + row, encoding="utf-8", newline="")
    assert ready(tmp_path / "a.csv", curriculum=tiny) == 1
    assert "step-unknown" in capsys.readouterr().err
    assert ready(tmp_path / "a.csv", "--sheets-at", "HEAD", curriculum=tiny) == 0
    assert ready(tmp_path / "a.csv", "--sheets-at", "nowhere", curriculum=tiny) == 3


# --- nothing about learners is published -------------------------------------------------------------------------


PUBLIC = ("site/x", "curriculum/x", "curriculum/pages/../x", "linked/x", "marked/deep/x", "repo.x")


@pytest.mark.parametrize("option", ["--html", "--letters", "--board", "--lists", "--aside"])
@pytest.mark.parametrize("place", PUBLIC)
def test_it_refuses_to_write_where_others_read(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tiny: Path, option: str, place: str
) -> None:
    tmp_path = tiny.parent
    (tmp_path / "site").mkdir()
    (tmp_path / "marked").mkdir()
    (tmp_path / "marked" / ".rungbook-site").touch()
    (tmp_path / "linked").symlink_to(tiny)
    if place == "repo.x":
        (tmp_path / ".git").mkdir()
    monkeypatch.chdir(tmp_path)
    before = sorted(tmp_path.rglob("*"))
    assert ready(COHORT, option, place, curriculum=tiny) == 3
    assert "Records of learners never go there" in capsys.readouterr().err
    assert sorted(tmp_path.rglob("*")) == before


def test_it_refuses_to_write_over_the_attempts(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "attempts.csv"
    shutil.copy(COHORT, path)
    assert ready(path, "--aside", path) == 3
    assert path.read_bytes() == COHORT.read_bytes()
    assert "the file of attempts itself" in capsys.readouterr().err


def test_a_site_built_after_ready_holds_no_code_of_a_learner(tmp_path: Path, tiny: Path) -> None:
    from generator.mkdocs_plugin import make_site

    codes = ("Q7X1", "Q7X2", "EVAL9Z")
    records = tiny / "example-records"
    records.mkdir()
    row = "2027-01-13,{},mask-breath,isolate,half-torso,{},peer,,{},,seal,,Note of Q7X1\r\n"
    header = "date,learner,skill,rung,trainer,evaluator,role,team_role,attempt,revision,missed,unseen,note\r\n"
    text = header + row.format("Q7X1", "EVAL9Z", "a1") + row.format("Q7X2", "Q7X1", "a2")
    (records / "attempts.csv").write_text(text, encoding="utf-8", newline="")
    assert ready(records / "attempts.csv", "--html", tmp_path / "private" / "r.html", curriculum=tiny) == 0
    assert all(code in (tmp_path / "private" / "r.html").read_text(encoding="utf-8") for code in codes[:2])
    today = date(2027, 1, 14)
    curriculum, problems = problems_of(tiny, today=today)
    assert curriculum is not None
    prepared = prepare(curriculum, problems, today=today, papers=(), store=tmp_path / "store")
    config = tmp_path / "mkdocs.yml"
    config.write_text((ROOT / "mkdocs.yml").read_text(encoding="utf-8"), encoding="utf-8")
    shutil.copytree(ROOT / "site_overrides", tmp_path / "site_overrides", dirs_exist_ok=True)
    publish(
        prepared,
        tmp_path / "site",
        make_site=lambda ready, folder: make_site(ready, folder, config_file=config),
    )
    files = [path for path in (tmp_path / "site").rglob("*") if path.is_file()]
    assert any(path.suffix == ".html" for path in files)
    pattern = re.compile("|".join(codes).encode())
    assert not any(pattern.search(path.name.encode() + path.read_bytes()) for path in files)
