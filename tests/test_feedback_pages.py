"""Pages and sheets of the worth tables, ladders, course map, gaps and wear, on a tiny lab worked out by hand.

The lab (invented): the head earns the tilt and takes no mask; the torso takes the mask, measures the seal and gives
the tilt; the shop sells a hand that earns the squeeze, and a kit that does too for more. A third trainer is silent.
One skill: open (tilt), hold (seal, tilt, with a mask), press (squeeze). On the one lab day two groups of four go
round two stations: the torso's comes first in the list, so group 1 meets the tilt there on `given`; group 2 starts on
the head and is safe.
"""

from __future__ import annotations

from datetime import date
from types import SimpleNamespace
from typing import Any

import markdown
import pytest
from bs4 import BeautifulSoup, Tag
from small_labs import curriculum, lab, rung, skill, station, step, trainer

from generator.model import Curriculum
from generator.rendering.pages import assets, pages_of
from generator.rendering.pages.shapes import TABLE_SHAPES
from generator.rendering.sheets import sheets_of

TODAY = date(2026, 9, 1)
SKILL = "skills/hands/s.md"


def made(*, because: str | None = None) -> Curriculum:
    return curriculum(
        trainer("head", "tilt:earned", wear="1", rated=100, buy="100"),
        trainer("torso", "tilt:given seal:measured", wear="4", accepts="mask", rated=50, buy="50", so_far=48),
        trainer("mute", "", wear="0", accepts="mask"),
        trainer("hand", "squeeze:earned", buy="20", rated=10, units=0),
        trainer("kit", "squeeze:earned tilt:earned", buy="70", rated=10, units=0),
        skill(
            "s",
            step("open", "tilt"),
            step("hold", "seal tilt", uses="mask"),
            step("press", "squeeze"),
            step("wash", critical=False),
            ladder=(rung("torso", because=because), rung("head", "open", rung="combine")),
        ),
        station("on-torso", "s", "torso", minutes=10),
        station("on-head", "s", "head", rung="combine", minutes=10),
        lab("day", "on-torso on-head", learners=8),
    )


def pages(curriculum: Curriculum) -> dict[str, BeautifulSoup]:
    sheets: list[Any] = [SimpleNamespace(kind="worth", id=id, revision="0123abcd") for id in ("lab", "skill-s")]
    found = pages_of(curriculum, sheets=sheets, problems=(), today=TODAY)
    return {
        name: BeautifulSoup(
            markdown.markdown(page.split("---\n", 2)[2], extensions=["attr_list", "tables", "toc"]), "html.parser"
        )
        for name, page in found.items()
    }


@pytest.fixture(scope="module")
def tiny() -> dict[str, BeautifulSoup]:
    return pages(made())


def words(tag: Tag | None) -> str:
    assert tag is not None
    return " ".join(tag.get_text(" ").split())


def grid(table: Tag | None) -> list[list[str]]:
    assert table is not None
    return [[words(cell) for cell in row.select("th, td")] for row in table.select("tr")]


# --- worth


def test_the_skill_page_shows_critical_steps_against_its_ladder_and_what_fits(tiny: dict[str, BeautifulSoup]) -> None:
    table = grid(tiny[SKILL].select_one("#worth table"))
    assert [head.split()[0] for head in table[0][1:]] == ["Torso", "Head"], "ladder first; the mute one says nothing"
    assert [head.split("rung ")[-1] for head in table[0][1:]] == ["1", "2"]
    assert [row[1:] for row in table[1:]] == [
        ["given", "earned"],
        ["measured", "no fit"],
        ["given", "no fit"],
        ["silent", "silent"],
    ]
    assert [row[0].split("Silent")[0].strip() for row in table[1:]] == [
        "Step 1 Tilt", "Step 2 Seal", "Step 2 Tilt", "Step 3 Squeeze",
    ]  # fmt: skip


def test_every_cell_has_a_word_and_a_shape(tiny: dict[str, BeautifulSoup]) -> None:
    css = assets()["assets/rungbook/feedback.css"].decode()
    assert ".rb-w-silent::before" in css, "the silent shape is drawn by the style sheet"
    cells = 0
    for name in (SKILL, "trainers/worth.md"):
        page = tiny[name]
        drawn = {f"#{symbol['id']}" for symbol in page.select("symbol")}
        assert drawn == {f"#rb-shape-{shape}" for shape in TABLE_SHAPES}
        for cell in page.select("td.rb-w"):
            word = words(cell)
            assert word in ("measured", "earned", "given", "silent", "no fit")
            if word == "silent":
                assert "rb-w-silent" in cell["class"]
                continue
            use = cell.select_one("svg use")
            assert use is not None
            assert use["href"] == f"#rb-shape-{'unfit' if word == 'no fit' else word}"
            assert cell["data-of"], "a phone names the trainer in the cell"
            cells += 1
    assert cells >= 10


