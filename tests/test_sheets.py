"""Printed sheets: facts about what stands on the paper, not pixels of how it looks.

The curriculum here is invented. Sizes come from the project's own rules; contrast is judged by the formula of WCAG 2.2.
"""

from __future__ import annotations

import hashlib
import io
import json
import os
import re
import struct
import subprocess
import sys
import zlib
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdf
import pytest
from pypdf.generic import ContentStream

from generator.analysis.wording import fill, ranges
from generator.model import Curriculum, Item, LocalRules, Paper, Program, Quantity, Skill, Technique, Trainer
from generator.model.skill import Clearance, PassRule
from generator.rendering import sheets as api
from generator.rendering.sheets import making, typesetter, words
from generator.rendering.sheets import store as kept_store
from generator.rendering.sheets.codes import sheet_code, sheet_codes
from generator.rendering.sheets.contents import sheets_of
from generator.rendering.sheets.deciding import deciding, passing
from generator.rendering.sheets.geometry import PAGE_MM
from generator.rendering.sheets.sheet import Sheet, Typeset, changes, revision_of

PAPERS: tuple[Paper, ...] = ("a4", "us-letter")
SAFE_WIDTH, SAFE_HEIGHT = 186.0, 261.4


def skill(**changed: Any) -> Skill:
    step: dict[str, Any] = {"see": "The lamp is seen to light.", "rests_on": ["grip"]}
    base: dict[str, Any] = {
        "id": "light-lamp",
        "title": "Lighting the lamp",
        "strand": "lamps",
        "levels": ["novice"],
        "levels_provisional": "Levels are invented.",
        "populations": ["grown"],
        "roles": [{"id": "holder", "name": "Holder", "about": "Holds it."}, {"id": "lighter", "name": "Lighter"}],
        "minutes_per_attempt": "4",
        "summary": "One holds, one lights.",
        "cautions": [
            {"level": "note", "what": "Wipe the glass.", "why": "Soot hides the flame."},
            {"level": "caution", "what": "Mind the hair.", "why": "It burns."},
            {"level": "warning", "what": "Never light indoors gas.", "why": "It explodes."},
            {"level": "caution", "what": "Keep water near.", "why": "It puts a fire out."},
        ],
        "equipment": ["lamp"],
        "steps": [
            step | {"id": "hold", "do": "Hold the lamp upright.", "by": "holder"},
            step
            | {
                "id": "strike",
                "do": "Strike once every {beat}.",
                "by": "lighter",
                "see": "Evaluator sees one strike a beat.",
                "critical": "true",
                "pace": "beat",
                "errors": [{"error": "The hand shakes.", "cue": "Elbow down."}],
                "provisional": "The order is invented.",
            },
            step | {"id": "watch", "do": "Watch the flame.", "critical": "true", "populations": ["grown"]},
        ],
        "ladder": [
            {
                "rung": "low",
                "trainer": "dry",
                "aim": "Feel the strike.",
                "steps": ["hold", "strike"],
                "pass_rule": {"clean_in_a_row": "2"},
            },
            {
                "rung": "high",
                "trainer": "wet",
                "aim": "Do it in the rain.",
                "pass_rule": {"clean_in_a_row": "3", "scored_by": "instructor"},
            },
        ],
        "clearance": {
            "rung": "high",
            "clean_in_a_row": "3",
            "different_days": "2",
            "within_days": "30",
            "valid_months": "6",
            "after_a_fail": "Go back to the low rung.",
        },
        "disagreements": ["The northern body (2020) strikes twice."],
        "reviewed": {"on": "2026-01-02", "by": "Instructor"},
    }
    return Skill.model_validate(base | changed)


