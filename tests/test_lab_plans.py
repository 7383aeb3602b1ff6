"""Lab days planned once: kept by what they depend on, planned anew when that changes, and printed by the command."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from pathlib import Path

import pypdf
import pytest

from generator.cli import main
from generator.model import Curriculum
from generator.reading import read_curriculum
from generator.rendering import lab_plans
from generator.rendering.lab_plans import days_of, lab_day
from generator.rendering.sheets import sheets_of


def read(folder: Path) -> Curriculum:
    curriculum, problems = read_curriculum(folder)
    assert curriculum is not None
    assert problems == ()
    return curriculum


@pytest.fixture
def planned(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The lab days that were really planned, in order."""
    seen: list[str] = []
    real = lab_plans.plan_of

    def plan_of(curriculum: Curriculum, id: str, *, seconds: float) -> object:
        seen.append(id)
        return real(curriculum, id, seconds=seconds)

    monkeypatch.setattr(lab_plans, "plan_of", plan_of)
    return seen


def test_a_kept_day_is_the_planned_day(tiny: Path, tmp_path: Path, planned: list[str]) -> None:
    curriculum = read(tiny)
    first = days_of(curriculum, store=tmp_path / "store")
    assert planned == ["first-day"]
    assert days_of(curriculum, store=tmp_path / "store") == first
    assert planned == ["first-day"]
    assert days_of(curriculum, store=None) == first
    assert planned == ["first-day"] * 2
    assert first["first-day"].turns
    assert first["first-day"].slots[0].starts.tzinfo is not None


def test_only_what_a_plan_depends_on_plans_it_anew(tiny: Path, tmp_path: Path, planned: list[str]) -> None:
    curriculum, store = read(tiny), tmp_path / "store"
    days_of(curriculum, store=store)
    skill = next(iter(curriculum.skills.values()))
    reworded = skill.model_copy(update={"summary": "Other words."})
    days_of(replace(curriculum, skills={**curriculum.skills, skill.id: reworded}), store=store)
    assert planned == ["first-day"]
    lab = curriculum.labs["first-day"]
    later = replace(curriculum, labs={lab.id: lab.model_copy(update={"block_minutes": lab.block_minutes + 1})})
    days_of(later, store=store)
    assert planned == ["first-day"] * 2
    trainer = next(iter(curriculum.trainers.values()))
    more = trainer.model_copy(update={"units": trainer.units + 1})
    days_of(replace(curriculum, trainers={**curriculum.trainers, trainer.id: more}), store=store)
    assert planned == ["first-day"] * 3


@pytest.mark.parametrize("damage", ["", "{", "[]", '{"group_sizes": [1]}'])
def test_a_damaged_entry_counts_as_absent(tiny: Path, tmp_path: Path, planned: list[str], damage: str) -> None:
    curriculum, store = read(tiny), tmp_path / "store"
    first = days_of(curriculum, store=store)
    (entry,) = store.glob("lab-*.json")
    assert json.loads(entry.read_text(encoding="utf-8"))["turns"]
    entry.write_text(damage, encoding="utf-8")
    assert days_of(curriculum, store=store) == first
    assert len(planned) == 2


def test_a_store_that_cannot_be_written_costs_time_only(tiny: Path, tmp_path: Path) -> None:
    (tmp_path / "store").write_text("a file, not a folder", encoding="utf-8")
    curriculum = read(tiny)
    assert days_of(curriculum, store=tmp_path / "store") == days_of(curriculum, store=None)


def test_a_day_that_cannot_be_run_keeps_its_reasons(tiny: Path, tmp_path: Path) -> None:
    curriculum = read(tiny)
    lab = curriculum.labs["first-day"]
    nobody = lab.instructors[0].model_copy(update={"runs": ()}) if lab.instructors else None
    closed = lab.model_copy(update={"end": lab.start, "instructors": (nobody,) if nobody else ()})
    made = replace(curriculum, labs={lab.id: closed})
    first = days_of(made, store=tmp_path / "store")[lab.id]
    assert first.turns == ()
    assert first.clash
    assert days_of(made, store=tmp_path / "store")[lab.id] == first


def test_progress_counts_the_days(tiny: Path) -> None:
    told: list[tuple[int, int]] = []
    days_of(read(tiny), store=None, progress=lambda done, of: told.append((done, of)))
    assert told == [(1, 1)]


def test_one_day_alone_is_the_same_day(tiny: Path, tmp_path: Path) -> None:
    curriculum = read(tiny)
    assert lab_day(curriculum, "first-day", store=tmp_path) == days_of(curriculum, store=None)["first-day"]
    with pytest.raises(KeyError):
        lab_day(curriculum, "no-day", store=tmp_path)


# The command


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_print_lab_writes_one_packet(tiny: Path, here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["print", "--lab", "first-day", "--curriculum", str(tiny), "--paper", "a4", "--out", "out"]
    assert main(words) == 0
    name = here / "out" / "packet-first-day-a4.pdf"
    first = name.read_bytes()
    pages = len(pypdf.PdfReader(io.BytesIO(first)).pages)
    assert capsys.readouterr().out == f"out/packet-first-day-a4.pdf ({pages} pages)\n"
    assert {one.name for one in (here / "out").iterdir()} == {name.name, "revisions.json"}
    printed = {sheet.revision for sheet in sheets_of(read(tiny)) if sheet.kind in ("checklist", "practice")}
    kept = json.loads((here / "out" / "revisions.json").read_bytes())
    assert kept and set(kept) <= printed
    name.unlink()
    assert main(words) == 0
    assert name.read_bytes() == first
    assert main([*words, "--one-sided"]) == 0
    assert len(pypdf.PdfReader(name).pages) <= pages
    assert main([*words, "--copies"]) == 0
    assert len(pypdf.PdfReader(name).pages) > pages


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--lab", "first-dya"], "no lab day is called first-dya. Did you mean first-day?"),
        (["--copies"], "--copies, --one-sided and --roster go with --lab"),
        (["checklist", "--lab", "first-day"], "leave out WHAT and ID"),
    ],
)
def test_wrong_words_are_told_and_nothing_is_written(
    tiny: Path, here: Path, capsys: pytest.CaptureFixture[str], words: list[str], said: str
) -> None:
    assert main(["print", *words, "--curriculum", str(tiny), "--out", "out"]) == 2
    assert said in capsys.readouterr().err
    assert not (here / "out").exists()


def test_sheets_with_codes_of_learners_go_only_where_somebody_says(
    tiny: Path, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    roster = here / "roster.csv"
    roster.write_text("learner,role\r\nL01,\r\n", encoding="utf-8")
    words = ["print", "--lab", "first-day", "--curriculum", str(tiny), "--roster", str(roster)]
    before = sorted(here.rglob("*"))
    assert main(words) == 2
    assert "name a folder outside the handbook with --out" in capsys.readouterr().err
    for place in ("site/x", "curriculum/x"):
        assert main([*words, "--out", place]) == 3
        assert "Records of learners never go there" in capsys.readouterr().err
    assert sorted(here.rglob("*")) == before
    assert main([*words, "--out", "elsewhere"]) == 0
    assert any(path.name.startswith("checklists-first-day-") for path in (here / "elsewhere").iterdir())
    assert json.loads((here / "elsewhere" / "revisions.json").read_bytes())