def test_the_lab_table_goes_by_strand_and_says_what_is_not_owned(tiny: dict[str, BeautifulSoup]) -> None:
    page = tiny["trainers/worth.md"]
    assert [words(head) for head in page.select("h2[id^=strand-]")] == ["Hands"]
    table = grid(page.select_one("table.rb-worth-table"))
    assert table[0] == ["Technique", "Head trainer", "Torso trainer", "Hand trainer not owned", "Kit trainer not owned"]
    assert [[row[0].split(" Silent")[0], *row[1:]] for row in table[1:]] == [
        ["Tilt", "earned", "given", "silent", "earned"],
        ["Seal", "silent", "measured", "silent", "silent"],
        ["Squeeze", "silent", "silent", "earned", "earned"],
    ]


def test_tables_link_to_csv_sheet_and_skills(tiny: dict[str, BeautifulSoup]) -> None:
    worth = {str(a["href"]) for a in tiny["trainers/worth.md"].select("a")}
    assert {"../tables/worth-lab.csv", "../sheets/worth-lab-a4.pdf", "../skills/hands/s.md#worth"} <= worth
    own = {str(a["href"]) for a in tiny[SKILL].select("#worth a")}
    assert {
        "../../tables/worth-skill-s.csv",
        "../../sheets/worth-skill-s-us-letter.pdf",
        "../../trainers/worth.md",
        "#step-open",
    } <= own


# --- the ladder


def test_the_written_ladder_is_weighed_with_its_mends(tiny: dict[str, BeautifulSoup]) -> None:
    """By hand: tilt comes first on the torso, which gives it; wear falls from 5 to 2; squeeze is nowhere proved.

    Every step has a `see`, so proof is kept. The torso is the costliest and the seal can be earned nowhere cheaper.
    """
    weighed = tiny[SKILL].select_one(".rb-weighed")
    assert weighed is not None
    said = words(weighed)
    assert "2 rules are broken on this ladder" in said
    assert [words(one) for one in weighed.select(".rb-broken > p > strong")] == [
        "Rewarded before it is right, rung 1.", "Mend it:", "Dear before cheap, rung 2.", "Mend it:",
    ]  # fmt: skip
    assert "On the torso trainer that is given, so tilt is not proved at step 1 ." in said
    assert "Wear falls from 5 USD an attempt on the torso trainer to 2 USD on the head trainer" in said
    assert "`" not in said, "ids of the files stay out of the pages"


def test_the_best_ladder_stands_beside_it_with_reasons(tiny: dict[str, BeautifulSoup]) -> None:
    """By hand: the torso alone takes the mask and lies about the tilt, so the head must come below it."""
    page = tiny[SKILL]
    best = page.select_one("[aria-labelledby=ladder-best]")
    assert best is not None
    assert [words(rung) for rung in best.select("li")] == [
        "Rung 1 Start on the head trainer : it answers only to correct tilt.",
        "Rung 2 End on the torso trainer : it takes the whole skill and is the first that answers only to correct "
        "seal.",
    ]
    assert "No rung of it proves squeeze: a person must watch." in words(best)
    assert "It meets a technique once where the result is given, before it was earned." in words(
        page.select_one(".rb-weighed")
    )


def test_a_reason_is_printed_where_the_rule_is_broken() -> None:
    page = pages(made(because="The head is on loan."))[SKILL]
    excused = page.select_one(".rb-exception:not(.rb-broken)")
    assert "Set aside, because: The head is on loan." in words(excused)
    assert "Mend it" not in words(excused)


# --- course


def test_the_course_map_marks_first_meetings_and_dangers(tiny: dict[str, BeautifulSoup]) -> None:
    page = tiny["course.md"]
    table = page.select_one("table.rb-course")
    found = {row[0]: row[1] for row in grid(table)[1:]}
    assert set(found) == {"Tilt", "Seal", "Squeeze"}
    assert found["Tilt"].startswith("given too early group 1 Station on-torso")
    assert "first earned every group Station on-head" in found["Tilt"]
    assert found["Seal"] == "first earned every group Station on-torso"
    assert found["Squeeze"] == "silent"
    assert "A technique is given too early once" in words(page.select_one(".rb-answer"))


def test_each_danger_says_what_mends_it_and_where(tiny: dict[str, BeautifulSoup]) -> None:
    page = tiny["course.md"]
    anchor = page.select_one("td.rb-c-given a[href^='#early-']")
    assert anchor is not None
    danger = page.select_one(str(anchor["href"]))
    said = words(danger)
    assert "at Station on-torso group 1 meets tilt before it was earned" in said
    assert "For group 1 swap Station on-torso and Station on-head" in said
    links = {str(a["href"]) for a in danger.select("a")} if danger else set()
    assert {"stations/on-torso.md", "stations/on-head.md"} <= links