def curriculum(*skills: Skill, **changed: Any) -> Curriculum:
    program: dict[str, Any] = {
        "name": "Lamp House",
        "short_name": "Lamp",
        "language": "en-US",
        "site_url": "https://lamps.example/",
        "about": "Invented.",
        "medical_direction": "The keeper of the lamps decides; this is for training.",
        "usual_cautions": ["Wear gloves.", "Stop when anyone says stop."],
        "levels": [{"id": "novice", "name": "Novice"}],
        "rungs": [{"id": "low", "name": "Low"}, {"id": "high", "name": "High"}],
        "strands": [{"id": "lamps", "name": "Lamps"}],
        "populations": [{"id": "grown", "name": "Grown"}],
    }
    trainer: dict[str, Any] = {
        "summary": "A wick on a board.",
        "setup_minutes": "3",
        "setup": ["Screw the board down."],
        "cleaning": ["Wipe it."],
        "wear": {"purchase": "10", "rated_attempts": "100"},
        "units": "1",
    }
    trainers = (
        trainer
        | {
            "id": "dry",
            "name": "Dry lamp",
            "feedback": {"wick": {"worth": "given", "shows": "It glows whatever you do."}},
            "limits": ["Shows no wind."],
            "accepts": ["lamp"],
        },
        trainer
        | {"id": "wet", "name": "Wet lamp", "feedback": {"grip": {"worth": "measured", "shows": "A dial turns."}}},
    )
    return replace(
        Curriculum(
            program=Program.model_validate(program | changed.pop("program", {})),
            techniques={
                "grip": Technique(name="Grip", right="The hand is closed."),
                "wick": Technique(name="Wick height", right="A finger high."),
            },
            equipment={"lamp": Item(name="Oil lamp", fitted=True)},
            quantities={
                "beat": Quantity.model_validate(
                    {
                        "name": "Beat",
                        "value": "5",
                        "unit": "seconds",
                        "count_aloud": ["strike", "two", "three", "four", "five"],
                        "others": [{"body": "Southern body", "year": "2019", "says": "4 seconds"}],
                    }
                )
            },
            sources={},
            terms=(),
            trainers={one.id: one for one in map(Trainer.model_validate, trainers)},
            skills={one.id: one for one in (skills or (skill(),))},
            local=LocalRules.model_validate(
                {
                    "authority": "Lamp keeper",
                    "in_force_from": "2026-01-01",
                    "rules": [
                        {"skill": "light-lamp", "rule": "Two people always.", "levels": ["novice"]},
                        {"skill": "light-lamp", "step": "hold", "rule": "Left hand below."},
                    ],
                }
            ),
        ),
        **changed,
    )


def long_skill(steps: int, **changed: Any) -> Skill:
    made = [
        {
            "id": f"step-{n}",
            "do": f"Do action number {n} with both hands on the lamp.",
            "see": f"Evaluator sees action number {n} finished and the hands held still beside the lamp.",
            "critical": "true" if n % 3 == 0 else "false",
        }
        for n in range(1, steps + 1)
    ]
    plan = {"rung": "high", "trainer": "wet", "aim": "All.", "pass_rule": {"clean_in_a_row": "1"}}
    return skill(steps=made, ladder=[plan], **changed)


def one(kind: str, made: Curriculum | None = None, id: str | None = None) -> Sheet:
    return next(s for s in sheets_of(made or curriculum()) if s.kind == kind and (id is None or s.id == id))


def read(made: Typeset) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(made.pdf))


def pages_of(made: Typeset) -> list[str]:
    return [flat(page.extract_text()) for page in read(made).pages]


def flat(text: str) -> str:
    """Text with its spaces, soft hyphens and break opportunities evened out."""
    return re.sub(r"\s+", " ", re.sub("[\u00ad\u200b\u200e\u200f]", "", text)).strip()


def places(made: Typeset, sort: str = "") -> list[dict[str, Any]]:
    return [place for place in made.geometry["places"] if place["sort"] == sort or not sort]


@pytest.fixture(scope="module")
def checklist() -> Typeset:
    return typesetter.set_sheet(one("checklist"), "a4")


@pytest.fixture(scope="module")
def practice() -> Typeset:
    return typesetter.set_sheet(one("practice"), "a4")


@pytest.fixture(scope="module")
def sixty() -> Typeset:
    return typesetter.set_sheet(one("checklist", curriculum(long_skill(60))), "us-letter")


# What is said


def test_every_skill_has_three_sheets_every_trainer_one_and_the_lab_one() -> None:
    found = [(sheet.kind, sheet.id) for sheet in sheets_of(curriculum())]
    assert found == [
        ("checklist", "light-lamp"),
        ("practice", "light-lamp"),
        ("trainer", "dry"),
        ("trainer", "wet"),
        ("worth", "lab"),
        ("worth", "skill-light-lamp"),
    ]


def test_the_checklist_says_what_an_evaluator_needs(checklist: Typeset) -> None:
    text = " ".join(pages_of(checklist))
    assert flat(text).count("Critical") == 2
    for said in (
        "Lighting the lamp",
        "Strand: Lamps.",
        "Warning: Never light indoors gas. It explodes.",
        "The page holds 1 more caution.",
        "Wear gloves. Stop when anyone says stop.",
        "Local rule: Two people always. Here only: Novice. (Lamp keeper)",
        "Local rule: Left hand below. (Lamp keeper)",
        "Provisional: Levels are invented.",
        "Provisional: Beat (5 seconds) is from memory, not yet checked in a source.",
        "See: Evaluator sees one strike a beat.",
        "Low: Dry lamp. Steps 1–2 only. 2 clean in a row, scored by a peer or instructor.",
        "Cleared on the High rung: 3 clean attempts in a row, scored by an instructor, on at least 2 different days, "
        "all within 30 days. Clearance lasts 6 months.",
        "Any missed critical step fails the attempt, whatever else went well: steps 2–3.",
        "After a failed check: Go back to the low rung.",
        "The northern body (2020) strikes twice.",
        "Southern body (2019) says 4 seconds (from memory, not yet checked in a source).",
        "The keeper of the lamps decides; this is for training.",
        words.STARTER,
        "End of checklist: Lighting the lamp. 3 steps, 2 critical.",
    ):
        assert said in text, said
    assert text.index("Never light") < text.index("Mind the hair") < text.index("Keep water near")
    assert "Wipe the glass" not in text  # a must-know box has fewer than 4 items


