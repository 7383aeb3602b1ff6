"""What a served handbook keeps between edits: after every kind of edit it gives what a first reading would give.

The judge is the long way each time: reading, checking and writing from nothing.
"""

from __future__ import annotations

import dataclasses
import shutil
from collections import Counter
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from generator.analysis.outline import _fields, outline_of
from generator.analysis.whole import analyse
from generator.build.again import Again
from generator.checks import RULES, check
from generator.checks.support.again import ABOUT_TEXT, Rechecker
from generator.model import Curriculum, Skill
from generator.model.base import Record
from generator.reading import read_curriculum
from generator.reading.known import Known
from generator.rendering.pages import pages_of
from generator.rendering.sheets import sheets_of
from generator.rendering.tables import tables_of

ROOT = Path(__file__).parent.parent
CASES = Path(__file__).parent / "cases"
DAY = date(2026, 11, 25)


def read(folder: Path, known: Known | None = None) -> Curriculum:
    curriculum, _ = read_curriculum(folder, known=known)
    assert curriculum is not None
    return curriculum


@pytest.fixture(scope="module")
def shipped() -> Curriculum:
    return read(ROOT / "curriculum")


def reworded(value: Any, word: Callable[[str], str]) -> Any:
    """A record with other running text: what an outline leaves out, and nothing else."""
    if isinstance(value, Record):
        changes = {
            name: worded(getattr(value, name), word) if is_running else reworded(getattr(value, name), word)
            for name, is_running in _fields(type(value))
        }
        return value.model_copy(update=changes)
    return tuple(reworded(item, word) for item in value) if isinstance(value, tuple) else value


def worded(value: Any, word: Callable[[str], str]) -> Any:
    if isinstance(value, str):
        return word(value)
    return tuple(worded(item, word) for item in value) if isinstance(value, tuple) else value


def with_skills(curriculum: Curriculum, change: Callable[[Skill], Skill], only: str | None = None) -> Curriculum:
    skills = {id: change(skill) if only in (None, id) else skill for id, skill in curriculum.skills.items()}
    return dataclasses.replace(curriculum, skills=skills)


def laid_over(tmp_path: Path) -> Iterator[Path]:
    """One folder that is the tiny curriculum, then each problem case of the rules in turn, and the tiny one between."""
    folder = tmp_path / "handbook"
    for case in sorted(path for path in (CASES / "problems").glob("*/*") if path.is_dir()):
        for layer in (None, case):
            shutil.rmtree(folder, ignore_errors=True)
            shutil.copytree(CASES / "base", folder)
            if layer:
                shutil.copytree(layer, folder, dirs_exist_ok=True)
            yield folder / "curriculum"


def test_after_every_edit_reading_and_rules_give_what_a_first_run_gives(tmp_path: Path) -> None:
    """All problem cases, one after another in one folder, through one memory."""
    known, rules, seen, close = Known(), Rechecker(), 0, 0
    for folder in laid_over(tmp_path):
        first, problems = read_curriculum(folder)
        again, problems_again = read_curriculum(folder, known=known)
        assert problems_again == problems
        assert again == first
        if first is not None and again is not None:
            before = rules._outline
            assert rules.check(again, today=DAY) == check(first, today=DAY), folder
            close += rules._outline is not None and rules._outline.is_same(before)
            seen += 1
    assert seen > 150
    assert close > 5, "some cases differ from the tiny curriculum in running text alone"


def test_a_file_that_did_not_change_gives_the_same_objects(tiny: Path) -> None:
    known = Known()
    first = read(tiny, known)
    path = next((tiny / "skills").rglob("*.yaml"))
    path.write_text(path.read_text(encoding="utf-8").replace("\nsummary: ", "\nsummary: Now ", 1), encoding="utf-8")
    second = read(tiny, known)
    assert [id for id, skill in second.skills.items() if skill is not first.skills[id]] == [path.stem]
    assert all(second.trainers[id] is trainer for id, trainer in first.trainers.items())
    assert second.skills[path.stem].summary.startswith("Now ")
    assert second.program is first.program


FAULTS = "Quickly wait 6 seconds and do it properly as appropriate, and then bag the casualty with the BVM. "