def test_a_course_without_days_has_no_map() -> None:
    bare = made()
    found = pages_of(
        curriculum(*bare.trainers.values(), *bare.skills.values()), sheets=(), problems=(), today=TODAY
    )
    assert "course.md" not in found


# --- gaps


def test_gaps_name_what_they_touch_what_closes_them_and_the_runner_up(tiny: dict[str, BeautifulSoup]) -> None:
    """By hand: nothing owned earns the squeeze; the hand at 20 closes it, the kit at 70 is the next best."""
    page = tiny["trainers/gaps.md"]
    said = words(page)
    assert "1 technique has no honest trainer, which touches 1 skill" in said
    assert "Cheapest Hand trainer , 20 USD 20 USD together." in said
    assert "Next best Kit trainer , 70 USD 70 USD together, 50 USD more." in said
    gap = page.select_one("#gap-squeeze")
    assert "Skill s : step 3 . The hand trainer or the kit trainer would do." in words(gap)


def test_each_absence_says_what_is_lost(tiny: dict[str, BeautifulSoup]) -> None:
    """By hand: without the head nothing proves the tilt; the mute one still takes all, so some ladder is left.

    Without the torso nothing proves the seal, and without the mute one nothing is lost.
    """
    page = tiny["trainers/gaps.md"]
    head = words(page.select_one("#without-head"))
    assert "Head trainer 1 technique is left to a person's eye" in head
    assert "Nothing else proves tilt for Skill s" in head
    assert "Nothing else proves seal for Skill s" in words(page.select_one("#without-torso"))
    assert page.select_one("#without-mute") is None
    assert "Others can stand in for these, one at a time: Mute trainer" in words(page)


# --- wear


def test_wear_of_each_owned_trainer(tiny: dict[str, BeautifulSoup]) -> None:
    """By hand: 2 groups x 10 minutes / 5 minutes an attempt = 4 attempts at each station.

    Torso: 50 / 50 + 4 = 5 an attempt, 20 in all; 50 - 48 = 2 left, so it gives out on the day; the spares that last
    with a chance of 95 % for a mean of 4 / 50 = 0.08: P(0) = 0.923, P(0 or 1) = 0.997, so 1.
    Head: 100 / 100 + 1 = 2 an attempt, 8 in all; 100 left; mean 0.04, P(0) = 0.961, so 0.
    """
    page = tiny["trainers/wear.md"]
    rows = {row[0]: row[1:] for row in grid(page.select_one("table.rb-wear"))[1:]}
    assert rows == {
        "Torso trainer": ["5 USD", "4", "20 USD", "2", "Lab day", "1"],
        "Head trainer": ["2 USD", "4", "8 USD", "100", "not yet", "0"],
        "Mute trainer": ["0 USD", "none", "nothing", "no end", "does not wear out", "0"],
    }
    assert "wears out on Lab day" in words(page)
    assert "No attempt on the costliest trainer could have been made as honestly on a cheaper one." in words(page)


def test_a_trainers_page_tells_its_wear_and_its_absence(tiny: dict[str, BeautifulSoup]) -> None:
    said = words(tiny["trainers/head.md"].select_one(".rb-facts"))
    assert "The head trainer costs 2 USD an attempt; the labs plan 4. It is rated for 100 more." in said
    assert "Nothing else proves tilt for Skill s" in said


# --- sheets


def test_the_worth_sheets_hold_the_tables() -> None:
    sheets = {sheet.id: sheet.data for sheet in sheets_of(made()) if sheet.kind == "worth"}
    assert set(sheets) == {"lab", "skill-s"}
    (part,) = sheets["skill-s"]["parts"]
    assert [column["name"] for column in part["columns"]] == ["Torso trainer", "Head trainer"]
    assert [column["note"] for column in part["columns"]] == ["rung 1", "rung 2"]
    assert [[cell["word"] for cell in row["cells"]] for row in part["rows"]] == [
        ["given", "earned"],
        ["measured", "no fit"],
        ["given", "no fit"],
    ]
    assert part["left_out"] == "None of these trainers answers for: step 3 Squeeze."
    (lab_part,) = sheets["lab"]["parts"]
    assert [column["note"] for column in lab_part["columns"]] == [None, None, "not owned", "not owned"]


def test_many_trainers_are_cut_into_pieces_that_fit_the_paper() -> None:
    many = [trainer(f"t{number}", "tilt:earned") for number in range(16)]
    data = next(s.data for s in sheets_of(curriculum(*many, skill("s", step("open", "tilt")))) if s.id == "lab")
    assert [len(part["columns"]) for part in data["parts"]] == [7, 7, 2]
    assert [part["heading"] for part in data["parts"]] == ["Hands, 1 of 3", "Hands, 2 of 3", "Hands, 3 of 3"]