def test_an_approved_program_prints_no_starter_line() -> None:
    approved = curriculum(program={"approval": {"on": "2026-01-01", "by": "Lamp keeper"}})
    assert one("checklist", approved).data["starter"] is None
    assert one("checklist").data["starter"] == words.STARTER


def test_the_practice_card_has_cues_and_pace_and_nothing_for_evaluators(practice: Typeset) -> None:
    text = " ".join(pages_of(practice))
    for said in ("Strike once every 5 seconds.", "The hand shakes: “Elbow down.”", "strike two three four five"):
        assert said in text, said
    seen = [step.see for step in skill().steps if step.see]
    assert len(seen) == 3
    printed = json.dumps(one("practice").data)
    for see in seen:
        assert see not in text
        assert see not in printed
    for scoring in ("Attempt", "Evaluator", "scored by", "in a row"):
        assert scoring not in text
    assert not places(practice, "box")


def test_the_trainer_card_puts_false_reassurance_first() -> None:
    text = " ".join(pages_of(typesetter.set_sheet(one("trainer", id="dry"), "us-letter")))
    for said in (
        "Do not believe it",
        "Wick height: It glows whatever you do.",
        "Grip: Watch for: The hand is closed.",  # a step practised on it rests on a technique it is silent about
        "What it cannot show Shows no wind.",
        "It accepts Oil lamp.",
        "Set it up (3 minutes) 1. Screw the board down.",
        "Clean it 1. Wipe it.",
        "Lighting the lamp: Low",
        "End of trainer card: Dry lamp.",
    ):
        assert said in text, said
    assert text.index("Given") < text.index("Silent")
    wet = " ".join(pages_of(typesetter.set_sheet(one("trainer", id="wet"), "us-letter")))
    assert "Believe the number" in wet
    assert "Nothing that is fitted to a patient." in wet


def test_no_field_asks_for_a_name(checklist: Typeset) -> None:
    fields = {place["what"] for place in places(checklist, "field")}
    assert fields == {
        f"field:{what}" for what in ("learner-code", "evaluator-code", "date", "note", "evaluator-mark", "learner-mark")
    }
    asked = [text for text in words.CHECKLIST.values() if "name" in text.lower()]
    assert len(asked) >= 4
    assert all("no name" in text or "page names the revision" in text for text in asked)


@pytest.mark.parametrize(
    ("numbers", "said"),
    [
        ((4,), "4"),
        ((2, 5), "2 and 5"),
        ((1, 2, 3, 4), "1–4"),
        ((6, 1, 2, 3, 9), "1–3, 6 and 9"),
        ((), ""),
    ],
)
def test_step_numbers_read_as_ranges(numbers: tuple[int, ...], said: str) -> None:
    assert ranges(numbers) == said


def test_the_deciding_rule_follows_the_data() -> None:
    plain = Clearance(rung="high", clean_in_a_row=1, scored_by="peer", valid_months=1, after_a_fail="Try {beat}.")
    lines = deciding(curriculum(), plain, "Top", (), lambda text: fill(text, curriculum().quantities))
    assert lines == (
        "Cleared on the Top rung: 1 clean attempt, scored by a peer or instructor. Clearance lasts 1 month.",
        "An attempt is clean when every step is ticked.",
        "After a failed check: Try 5 seconds.",
    )
    assert passing(curriculum(), PassRule(clean_in_a_row=1)) == "1 clean attempt, scored by a peer or instructor."
    assert "failed" not in [r["id"] for r in one("checklist", curriculum(_uncritical())).data["results"]]


def _uncritical() -> Skill:
    made = skill()
    return made.model_copy(update={"steps": tuple(step.model_copy(update={"critical": False}) for step in made.steps)})


# Revision


