"""Each folder under `cases/` is a case: files laid over the tiny valid curriculum, and what must be said about them.

`problems/<rule>/<case>/` holds files under the same paths as in `base/` (they replace or add), optionally `delete.txt`
(paths to take away, one a line), `today.txt` (a day) and `expected.txt`, the exact text of all problems.
`ok/<rule>/<case>/` is the same and must be silent. `pytest tests/test_cases.py --update` writes `expected.txt` anew.
"""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import pytest

from generator.checks import MANUAL as CHECKING
from generator.checks import check
from generator.diagnostics import as_text, in_order
from generator.reading import MANUAL as READING
from generator.reading import read_curriculum

CASES = Path(__file__).parent / "cases"
TODAY = date(2026, 6, 1)
NOT_LAID_OVER = {"expected.txt", "delete.txt", "today.txt"}
TESTED_ELSEWHERE = {"file-unreadable", "file-too-large", "link-outside", "more-problems"}
"""Rules of reading whose cases cannot be kept as plain files of a curriculum: tests/test_reading.py makes them."""
OF_OTHER_FILES = {"run-log", "rating-unread", "revisions-unreadable", "roster-unread"}
"""Rules about files that are no part of a curriculum: tests/test_debrief.py, test_cut.py, test_attempts.py and
test_scans.py make their cases."""


def cases(kind: str) -> list[Path]:
    return sorted(path for path in (CASES / kind).glob("*/*") if path.is_dir())


def name(case: Path) -> str:
    return f"{case.parent.name}/{case.name}"


def text_of(case: Path | None, folder: Path) -> str:
    shutil.copytree(CASES / "base", folder)
    today = TODAY
    if case:
        shutil.copytree(case, folder, dirs_exist_ok=True, ignore=lambda at, _: NOT_LAID_OVER if at == str(case) else ())
        if (case / "today.txt").exists():
            today = date.fromisoformat((case / "today.txt").read_text(encoding="utf-8").strip())
        if (case / "delete.txt").exists():
            for line in (case / "delete.txt").read_text(encoding="utf-8").split():
                gone = folder / line
                shutil.rmtree(gone) if gone.is_dir() else gone.unlink()
    curriculum, problems = read_curriculum(folder / "curriculum")
    found = check(curriculum, today=today) if curriculum else ()
    return as_text(in_order((*problems, *found)))


def test_enough_cases_are_found() -> None:
    assert len(cases("problems")) >= 75
    assert len(cases("ok")) >= 10
    for case in (*cases("problems"), *cases("ok")):
        assert any(path.is_file() and path.name != "expected.txt" for path in case.rglob("*")), case


def test_the_tiny_curriculum_is_clean(tmp_path: Path) -> None:
    assert text_of(None, tmp_path / "case") == ""


@pytest.mark.parametrize("case", cases("problems"), ids=name)
def test_a_problem_is_told_exactly(case: Path, tmp_path: Path, *, update: bool) -> None:
    found = text_of(case, tmp_path / "case")
    if update:
        (case / "expected.txt").write_text(found, encoding="utf-8")
    assert f"[{case.parent.name}]" in found
    assert found == (case / "expected.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("case", cases("ok"), ids=name)
def test_what_is_right_is_left_in_silence(case: Path, tmp_path: Path) -> None:
    assert text_of(case, tmp_path / "case") == ""


def test_every_rule_of_reading_has_a_case() -> None:
    have = {case.parent.name for case in cases("problems")}
    assert set(READING) - TESTED_ELSEWHERE - OF_OTHER_FILES <= have
    assert have <= set(READING) | set(CHECKING)
