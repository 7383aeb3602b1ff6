"""The benchmark's curriculum is a sound one, or its times would mean nothing."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from synthetic import make_curriculum

from generator.build import problems_of


def _contents(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_synthetic_curriculum_has_the_skills_asked_for_and_no_error(tmp_path: Path) -> None:
    folder = make_curriculum(tmp_path, skills=60, seed=7)
    curriculum, problems = problems_of(folder, today=date(2026, 11, 25))
    assert curriculum is not None
    assert len(curriculum.skills) == 60
    assert len({skill.title for skill in curriculum.skills.values()}) == 60
    assert [problem for problem in problems if problem.is_error] == []


def test_the_same_seed_gives_the_same_files(tmp_path: Path) -> None:
    one, other, third = (
        _contents(make_curriculum(tmp_path / name, skills=50, seed=seed))
        for name, seed in (("one", 7), ("other", 7), ("third", 8))
    )
    assert one == other
    assert one != third


def test_fewer_than_the_shipped_skills_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="at least"):
        make_curriculum(tmp_path, skills=1, seed=7)
