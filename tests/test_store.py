"""The store: what is used stays, what is not goes after a while, and filled sheets can always be read back."""

from __future__ import annotations

import os
import time
from pathlib import Path

from tiny_handbook import BASE

from generator.build import sheet_files
from generator.reading import read_curriculum
from generator.reading.scans.prints import find_prints
from generator.rendering.sheets import sheets_of
from generator.rendering.sheets.pruning import DAYS, prune

DAY = 86_400


def make(store: Path) -> dict[str, bytes]:
    curriculum, _ = read_curriculum(BASE)
    assert curriculum is not None
    return sheet_files(sheets_of(curriculum)[:3], papers=("a4",), store=store)


def aged(store: Path, days: float) -> None:
    past = time.time() - days * DAY
    for path in store.iterdir():
        os.utime(path, (past, past))


def names(store: Path, ending: str) -> list[str]:
    return sorted(path.name for path in store.iterdir() if path.name.endswith(ending))


def test_unused_pdfs_go_and_geometry_stays(tmp_path: Path) -> None:
    made = make(tmp_path)
    before = find_prints([tmp_path])
    assert len(before) == len(names(tmp_path, ".pdf")) == 3
    assert prune(tmp_path) == ()
    aged(tmp_path, DAYS - 1)
    assert prune(tmp_path) == ()
    aged(tmp_path, DAYS + 1)
    assert list(prune(tmp_path)) == [name.replace(".json", ".pdf") for name in names(tmp_path, ".json")]
    assert find_prints([tmp_path]) == before
    assert make(tmp_path) == made
    assert len(names(tmp_path, ".pdf")) == 3


def test_what_a_build_uses_is_kept(tmp_path: Path) -> None:
    make(tmp_path)
    aged(tmp_path, DAYS + 1)
    make(tmp_path)  # an entry is used, so its date is renewed
    assert prune(tmp_path) == ()
    assert len(names(tmp_path, ".pdf")) == 3


def test_parts_of_killed_runs_and_old_plans_go_and_other_files_stay(tmp_path: Path) -> None:
    for name in (".part-abc", "lab-1234.json", "lab-1234.part-77", "notes.txt", "abcd.json"):
        (tmp_path / name).write_text("{}", encoding="utf-8")
    aged(tmp_path, 0.5)
    assert prune(tmp_path) == (".part-abc", "lab-1234.part-77")
    aged(tmp_path, DAYS + 1)
    assert prune(tmp_path) == ("lab-1234.json",)
    assert names(tmp_path, "") == ["abcd.json", "notes.txt"]


def test_a_store_that_goes_while_it_is_pruned_stops_nothing(tmp_path: Path) -> None:
    assert prune(tmp_path / "nowhere") == ()
    (tmp_path / "folder.pdf").mkdir()
    aged(tmp_path, DAYS + 1)
    assert prune(tmp_path) == ()