def test_rules_see_a_fault_in_the_text_of_one_skill_and_its_mending(shipped: Curriculum) -> None:
    """Each skill in turn is filled with faults and mended: one memory against a check from nothing."""
    rules = Rechecker()
    assert rules.check(shipped, today=DAY) == check(shipped, today=DAY)
    for id in list(shipped.skills)[::9]:
        faulty = with_skills(shipped, lambda skill: reworded(skill, lambda text: FAULTS + text), only=id)
        found = rules.check(faulty, today=DAY)
        assert found == check(faulty, today=DAY)
        assert {problem.rule for problem in found} >= {"number-typed-in", "writing-two-actions"}
        assert rules.check(shipped, today=DAY) == check(shipped, today=DAY)


def test_a_rule_that_is_not_about_text_reads_no_running_text(tmp_path: Path, shipped: Curriculum) -> None:
    """Otherwise it would be missing from `ABOUT_TEXT`, and would not look again. Over every case that has findings."""
    others = [rule for rule in RULES if rule.RULE not in ABOUT_TEXT]
    assert len(others) == len(RULES) - len(ABOUT_TEXT), "each rule about text is a rule"

    def findings(curriculum: Curriculum) -> Counter[tuple[str, str]]:
        return Counter((problem.rule, problem.message) for rule in others for problem in rule.find(curriculum, DAY))

    total = 0
    curricula = [shipped, *(read_curriculum(folder)[0] for folder in laid_over(tmp_path))]
    for curriculum in curricula:
        if curriculum is not None:
            found = findings(curriculum)
            total += found.total()
            assert findings(with_skills(curriculum, lambda skill: reworded(skill, FAULTS.__add__))) == found
    assert total > 100


def test_analysis_and_tables_show_no_running_text_of_a_skill(shipped: Curriculum) -> None:
    """So both may be kept while the outline is the same."""
    other = with_skills(shipped, lambda skill: reworded(skill, FAULTS.__add__))
    assert outline_of(shipped).is_same(outline_of(other))
    assert other != shipped
    assert analyse(other) == analyse(shipped)
    assert tables_of(other, days={}) == tables_of(shipped, days={})


def pages(curriculum: Curriculum, again: Again | None = None) -> dict[str, str]:
    sheets = sheets_of(curriculum)
    if again is None:
        return pages_of(curriculum, sheets=sheets, problems=(), today=DAY)
    again.see(curriculum, today=DAY, days={})
    return pages_of(
        curriculum,
        sheets=sheets,
        problems=(),
        today=DAY,
        analysis=again.made("analysis", lambda: analyse(curriculum)),
        kept=again.page,
    )


def test_pages_after_a_change_of_words_are_those_of_a_first_writing(shipped: Curriculum) -> None:
    """Words of one skill, of another and of all, with their sheets: nearly all pages are kept where one changed."""
    again = Again()
    pages(shipped, again)
    assert again.reused == 0
    first, *_, last = shipped.skills
    for only in (first, last, None):
        other = with_skills(shipped, lambda skill: reworded(skill, FAULTS.__add__), only=only)
        kept = pages(other, again)
        wanted = pages(other)
        assert [path for path in wanted if kept[path] != wanted[path]] == []
        assert list(kept) == list(wanted)
        changed = sum(wanted[path] != text for path, text in pages(shipped).items())
        assert changed >= 2
        if only is not None:
            assert again.reused > 0.9 * len(wanted), "one skill was edited"
        pages(shipped, again)


def swaps(curriculum: Curriculum) -> Iterator[tuple[str, Curriculum]]:
    """Curricula in which one field of a skill, a trainer or a station is another's."""
    for name in ("skills", "trainers", "stations", "quantities", "sources"):
        held = getattr(curriculum, name)
        ids = list(held)
        if len(ids) < 2:
            continue
        one, other = held[ids[0]], held[ids[1]]
        for field in type(one).model_fields:
            if field not in ("id", "strand") and getattr(one, field) != getattr(other, field):
                changed = {**held, ids[0]: one.model_copy(update={field: getattr(other, field)})}
                yield f"{name}.{field}", dataclasses.replace(curriculum, **{name: changed})


def test_pages_after_a_change_of_any_field_are_those_of_a_first_writing(tiny: Path) -> None:
    """Each field of the first record of each kind takes the value of the second's, in one memory."""
    curriculum = read(tiny)
    again, seen = Again(), 0
    pages(curriculum, again)
    for what, changed in swaps(curriculum):
        assert pages(changed, again) == pages(changed), what
        seen += 1
        pages(curriculum, again)
    assert seen > 20


def test_on_another_day_nothing_is_kept(tiny: Path) -> None:
    curriculum, again = read(tiny), Again()
    pages(curriculum, again)
    again.see(curriculum, today=date(2030, 1, 1), days={})
    assert again.made("analysis", lambda: "new") == "new"