def test_the_revision_names_exactly_what_is_printed() -> None:
    sheet = one("checklist")
    assert sheet.revision == revision_of(sheet.data) and re.fullmatch(r"[0-9a-f]{8}", sheet.revision)
    beat = curriculum().quantities["beat"].model_copy(update={"unit": "minutes"})
    slower = curriculum(quantities={"beat": beat})
    found = changes(sheets_of(curriculum()), sheets_of(slower))
    assert [(c.what, c.kind, c.id) for c in found] == [
        ("changed", "checklist", "light-lamp"),
        ("changed", "practice", "light-lamp"),
    ]
    seen = skill(steps=[s.model_dump() | {"see": "Another sight."} for s in skill().steps])
    assert [c.kind for c in changes(sheets_of(curriculum()), sheets_of(curriculum(seen)))] == ["checklist"]
    assert changes(sheets_of(curriculum()), sheets_of(curriculum())) == ()


def test_added_and_removed_sheets_are_changes() -> None:
    more = sheets_of(curriculum(skill(), skill(id="snuff-lamp", title="Snuffing")))
    less = sheets_of(curriculum())
    added, removed = changes(less, more), changes(more, less)
    assert {("added", "snuff-lamp")} <= {(c.what, c.id) for c in added}
    assert {("removed", "snuff-lamp")} <= {(c.what, c.id) for c in removed}
    gone = next(c for c in removed if c.what == "removed")
    assert (gone.title, gone.new_revision) == ("Snuffing", None)
    assert str(gone) == f"removed: checklist snuff-lamp, {gone.old_revision} (Snuffing)"


def test_the_revision_and_page_stand_on_every_page(sixty: Typeset) -> None:
    pages = pages_of(sixty)
    assert len(pages) == sixty.geometry["pages"] > 4
    for number, text in enumerate(pages, 1):
        assert f"Revision {sixty.geometry['revision']}" in text
        assert f"Page {number} of {len(pages)}" in text
        assert "The keeper of the lamps decides" in text


# The page as a reader of filled sheets meets it


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("kind", ["checklist", "practice", "trainer", "worth"])
def test_everything_stands_inside_the_safe_area_and_apart(kind: str, paper: Paper) -> None:
    made = typesetter.set_sheet(one(kind), paper)
    assert made.geometry["page_mm"] == list(PAGE_MM[paper])
    width, height = PAGE_MM[paper]
    left, top = (width - SAFE_WIDTH) / 2, (height - SAFE_HEIGHT) / 2
    assert min(left, top) >= 9
    found = places(made)
    for place in found:
        assert left - 0.01 <= place["x"] and place["x"] + place["width"] <= left + SAFE_WIDTH + 0.01, place
        assert top - 0.01 <= place["y"] and place["y"] + place["height"] <= top + SAFE_HEIGHT + 0.01, place
    for i, a in enumerate(found):
        assert not [b for b in found[i + 1 :] if overlap(a, b)], a
    for page in range(1, made.geometry["pages"] + 1):
        on_page = [place["what"] for place in found if place["page"] == page]
        assert {what for what in on_page if what.startswith("corner:")} == {
            f"corner:{end}-{side}" for end in ("top", "bottom") for side in ("left", "right")
        }
        assert on_page.count("code") == 1
    assert [place["page"] for place in places(made, "link")] == [1]


def overlap(a: dict[str, Any], b: dict[str, Any]) -> bool:
    return bool(
        a["page"] == b["page"]
        and a["x"] < b["x"] + b["width"]
        and b["x"] < a["x"] + a["width"]
        and a["y"] < b["y"] + b["height"]
        and b["y"] < a["y"] + a["height"]
    )


@pytest.mark.parametrize("steps", [1, 12, 60])
def test_there_is_a_box_for_each_mark_and_all_are_of_one_size(steps: int) -> None:
    made = typesetter.set_sheet(one("checklist", curriculum(long_skill(steps))), "a4")
    boxes = places(made, "box")
    attempts = {f"attempt-{n}" for n in (1, 2, 3)}
    expected = {f"step:step-{n}:{a}" for n in range(1, steps + 1) for a in attempts}
    results = ("clean", "not-clean", "failed") if steps >= 3 else ("clean", "not-clean")
    expected |= {f"result:{result}:{a}" for result in results for a in attempts}
    expected |= {"rung:high", "scored-by:peer", "scored-by:instructor", "role:holder", "role:lighter"}
    assert sorted(box["what"] for box in boxes) == sorted(expected)
    assert {(box["width"], box["height"]) for box in boxes} == {(6.0, 6.0)}


def test_the_boxes_of_a_step_stand_in_one_line_beside_its_text(sixty: Typeset) -> None:
    pages = pages_of(sixty)
    columns: set[tuple[float, ...]] = set()
    for n in range(1, 61):
        three = [p for p in places(sixty, "box") if p["what"].startswith(f"step:step-{n}:")]
        assert len({(p["page"], p["y"]) for p in three}) == 1
        columns.add(tuple(p["x"] for p in sorted(three, key=lambda p: str(p["what"]))))
        text = pages[three[0]["page"] - 1]
        assert f"Do action number {n} with both hands on the lamp." in text
        assert f"Evaluator sees action number {n} finished and the hands held still beside the lamp." in text
        assert words.CHECKLIST["step"] in text, "the head of the table comes again on each page"
    assert len(columns) == 1
    gaps = [b - a for a, b in zip(next(iter(columns)), next(iter(columns))[1:], strict=False)]
    assert gaps == pytest.approx([13, 13], abs=0.01)


