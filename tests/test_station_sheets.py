"""Station guides and posters: what stands on them, one page each side, and letters that carry three metres."""

from __future__ import annotations

import io
import json
import re
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pypdf
import pytest

from generator.analysis.at_station import attempts_at, number_of, steps_at, worths_at
from generator.model import Curriculum, Paper, Station, Worth
from generator.reading import read_curriculum
from generator.rendering.sheets import Sheet, Typeset, sheets_of, typesetter

PAPERS: tuple[Paper, ...] = ("a4", "us-letter")
SHIPPED = Path(__file__).parents[1] / "curriculum"


@cache
def shipped() -> Curriculum:
    curriculum, _ = read_curriculum(SHIPPED)
    assert curriculum is not None
    return curriculum


@cache
def shipped_sheets() -> tuple[Sheet, ...]:
    return sheets_of(shipped())


def sheets(kind: str, made: Curriculum | None = None) -> dict[str, Sheet]:
    return {sheet.id: sheet for sheet in (sheets_of(made) if made else shipped_sheets()) if sheet.kind == kind}


@cache
def made(kind: str, id: str, paper: Paper = "us-letter") -> Typeset:
    return typesetter.set_sheet(sheets(kind)[id], paper)


def read(done: Typeset) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(done.pdf))


def flat(text: str) -> str:
    return re.sub(r"\s+", " ", re.sub("[\u00ad\u200b]", "", text)).strip()


def words_of(done: Typeset) -> list[str]:
    return [flat(page.extract_text()) for page in read(done).pages]


def assert_in_order(text: str, wanted: tuple[str, ...]) -> None:
    """Each of the wanted texts comes after the one before it."""
    at = 0
    for said in wanted:
        found = text.find(said, at)
        assert found >= 0, f"{said!r} does not come after the one before it"
        at = found + len(said)


def with_station(**changed: Any) -> Curriculum:
    base = shipped()
    station = base.stations["bag-mask-one-disrupt"].model_copy(update=changed)
    return replace(base, stations={station.id: station})


def test_every_shipped_station_has_a_guide_and_a_poster() -> None:
    assert set(sheets("station")) == set(sheets("poster")) == set(shipped().stations)
    assert len(shipped().stations) >= 12


@pytest.mark.parametrize("paper", PAPERS)
def test_every_shipped_guide_is_one_page_each_side(paper: Paper) -> None:
    pages = {id: len(read(typesetter.set_sheet(sheet, paper)).pages) for id, sheet in sheets("station").items()}
    assert pages
    assert {id: count for id, count in pages.items() if count != 2} == {}


def test_the_front_is_for_the_minutes_with_a_group_and_the_back_for_the_rest() -> None:
    front, back = words_of(made("station", "bag-mask-one-disrupt"))
    in_order = (
        "Station 2",
        "Skill: Bag-mask ventilation by one person.",
        "Rung: Disrupt, 3 of 4 on the ladder.",
        "Trainer: Always-open full torso.",
        "Warning",
        "What this trainer does not prove here",
        "Given: Head tilt with chin lift.",
        "Silent: Timing of the breath. Watch for:",
        "It does prove: Mask seal (earned).",
        "Say this first “A narrow place",
        "Minute by minute",
        "Minute 0 You come through the door.",
        "Minute 9 A telephone rings",
        "Minute 15",
        "Minute 25 Stop",
    )
    assert_in_order(front, in_order)
    assert "Local protocol, medical direction and the limits of your license come first" in front
    for said in (
        "Peers, meanwhile",
        "Before the first group",
        "Between groups",
        "Clean",
        "Used up",
        "End of station guide",
    ):
        assert said in back
        assert said not in front
    assert "5 × Pair of gloves; 10 × Disinfectant wipe" in back


def test_what_is_proved_follows_the_worth_table() -> None:
    """Every technique of the critical steps is on the guide once, on the side that the trainer's file says."""
    for id, station in shipped().stations.items():
        data = sheets("station")[id].data
        told = [row["technique"] for row in data["false"]]
        trainer = shipped().trainers[station.trainer]
        rested = {t for _, step in steps_at(shipped(), station) if step.critical for t in step.rests_on}
        not_proved = {t for t in rested if trainer.worth_of(t) in (Worth.GIVEN, Worth.SILENT)}
        assert sorted(told) == sorted(shipped().techniques[t].name for t in not_proved)
        for technique in rested - not_proved:
            assert f"{shipped().techniques[technique].name} ({trainer.worth_of(technique)})" in data["proves"]


def test_false_reassurance_comes_before_silence() -> None:
    worths = [worth for _, worth in worths_at(shipped(), shipped().stations["bag-mask-one-disrupt"])]
    assert worths == [Worth.GIVEN, Worth.GIVEN, Worth.SILENT, Worth.EARNED]


def test_prompts_print_in_the_order_of_their_minutes() -> None:
    prompts = tuple(reversed(shipped().stations["bag-mask-one-disrupt"].prompts))
    assert [prompt.at_minute for prompt in prompts] == [15, 9, 0]
    data = sheets("station", with_station(prompts=prompts))["bag-mask-one-disrupt"].data
    assert [prompt["minute"] for prompt in data["prompts"]] == [0, 9, 15]


def test_a_guide_with_endless_text_runs_on_and_loses_nothing() -> None:
    lines = tuple(
        f"Line {n} of a set-up that goes on and on, with a table to move and a door to prop." for n in range(60)
    )
    done = typesetter.set_sheet(sheets("station", with_station(set_up=lines))["bag-mask-one-disrupt"], "a4")
    text = " ".join(words_of(done))
    assert len(read(done).pages) > 2
    assert all(flat(line) in text for line in lines)


