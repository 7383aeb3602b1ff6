"""The review log names every critical step and every number of the shipped skills: nothing ships unread."""

from __future__ import annotations

from pathlib import Path

import pytest

from generator.analysis.wording import mentioned, texts_of
from generator.model import Curriculum
from generator.reading import read_curriculum

SHIPPED = Path(__file__).parents[1] / "curriculum"
LOG = SHIPPED / "pages" / "review-log"


@pytest.fixture(scope="module")
def shipped() -> Curriculum:
    curriculum, _ = read_curriculum(SHIPPED)
    assert curriculum is not None
    return curriculum


def test_there_is_a_page_a_strand(shipped: Curriculum) -> None:
    strands = {strand.id for strand in shipped.program.strands}
    assert len(strands) >= 6
    assert {path.stem for path in LOG.glob("*.md")} == strands | {"index"}


def test_every_critical_step_is_in_the_log(shipped: Curriculum) -> None:
    steps = [(skill, step.id) for skill in shipped.skills.values() for step in skill.critical_steps]
    assert len(steps) >= 250
    logs = {strand.id: (LOG / f"{strand.id}.md").read_text(encoding="utf-8") for strand in shipped.program.strands}
    assert [
        f"{skill.id}: {step}"
        for skill, step in steps
        if f"(../skills/{skill.strand}/{skill.id}.md#step-{step})" not in logs[skill.strand]
    ] == []


def test_every_number_of_a_skill_is_in_the_log(shipped: Curriculum) -> None:
    missing = []
    for strand in shipped.program.strands:
        log = (LOG / f"{strand.id}.md").read_text(encoding="utf-8")
        for skill in shipped.skills_in(strand.id):
            named = {id for _, text in texts_of(skill) for id in mentioned(text)} | {
                step.pace for step in skill.steps if step.pace
            }
            missing += [f"{skill.id}: {id}" for id in named if f"(../numbers.md#{id})" not in log]
    assert missing == []