def test_steps_are_read_in_their_order(sixty: Typeset, practice: Typeset) -> None:
    text = " ".join(pages_of(sixty))
    at = [text.index(f"Do action number {n} with") for n in range(1, 61)]
    assert at == sorted(at)
    card = " ".join(pages_of(practice))
    assert card.index("Hold the lamp") < card.index("Strike once") < card.index("Watch the flame")


def test_both_papers_hold_the_same_page(checklist: Typeset) -> None:
    letter = typesetter.set_sheet(one("checklist"), "us-letter")
    assert len(places(checklist)) == len(places(letter)) > 20
    for a, b in zip(places(checklist), places(letter), strict=True):
        assert (a["what"], a["page"]) == (b["what"], b["page"])
        assert b["x"] - a["x"] == pytest.approx(2.95, abs=0.01)
        assert b["y"] - a["y"] == pytest.approx(-8.8, abs=0.01)
    for made, paper in ((checklist, PAPERS[0]), (letter, PAPERS[1])):
        box = read(made).pages[0].mediabox
        assert (float(box.width) * 25.4 / 72, float(box.height) * 25.4 / 72) == pytest.approx(PAGE_MM[paper], abs=0.05)


def test_geometry_is_sorted_and_survives_json(sixty: Typeset) -> None:
    named = {"pdf_sha256": hashlib.sha256(sixty.pdf).hexdigest()}
    assert json.loads(sixty.geometry_json()) == sixty.geometry | named
    order = ("box", "field", "corner", "code", "link")
    keys = [(p["page"], order.index(p["sort"]), p["y"], p["x"]) for p in places(sixty)]
    assert keys == sorted(keys)


def test_ink_stands_where_the_geometry_says(checklist: Typeset) -> None:
    scale = 72
    pictures = [darkness(png) for png in typesetter.pictures(one("checklist"), "a4", scale)]
    assert len(pictures) == checklist.geometry["pages"]
    seen = 0
    for place in places(checklist):
        picture = pictures[place["page"] - 1]
        left, top = place["x"] * scale / 25.4, place["y"] * scale / 25.4
        right, bottom = left + place["width"] * scale / 25.4, top + place["height"] * scale / 25.4
        middle = [picture[y][x] for y in span(top + 4, bottom - 4) for x in span(left + 4, right - 4)]
        if place["sort"] == "box":
            edges = [
                [
                    max(picture[y + d][x] for d in (-1, 0, 1))
                    for y in (round(top), round(bottom))
                    for x in span(left, right)
                ],
                [
                    max(picture[y][x + d] for d in (-1, 0, 1))
                    for x in (round(left), round(right))
                    for y in span(top, bottom)
                ],
            ]
            assert min(min(edge) for edge in edges) > 0.5, place
            assert max(middle) < 0.1, place
            seen += 1
        elif place["sort"] == "corner":
            hole = place["what"] == "corner:top-left"
            assert (min(middle) < 0.1) if hole else (min(middle) > 0.9), place
            seen += 1
        elif place["sort"] in ("code", "link"):
            assert 0.3 < sum(middle) / len(middle) < 0.7, place  # about half of a QR code is dark
            seen += 1
    assert seen == len([p for p in places(checklist) if p["sort"] != "field"]) > 20


def span(start: float, end: float) -> range:
    return range(round(start), round(end))


def darkness(png: bytes) -> list[list[float]]:
    """Rows of darkness (0 paper, 1 black) of a PNG with 8 bits a channel, not interlaced (W3C PNG, section 9)."""
    width, height, depth, colour, _, _, interlaced = struct.unpack(">IIBBBBB", png[16:29])
    assert (depth, interlaced) == (8, 0)
    channels = {0: 1, 2: 3, 6: 4}[colour]
    data, at = b"", 8
    while at < len(png):
        (length,) = struct.unpack(">I", png[at : at + 4])
        if png[at + 4 : at + 8] == b"IDAT":
            data += png[at + 8 : at + 8 + length]
        at += 12 + length
    raw, stride = zlib.decompress(data), width * channels
    rows: list[list[float]] = []
    above = bytes(stride)
    for y in range(height):
        start = y * (stride + 1)
        line = unfiltered(raw[start], bytearray(raw[start + 1 : start + 1 + stride]), above, channels)
        rows.append([1 - line[x * channels] / 255 for x in range(width)])
        above = bytes(line)
    return rows