def test_a_station_of_an_unknown_skill_still_prints() -> None:
    lost = with_station(skill="nothing-here", trainer="nobody-knows")
    guide, poster = sheets("station", lost)["bag-mask-one-disrupt"], sheets("poster", lost)["bag-mask-one-disrupt"]
    assert "Trainer: nobody-knows." in words_of(typesetter.set_sheet(guide, "a4"))[0]
    assert "No critical step here." in words_of(typesetter.set_sheet(poster, "a4"))[0]


def test_the_poster_names_the_critical_steps_practised_there() -> None:
    for id, station in shipped().stations.items():
        data = sheets("poster")[id].data
        here = [number for number, step in steps_at(shipped(), station) if step.critical]
        assert [step["number"] for step in data["steps"]] == here


def test_a_poster_says_number_name_aim_and_steps_in_that_order() -> None:
    pages = words_of(made("poster", "open-airway-isolate"))
    assert len(pages) == 1
    order = ("Station 1", "See the tongue move", "See the tongue leave", "Critical steps", "Press the forehead")
    assert_in_order(pages[0], order)


def test_letters_of_the_steps_can_be_read_from_three_metres() -> None:
    """One inch of letter for 30 feet of distance (MUTCD section 2A, value from memory): 8.3 mm of capital at 3 m."""
    sizes: list[tuple[float, str]] = []

    def seen(text: str, _: Any, matrix: list[float], font: Any, size: float) -> None:
        del font
        if text.strip():
            sizes.append((abs(size * matrix[3]) if matrix[3] not in (0, 1) else size, text))

    read(made("poster", "open-airway-isolate")).pages[0].extract_text(visitor_text=seen)
    large = " ".join(text for size, text in sizes if size * 25.4 / 72 * CAPITAL_EM >= 3000 / 360)
    for step in sheets("poster")["open-airway-isolate"].data["steps"]:
        assert flat(step["do"]) in flat(large)


CAPITAL_EM = 0.668
"""Height of capitals of the sheets' face, from its OS/2 table (sCapHeight / unitsPerEm)."""


def test_a_station_in_several_lab_days_has_no_number_of_its_own() -> None:
    labs = shipped().labs
    stop = labs["airway-1"].stations[0].station
    assert number_of(shipped(), stop) == 1
    twin = labs["airway-1"].model_copy(update={"id": "twin"})
    assert number_of(replace(shipped(), labs={**labs, "twin": twin}), stop) is None
    assert number_of(replace(shipped(), labs={}), stop) is None


def test_attempts_are_whole_ones() -> None:
    station = shipped().stations["bag-mask-one-disrupt"]
    each = shipped().skills[station.skill].minutes_per_attempt
    for minutes in (0, each - 1, each, 3 * each + each - 1):
        assert attempts_at(shipped(), station.model_copy(update={"minutes": minutes})) == minutes // each


@pytest.mark.parametrize("kind", ["station", "poster"])
def test_they_are_tagged_have_title_language_and_embedded_fonts(kind: str) -> None:
    pdf = read(made(kind, "bag-mask-one-disrupt"))
    root = pdf.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert str(root["/Lang"]).startswith("en")
    assert "/StructTreeRoot" in root
    assert pdf.metadata is not None
    assert "On the floor behind the door" in str(pdf.metadata.title)
    assert b"pdfuaid:part" in made(kind, "bag-mask-one-disrupt").pdf
    fonts = [font.get_object() for page in pdf.pages for font in page["/Resources"]["/Font"].values()]
    assert fonts
    for font in fonts:
        for inner in font.get("/DescendantFonts", [font]):
            descriptor = inner.get_object()["/FontDescriptor"].get_object()
            assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(descriptor)


def test_a_second_run_gives_the_same_bytes() -> None:
    for kind in ("station", "poster"):
        assert (
            typesetter.set_sheet(sheets(kind)["suction-combine"], "us-letter").pdf == made(kind, "suction-combine").pdf
        )


def test_authors_text_is_inert_and_hidden_from_nothing() -> None:
    brief = '#panic("x") $x$ *star* `code` <tag> @ref = + / "quote" \\ [a] {b}'
    guide = sheets("station", with_station(brief=brief))["bag-mask-one-disrupt"]
    assert flat(brief) in words_of(typesetter.set_sheet(guide, "a4"))[0]


def test_a_new_trainer_worth_changes_the_guides_revision_and_not_the_posters() -> None:
    base = shipped()
    trainer = base.trainers["open-torso"]
    feedback = {k: v for k, v in trainer.feedback.items() if k != "mask-seal"}
    changed = replace(base, trainers={**base.trainers, "open-torso": trainer.model_copy(update={"feedback": feedback})})
    assert (
        sheets("station", changed)["bag-mask-one-disrupt"].revision
        != sheets("station")["bag-mask-one-disrupt"].revision
    )
    assert (
        sheets("poster", changed)["bag-mask-one-disrupt"].revision == sheets("poster")["bag-mask-one-disrupt"].revision
    )


def test_the_data_are_plain_json() -> None:
    for kind in ("station", "poster"):
        for sheet in sheets(kind).values():
            assert json.loads(json.dumps(sheet.data)) == sheet.data
    assert isinstance(next(iter(shipped().stations.values())), Station)
