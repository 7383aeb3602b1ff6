"""Published outcomes: which skill covers which at which level, on a page and in a table."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import markdown
import pytest
from bs4 import BeautifulSoup

from generator.analysis.outcomes import coverage
from generator.model import Curriculum, Outcome, Standard
from generator.reading import read_curriculum
from generator.rendering.pages import pages_of
from generator.rendering.pages.navigation import navigation_of
from generator.rendering.tables import tables_of

TESTS = Path(__file__).parent
SHIPPED = TESTS.parent / "curriculum"
TODAY = date(2026, 6, 1)


@pytest.fixture(scope="module")
def tiny() -> Curriculum:
    """The tiny curriculum of the cases with one list: covered, in part, not at all."""
    curriculum, _ = read_curriculum(TESTS / "cases" / "base" / "curriculum")
    assert curriculum is not None
    narrow = curriculum.skills["mask-breath"].model_copy(update={"levels": ("advanced",)})
    outcomes = (
        Outcome(id="press", number="1.1", says="Press.", levels=("advanced", "basic"), skills=("press-on-wound",)),
        Outcome(id="breathe", number="1.2", says="Breathe.", levels=("basic", "advanced"), skills=("mask-breath",)),
        Outcome(id="turn", number="1.3", says="=Turn.", levels=("basic",), not_here="No mat.", provisional="Not read."),
        Outcome(id="lift", number="1.4", says="Lift.", skills=("press-on-wound", "mask-breath")),
        Outcome(id="carry", number="1.5", says="Carry."),
    )
    standard = Standard(
        id="list", title="A list", source="invented-wound-book", edition="2023", numbered_by="source", outcomes=outcomes
    )
    return replace(curriculum, skills={**curriculum.skills, "mask-breath": narrow}, standards={"list": standard})


@pytest.fixture(scope="module")
def shipped() -> Curriculum:
    curriculum, problems = read_curriculum(SHIPPED)
    assert curriculum is not None
    assert not any(problem.is_error for problem in problems)
    return curriculum


def page_of(curriculum: Curriculum) -> BeautifulSoup:
    page = pages_of(curriculum, sheets=(), problems=(), today=TODAY)["outcomes.md"]
    return BeautifulSoup(markdown.markdown(page.split("---\n", 2)[2], extensions=["attr_list"]), "html.parser")


def rows_of(curriculum: Curriculum) -> list[dict[str, str]]:
    text = tables_of(curriculum)["tables/outcomes.csv"].decode()
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_levels_come_in_the_order_of_the_program_and_are_judged_one_by_one(tiny: Curriculum) -> None:
    found = {one.outcome.id: one for one in coverage(tiny)}
    assert [cover.level for cover in found["press"].levels] == ["basic", "advanced"]
    assert found["press"].is_covered
    assert found["breathe"].missing == ("basic",)
    assert not found["breathe"].is_covered
    assert found["turn"].missing == ("basic",)
    assert not found["turn"].is_covered


def test_a_list_that_names_no_level_is_covered_by_any_skill(tiny: Curriculum) -> None:
    found = {one.outcome.id: one for one in coverage(tiny)}
    assert [cover.level for cover in found["lift"].levels] == ["basic", "advanced"]
    assert [len(cover.skills) for cover in found["lift"].levels] == [1, 2]
    assert found["lift"].is_covered
    assert found["carry"].levels == ()
    assert not found["carry"].is_covered


def test_the_table_has_a_line_for_each_skill_at_each_level_and_for_each_gap(tiny: Curriculum) -> None:
    rows = rows_of(tiny)
    told = [(row["outcome id"], row["level"], row["skill id"], row["covered"]) for row in rows]
    assert told == [
        ("press", "basic", "press-on-wound", "yes"),
        ("press", "advanced", "press-on-wound", "yes"),
        ("breathe", "basic", "", "no"),
        ("breathe", "advanced", "mask-breath", "yes"),
        ("turn", "basic", "", "no"),
        ("lift", "basic", "press-on-wound", "yes"),
        ("lift", "advanced", "press-on-wound", "yes"),
        ("lift", "advanced", "mask-breath", "yes"),
        ("carry", "", "", "no"),
    ]
    turn = rows[4]
    assert (turn["outcome"], turn["not confirmed"], turn["why not here"]) == ("'=Turn.", "Not read.", "No mat.")
    assert {row["edition"] for row in rows} == {"2023"}


def test_the_page_says_what_is_not_covered_and_why(tiny: Curriculum) -> None:
    page = page_of(tiny)
    listed = [item.get_text(" ", strip=True) for item in page.find(id="uncovered").find_next("ul").find_all("li")]
    assert len(listed) == 3
    assert listed[0].startswith("A list, 1.2")
    assert "Not for Basic provider." in listed[0]
    assert "No reason given." in listed[0]
    assert listed[1].endswith("Why: No mat.")
    cells = [cell.get_text(strip=True) for cell in page.find(id="list-breathe").find_all("td")]
    assert cells == ["no", "yes", "Give breaths by mask"]
    cells = [cell.get_text(strip=True) for cell in page.find(id="list-turn").find_all("td")]
    assert cells == ["no", "not asked", "none"]
    assert "Provisional" in page.find(id="list-turn").find("th").get_text()


def test_a_program_without_lists_has_no_page_and_no_table(tiny: Curriculum) -> None:
    bare = replace(tiny, standards={})
    assert "outcomes.md" not in pages_of(bare, sheets=(), problems=(), today=TODAY)
    assert "tables/outcomes.csv" not in tables_of(bare)
    assert {"Outcomes": "outcomes.md"} not in navigation_of(bare, prose=())
    assert {"Outcomes": "outcomes.md"} in navigation_of(tiny, prose=())


def test_a_list_makes_its_source_a_used_one(tiny: Curriculum) -> None:
    evidence = pages_of(tiny, sheets=(), problems=(), today=TODAY)["evidence.md"]
    assert "Outcomes: A list" in evidence


def test_a_caution_without_a_source_says_so_on_its_page(shipped: Curriculum) -> None:
    skill = shipped.skills["rigid-splint"]
    common = [caution for caution in skill.cautions if caution.basis == "common practice"]
    assert common
    page = pages_of(shipped, sheets=(), problems=(), today=TODAY)["skills/trauma/rigid-splint.md"]
    assert page.count("Common practice, no source.") == len(common)


def test_the_shipped_lists_do_not_pass_for_read_sources(shipped: Curriculum) -> None:
    assert len(shipped.standards) >= 4
    for standard in shipped.standards.values():
        assert standard.provisional, standard.id
        assert standard.source in shipped.sources
    page = page_of(shipped)
    assert len(page.find_all("section", class_="rb-outcomes")) == len(shipped.standards)
    assert len(page.find_all(string=re.compile("Provisional"))) >= len(shipped.standards)


def test_every_shipped_gap_has_a_reason_and_stands_on_the_page(shipped: Curriculum) -> None:
    gaps = [one for one in coverage(shipped) if not one.is_covered]
    assert gaps
    assert all(one.outcome.not_here for one in gaps)
    listed = page_of(shipped).find(id="uncovered").find_next("ul").find_all("li")
    assert len(listed) == len(gaps)
    assert not any("{" in value for row in rows_of(shipped) for value in row.values())
    uncovered = {row["outcome id"] for row in rows_of(shipped) if row["covered"] == "no"}
    assert uncovered == {one.outcome.id for one in gaps}


@pytest.mark.parametrize("attack", ['<script>alert("x")</script>', "</td></tr><img src=x onerror=alert(1)>", "## H"])
def test_text_of_a_list_does_nothing(tiny: Curriculum, attack: str) -> None:
    clean = page_of(tiny)
    standard = tiny.standards["list"]
    outcomes = tuple(
        one.model_copy(update={"number": attack, "says": attack, "not_here": attack, "provisional": attack})
        for one in standard.outcomes
    )
    told = {"title": attack, "edition": attack, "about": attack, "provisional": attack, "outcomes": outcomes}
    dirty = page_of(replace(tiny, standards={"list": standard.model_copy(update=told)}))
    for tag in ("script", "img", "h2", "tr", "td"):
        assert len(dirty.find_all(tag)) == len(clean.find_all(tag)), tag
    row = dirty.find(id="list-press")
    assert " ".join(attack.split()) in " ".join(row.find("th").get_text().split())