def unfiltered(kind: int, line: bytearray, above: bytes, channels: int) -> bytearray:
    for i in range(len(line) if kind else 0):
        a = line[i - channels] if i >= channels else 0
        b, c = above[i], above[i - channels] if i >= channels else 0
        if kind == 4:
            p = a + b - c
            nearest = min((abs(p - a), 0, a), (abs(p - b), 1, b), (abs(p - c), 2, c))[2]
        line[i] = (line[i] + (a, b, (a + b) // 2, nearest if kind == 4 else 0)[kind - 1]) & 255
    return line


def test_the_sheet_code_names_kind_id_revision_paper_and_page() -> None:
    sheet = one("checklist")
    assert sheet_code(sheet, "us-letter", 3) == f"CHECKLIST:LIGHT-LAMP:{sheet.revision.upper()}:US-LETTER:3"
    # ISO/IEC 18004, table of alphanumeric mode: only these may stand in the compact coding.
    assert set(sheet_code(sheet, "a4", 12)) <= set("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:")


def test_each_page_has_a_code_of_its_own(sixty: Typeset) -> None:
    drawn = sheet_codes(one("checklist"), "a4", 3)
    assert len(set(drawn)) == 3
    assert drawn == sheet_codes(one("checklist"), "a4", 5)[:3]
    assert len(places(sixty, "code")) == sixty.geometry["pages"]


def test_an_address_too_long_for_a_code_does_not_stop_the_sheet() -> None:
    made = curriculum(program={"site_url": "https://lamps.example/" + "a" * 5000})
    assert len(places(typesetter.set_sheet(one("practice", made), "a4"), "link")) == 1


# The file


@pytest.mark.parametrize("kind", ["checklist", "practice", "trainer", "worth"])
def test_the_pdf_is_tagged_titled_in_its_language_with_its_fonts(kind: str) -> None:
    sheet = one(kind)
    reader = read(typesetter.set_sheet(sheet, "a4"))
    root: Any = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert "/StructTreeRoot" in root
    assert root["/Lang"] == "en-US"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert reader.metadata is not None
    assert (
        reader.metadata.title
        == f"{sheet.title} – {words.CHECKLIST['kind'] if kind == 'checklist' else sheet.data['words']['kind']}"
    )
    xmp = root["/Metadata"].get_data().decode()
    assert "pdfuaid:part>1<" in xmp.replace(" ", "")  # ISO 14289-1 conformance claim
    for date in ("CreationDate", "ModDate", "CreateDate", "ModifyDate"):
        assert date not in xmp and f"/{date}" not in reader.metadata
    fonts = list(fonts_in(reader))
    assert fonts
    for font in fonts:
        inner = font["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
        assert "/FontFile2" in inner or "/FontFile3" in inner, font["/BaseFont"]
    assert all("AtkinsonHyperlegible" in font["/BaseFont"] for font in fonts)


def fonts_in(reader: pypdf.PdfReader) -> Iterator[Any]:
    for page in reader.pages:
        for font in page["/Resources"].get("/Font", {}).values():
            yield font.get_object()


def test_outline_levels_start_with_the_title(checklist: Typeset) -> None:
    tags = [tag for tag in structure(read(checklist).trailer["/Root"]["/StructTreeRoot"]) if tag]
    headings = [tag for tag in tags if re.fullmatch(r"/H[1-6]", tag)]
    assert headings[0] == "/H1"
    assert headings.count("/H1") == 1
    assert headings.count("/H2") >= 5
    assert "/Figure" in tags  # the page's code, which has an alternative text
    assert "/TH" in tags


def structure(node: Any) -> Iterator[str]:
    node = node.get_object()
    if isinstance(node, list):
        for kid in node:
            yield from structure(kid)
    elif isinstance(node, dict):
        yield str(node.get("/S", ""))
        if "/K" in node:
            yield from structure(node["/K"])


def test_the_same_sheet_gives_the_same_bytes_in_another_time_zone() -> None:
    sheet = one("checklist")
    here = hashlib.sha256(typesetter.set_sheet(sheet, "a4").pdf).hexdigest()
    typesetter._compiler.cache_clear()
    assert hashlib.sha256(typesetter.set_sheet(sheet, "a4").pdf).hexdigest() == here
    script = (
        "import hashlib,sys;sys.path.insert(0,sys.argv[1]);import test_sheets as t;"
        "print(hashlib.sha256(t.typesetter.set_sheet(t.one('checklist'),'a4').pdf).hexdigest())"
    )
    elsewhere = os.environ | {"TZ": "Pacific/Auckland", "LC_ALL": "C", "PYTHONHASHSEED": "7", "SOURCE_DATE_EPOCH": "9"}
    out = subprocess.run(
        [sys.executable, "-c", script, str(Path(__file__).parent)],
        env=elsewhere,
        capture_output=True,
        text=True,
        check=True,
    )
    assert out.stdout.strip() == here


@pytest.mark.parametrize("kind", ["checklist", "practice", "trainer", "worth"])
def test_every_ink_can_be_read_on_white_paper(kind: str) -> None:
    """WCAG 2.2, success criterion 1.4.3: 4.5 to 1. White stands only on black shapes."""
    reader = read(typesetter.set_sheet(one(kind), "a4"))
    inks = {ink for page in reader.pages for ink in inks_of(page, reader)}
    assert inks
    for ink in inks - {1.0}:
        assert 1.05 / (luminance(ink) + 0.05) >= 4.5, ink
    assert 0.0 in inks


def luminance(level: float) -> float:
    return level / 12.92 if level <= 0.04045 else ((level + 0.055) / 1.055) ** 2.4


def inks_of(thing: Any, reader: pypdf.PdfReader) -> Iterator[float]:
    """The grey level of each colour set on a page and in the drawings on it; coloured ink fails here."""
    source = thing.get_contents() if isinstance(thing, pypdf.PageObject) else thing
    for operands, operator in ContentStream(source, reader).operations:
        if operator in (b"scn", b"SCN", b"sc", b"SC", b"g", b"G", b"rg", b"RG"):
            levels = {float(value) for value in operands}
            assert len(levels) == 1, f"a coloured ink: {operands}"
            yield levels.pop()
        assert operator not in (b"k", b"K", b"sh"), "process colours and shadings are not for a black-and-white laser"
    for inner in thing["/Resources"].get("/XObject", {}).values():
        if inner.get_object()["/Subtype"] == "/Form" and "/Resources" in inner.get_object():
            yield from inks_of(inner.get_object(), reader)


# Hostile and odd text

HOSTILE = (
    '#panic("x") #let x = 1 #image("/etc/passwd") #read("sheet.typ")',
    "$ sum_1^2 $ @reference *bold* _under_ <label> = heading",
    "back\\slash \\u{41} \"quotes\" 'single' `raw` {braces} [brackets] // not a comment /* nor this */",
    "- list + enum / term: ~ -- --- ...",
    "%PDF-1.7 << /JS (app.alert) >> endobj",
    "{{ template }} {% if %} ${env} <script>alert(1)</script>",
)


@pytest.mark.parametrize("text", HOSTILE)
@pytest.mark.parametrize("kind", ["checklist", "practice"])
def test_typed_commands_print_as_they_were_typed(kind: str, text: str) -> None:
    steps = [
        {"id": "odd", "do": text, "see": text, "provisional": text, "errors": [{"error": text, "cue": text}]},
        {"id": "end", "do": "Last step."},
    ]
    caution = {"what": text, "why": text}
    made = curriculum(skill(title=text, summary=text, steps=steps, cautions=[caution], disagreements=[text]))
    found = flat(" ".join(pages_of(typesetter.set_sheet(one(kind, made), "a4"))))
    assert squeezed(found).count(squeezed(text)) >= 5
    assert "Last step." in found


def squeezed(text: str) -> str:
    return re.sub(r"[\s\u00ad\u200b]", "", text)


@pytest.mark.parametrize(
    "text",
    [
        "שלום עולם",
        "مرحبا بالعالم",
        "e\u0301tude Ωμέγα Кириллица ½ ≥ – ° µ",
        "right \u202e to left \u2066 marks \u2069",
        "soft\u00adhyphen zero\u200bwidth non\u00a0breaking",
    ],
)
def test_other_letters_are_set_without_loss_of_the_sheet(text: str) -> None:
    made = typesetter.set_sheet(one("checklist", curriculum(skill(title=text))), "a4")
    assert "[U+" not in " ".join(pages_of(made))
    assert len(places(made, "box")) == 9 + 9 + 2 + 2 + 2


def test_a_character_that_no_font_has_prints_as_its_number() -> None:
    title = "Lamp 😀 中 \x07 \ufeff end"
    made = typesetter.set_sheet(one("checklist", curriculum(skill(title=title))), "a4")
    text = " ".join(pages_of(made))
    assert "[U+1F600]" in text
    assert "[U+4E2D]" in text
    assert "[U+0007]" in text
    assert len(places(made, "box")) == 24


def test_very_long_words_stay_on_the_page() -> None:
    word = "Supercalifragilistic" * 12
    made = curriculum(skill(title=word, steps=[{"id": "only", "do": word, "see": word}]))
    typeset_sheet = typesetter.set_sheet(one("checklist", made), "a4")
    assert squeezed(" ".join(pages_of(typeset_sheet))).count(word) >= 3
    left = (210 - SAFE_WIDTH) / 2 * 72 / 25.4
    xs: list[float] = []
    for page in read(typeset_sheet).pages:
        page.extract_text(
            visitor_text=lambda text, cm, tm, *_: xs.append(float(cm[4] + tm[4])) if text.strip() else None
        )
    assert xs and min(xs) >= left - 1 and max(xs) <= left + SAFE_WIDTH * 72 / 25.4


def test_a_step_longer_than_a_page_loses_no_text() -> None:
    tale = " ".join(f"word{n}" for n in range(2000))
    made = curriculum(skill(steps=[{"id": "tale", "do": tale, "see": "Seen."}, {"id": "next", "do": "Go on."}]))
    for kind in ("checklist", "practice"):
        text = " ".join(pages_of(typesetter.set_sheet(one(kind, made), "a4")))
        assert re.findall(r"word(\d+)", text) == [str(n) for n in range(2000)]


def test_empty_optional_fields_leave_a_whole_sheet() -> None:
    bare = skill(
        roles=[], populations=[], equipment=[], cautions=[], ladder=[], disagreements=[], levels_provisional=None,
        steps=[{"id": "only", "do": "Do it."}],
    )  # fmt: skip
    made = replace(curriculum(bare), local=None, quantities={})
    text = " ".join(pages_of(typesetter.set_sheet(one("checklist", made), "us-letter")))
    assert "Do it." in text and "End of checklist" in text
    for missing in ("Local rule", "Provisional", "Which role", "Where bodies differ", "None", "none"):
        assert missing not in text, missing
    assert "Do it." in " ".join(pages_of(typesetter.set_sheet(one("practice", made), "us-letter")))


def test_a_very_long_line_of_deference_is_printed_in_full() -> None:
    line = "The keeper decides. " * 120 + "Last words of it."
    made = typesetter.set_sheet(one("checklist", curriculum(program={"medical_direction": line})), "a4")
    text = " ".join(pages_of(made))
    assert text.count("The keeper decides.") == 120
    assert "Last words of it." in text


# The store


def test_an_unchanged_sheet_is_never_typeset_twice(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = api.typeset(one("practice"), "a4", tmp_path / "store")
    monkeypatch.setattr(making, "set_sheet", lambda *_: pytest.fail("typeset again"))
    assert api.typeset(one("practice"), "a4", tmp_path / "store") == first
    with pytest.raises(pytest.fail.Exception):
        api.typeset(one("practice"), "us-letter", tmp_path / "store")
    assert not list((tmp_path / "store").glob(".part-*"))


def test_a_damaged_entry_is_made_again(tmp_path: Path) -> None:
    sheet = one("practice")
    first = api.typeset(sheet, "a4", tmp_path)
    entry = tmp_path / f"{kept_store.key_of(sheet, 'a4')}.pdf"
    entry.write_bytes(first.pdf[: len(first.pdf) // 2])
    assert kept_store.kept(tmp_path, kept_store.key_of(sheet, "a4")) is None
    assert api.typeset(sheet, "a4", tmp_path) == first
    assert entry.read_bytes() == first.pdf


def test_a_store_that_cannot_be_written_costs_nothing_but_time(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("not a folder")
    assert api.typeset(one("practice"), "a4", blocked).pdf.startswith(b"%PDF")


@pytest.mark.parametrize("workers", [1, 2])
def test_many_sheets_come_in_order_and_tell_how_far_they_are(
    workers: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(making, "POOL_PAYS_FROM", 2)
    jobs = [api.Job(sheet=sheet, paper=paper) for sheet in sheets_of(curriculum()) for paper in PAPERS]
    jobs.append(jobs[0])
    told: list[tuple[int, int]] = []
    made = list(api.typeset_all(jobs, tmp_path, workers, lambda done, of: told.append((done, of))))
    assert [(m.geometry["kind"], m.geometry["id"], m.geometry["paper"]) for m in made] == [
        (job.sheet.kind, job.sheet.id, job.paper) for job in jobs
    ]
    assert told == [(n, 13) for n in range(1, 14)]
    assert made[0] == typesetter.set_sheet(jobs[0].sheet, jobs[0].paper)
    monkeypatch.setattr(making, "set_sheet", lambda *_: pytest.fail("typeset again"))
    assert list(api.typeset_all(jobs, tmp_path, workers)) == made


def test_boxes_move_only_together_with_the_layout_number() -> None:
    """An old print is read with the places of its own layout. Moved on purpose? Raise LAYOUT and update this."""
    made = typesetter.set_sheet(replace(one("checklist"), revision="00000000"), "a4")
    found = [(p["what"], p["page"], round(p["x"], 1), round(p["y"], 1)) for p in places(made)]
    assert (made.geometry["layout"], hashlib.sha256(json.dumps(found).encode()).hexdigest()[:12]) == (1, "5d6a340626d5")
