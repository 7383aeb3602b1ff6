"""A file of attempts is read row by row: what is judged, what is set aside and why, and that no row is ever lost.

Sources: RFC 4180, section 2 (records, quotes, CRLF); Unicode 15, section 23.8 (byte order marks); OWASP, "CSV
Injection" (first characters of a formula).
"""

from __future__ import annotations

import codecs
import random
import re
from datetime import date
from pathlib import Path

import pytest

from generator.model import Curriculum
from generator.model.attempt import Attempt, KnownRevision
from generator.reading import read_curriculum
from generator.reading.aside import as_row
from generator.reading.attempt_lines import COLUMNS
from generator.reading.attempts import AttemptsFile, read_attempts
from generator.reading.revisions import read_revisions
from generator.rendering.readiness import aside_csv, aside_text
from generator.rendering.sheets import sheets_of
from generator.rendering.sheets.revisions import known_revisions, revisions_json

HEADER = ",".join(COLUMNS)
GOOD = "2027-01-13,L1,mask-breath,perform,whole-body,E1,instructor,,a1,,,,"


@pytest.fixture(scope="module")
def curriculum() -> Curriculum:
    found, _ = read_curriculum(Path(__file__).parent / "cases/base/curriculum")
    assert found is not None
    return found


def reads(tmp_path: Path, curriculum: Curriculum, content: str | bytes, **how: object) -> AttemptsFile:
    path = tmp_path / "attempts.csv"
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    found = read_attempts(path, curriculum, **how)  # type: ignore[arg-type]
    assert found.rows == len(found.attempts) + len(found.set_aside)
    return found


def row(**cells: str) -> str:
    """The good row with some cells changed."""
    fields = dict(zip(COLUMNS, GOOD.split(","), strict=True)) | cells
    return ",".join(fields[name] for name in COLUMNS)


def rows(*lines: str) -> str:
    return "".join(f"{line}\r\n" for line in (HEADER, *lines))


def test_a_row_is_read_as_it_was_typed(tmp_path: Path, curriculum: Curriculum) -> None:
    text = rows(row(missed="squeeze gloves", unseen="seal", note='"Said ""now"", then waited"', revision="0A1B2C3D"))
    (one,) = reads(tmp_path, curriculum, text).attempts
    assert one == Attempt(
        line=2, on=date(2027, 1, 13), learner="L1", skill="mask-breath", rung="perform", trainer="whole-body",
        evaluator="E1", role="instructor", team_role="", attempt="a1", revision="0A1B2C3D",
        missed=("gloves", "squeeze"), unseen=("seal",), failing=("squeeze",), note='Said "now", then waited',
        flag="Sheet revision 0A1B2C3D is not known, so it was judged by today's steps.",
    )  # fmt: skip
    assert one.is_failed
    assert not one.is_clean


def test_the_practice_page_exports_exactly_these_columns() -> None:
    script = (Path(__file__).parents[1] / "generator/rendering/assets/practice.js").read_text(encoding="utf-8")
    columns = re.search(r"const COLUMNS = \[(.*?)\]", script, re.DOTALL)
    assert columns is not None
    assert tuple(re.findall(r'"(\w+)"', columns[1])) == COLUMNS


def test_a_critical_step_that_was_not_seen_is_neither_clean_nor_failed(tmp_path: Path, curriculum: Curriculum) -> None:
    (one,) = reads(tmp_path, curriculum, rows(row(unseen="squeeze"))).attempts
    assert (one.is_clean, one.is_failed) == (False, False)


BAD = {
    "date-missing": {"date": ""},
    "date-unreadable": {"date": "13/01/2027"},
    "date-later": {"date": "2027-02-01"},
    "learner-missing": {"learner": ""},
    "learner-not-a-code": {"learner": "Two Words"},
    "skill-unknown": {"skill": "mask-breth"},
    "rung-unknown": {"rung": "top"},
    "trainer-unknown": {"trainer": "hole-body"},
    "evaluator-missing": {"evaluator": ""},
    "evaluator-not-a-code": {"evaluator": "=cmd"},
    "role-unknown": {"role": "teacher"},
    "team-role-unknown": {"team_role": "bag"},
    "attempt-missing": {"attempt": ""},
    "attempt-not-a-code": {"attempt": "first one"},
    "step-unknown": {"missed": "seel"},
    "step-marked-twice": {"missed": "seal", "unseen": "seal"},
    "step-not-on-rung": {"rung": "isolate", "trainer": "half-torso", "missed": "squeeze"},
}


@pytest.mark.parametrize("rule", BAD)
def test_a_bad_cell_sets_its_row_aside_and_no_other(tmp_path: Path, curriculum: Curriculum, rule: str) -> None:
    text = rows(row(attempt="a0"), row(**BAD[rule]), row(attempt="a2"))
    found = reads(tmp_path, curriculum, text, on=date(2027, 1, 31))
    assert [one.attempt for one in found.attempts] == ["a0", "a2"]
    (aside,) = found.set_aside
    assert (aside.line, aside.rule, aside.text) == (3, rule, row(**BAD[rule]))
    assert aside.reason.endswith(".")
    assert aside.remedy


@pytest.mark.parametrize(
    ("typed", "meant"), [("skill", "mask-breath"), ("trainer", "whole-body"), ("step", "seal"), ("rung", "perform")]
)
def test_the_nearest_right_name_is_said(tmp_path: Path, curriculum: Curriculum, typed: str, meant: str) -> None:
    cell = "missed" if typed == "step" else typed
    (aside,) = reads(tmp_path, curriculum, rows(row(**{cell: f"{meant}x"}))).set_aside
    assert aside.remedy.startswith(f"Did you mean {meant}?")


@pytest.mark.parametrize(
    ("line", "rule"),
    [
        ("2027-01-13,L1,mask-breath", "row-short"),
        (f"{GOOD},more,cells", "row-long"),
        (f"{GOOD}\"left open", "quote-open"),
        (f"{GOOD}\"closed\" too soon", "quote-open"),
        (HEADER, "header-repeated"),
    ],
)
def test_a_row_of_the_wrong_shape_is_set_aside(tmp_path: Path, curriculum: Curriculum, line: str, rule: str) -> None:
    found = reads(tmp_path, curriculum, rows(row(attempt="a0"), line, row(attempt="a2")))
    assert [one.attempt for one in found.attempts] == ["a0", "a2"]
    assert [(one.rule, one.line) for one in found.set_aside] == [(rule, 3)]


def test_empty_lines_and_empty_cells_at_the_end_are_no_rows(tmp_path: Path, curriculum: Curriculum) -> None:
    found = reads(tmp_path, curriculum, f"\r\n{HEADER},,\r\n\r\n{GOOD},,\r\n,,,,,,,,,,,,\r\n   \r\n")
    assert (len(found.attempts), found.set_aside) == (1, ())
    assert found.attempts[0].line == 4


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("ending", ["\r\n", "\n", "\r"])
@pytest.mark.parametrize("first", ["", "sep=%\r\n"])
def test_separators_and_line_ends_are_found(
    tmp_path: Path, curriculum: Curriculum, separator: str, ending: str, first: str
) -> None:
    lines = [HEADER, row(note=f'"a{separator}b"'), row(attempt="a2", missed="seal gloves")]
    text = "".join(line.replace(",", separator) + ending for line in lines)
    found = reads(tmp_path, curriculum, first.replace("%", separator) + text)
    assert [one.note for one in found.attempts] == [f"a{separator}b", ""]
    assert found.attempts[1].missed == ("gloves", "seal")


ENCODINGS = {
    "utf-8": (b"", "utf-8"),
    "utf-8 with a mark": (codecs.BOM_UTF8, "utf-8"),
    "utf-16 little end first": (codecs.BOM_UTF16_LE, "utf-16-le"),
    "utf-16 big end first": (codecs.BOM_UTF16_BE, "utf-16-be"),
}


@pytest.mark.parametrize("name", ENCODINGS)
def test_marked_encodings_are_read(tmp_path: Path, curriculum: Curriculum, name: str) -> None:
    mark, encoding = ENCODINGS[name]
    text = rows(row(note="Brücke – ✓"))
    (one,) = reads(tmp_path, curriculum, mark + text.encode(encoding)).attempts
    assert one.note == "Brücke – ✓"


def test_windows_1252_is_not_guessed_but_read_when_named(tmp_path: Path, curriculum: Curriculum) -> None:
    content = rows(row(attempt="a0"), row(note="Brücke")).encode("windows-1252")
    found = reads(tmp_path, curriculum, content)
    assert [one.attempt for one in found.attempts] == ["a0"]
    (aside,) = found.set_aside
    assert (aside.rule, aside.line) == ("text-damaged", 3)
    assert "--encoding" in aside.remedy
    assert "Br\\udcfccke" in aside.text
    named = reads(tmp_path, curriculum, content, encoding="windows-1252")
    assert [one.note for one in named.attempts] == ["", "Brücke"]


def test_utf_16_without_a_mark_is_set_aside_whole(tmp_path: Path, curriculum: Curriculum) -> None:
    found = reads(tmp_path, curriculum, rows(GOOD, row(attempt="a2")).encode("utf-16-le"))
    assert found.attempts == ()
    assert {one.rule for one in found.set_aside} == {"text-damaged"}


def test_a_file_without_column_names_is_set_aside_with_the_line_to_add(tmp_path: Path, curriculum: Curriculum) -> None:
    found = reads(tmp_path, curriculum, f"{GOOD}\r\n{row(attempt='a2')}\r\n")
    assert [one.rule for one in found.set_aside] == ["header-missing"] * 2
    assert HEADER in found.set_aside[0].remedy
    found = reads(tmp_path, curriculum, rows(GOOD).replace("missed", "mised"))
    assert [one.rule for one in found.set_aside] == ["header-incomplete"]


def test_columns_may_stand_in_any_order_and_others_are_named(tmp_path: Path, curriculum: Curriculum) -> None:
    order = ["colour", *reversed([name for name in COLUMNS if name not in ("note", "unseen", "team_role", "revision")])]
    cells = dict(zip(COLUMNS, GOOD.split(","), strict=True)) | {"colour": "red"}
    found = reads(tmp_path, curriculum, ",".join(order) + "\n" + ",".join(cells[name] for name in order) + "\n")
    assert [one.attempt for one in found.attempts] == ["a1"]
    assert found.remarks == ("Nothing reads the column “colour”.",)


@pytest.mark.parametrize("text", ["=1+1", "+cmd", "-seal", "@SUM(A1)", "＝1"])
def test_the_apostrophe_that_keeps_a_formula_inert_is_taken_off_and_put_back(
    tmp_path: Path, curriculum: Curriculum, text: str
) -> None:
    (one,) = reads(tmp_path, curriculum, rows(row(note=f"'{text}"))).attempts
    assert one.note == text
    assert as_row(one) == row(note=f"'{text}")


def test_a_note_may_hold_line_breaks(tmp_path: Path, curriculum: Curriculum) -> None:
    found = reads(tmp_path, curriculum, rows(row(note='"one\r\ntwo, ""three""\r\n"'), row(attempt="a2")))
    assert [one.note for one in found.attempts] == ['one\r\ntwo, "three"', ""]
    assert [one.line for one in found.attempts] == [2, 5]


def test_an_open_quote_swallows_no_rows(tmp_path: Path, curriculum: Curriculum) -> None:
    lines = [row(attempt="a0"), row(note='"open'), row(attempt="a2"), row(attempt="a3", note='end"'), row(attempt="a4")]
    found = reads(tmp_path, curriculum, rows(*lines))
    assert [one.attempt for one in found.attempts] == ["a0", "a2", "a3", "a4"]
    assert found.attempts[2].note == 'end"'
    assert [(one.line, one.rule) for one in found.set_aside] == [(3, "quote-open")]


def test_repeats_and_contradictions(tmp_path: Path, curriculum: Curriculum) -> None:
    lines = [
        row(attempt="same"), row(attempt="same"),
        row(attempt="marks"), row(attempt="marks", missed="seal"),
        row(attempt="who"), row(attempt="who", learner="L2"),
        row(attempt="pair"), row(attempt="pair", evaluator="L9", role="peer", missed="seal"),
    ]  # fmt: skip
    for order in (lines, lines[::-1], random.Random(5).sample(lines, len(lines))):
        found = reads(tmp_path, curriculum, rows(*order))
        assert sorted(one.attempt for one in found.attempts) == ["pair", "pair", "same"]
        assert sorted((one.rule, one.text) for one in found.set_aside) == sorted(
            [("row-repeated", lines[0]), *(("attempt-contradicted", line) for line in lines[2:6])]
        )


def test_codes_that_differ_in_capitals_are_pointed_out(tmp_path: Path, curriculum: Curriculum) -> None:
    found = reads(tmp_path, curriculum, rows(row(learner="L7"), row(learner="l7", attempt="a2"), row(attempt="a3")))
    assert len(found.attempts) == 3
    assert found.remarks == ("L7 and l7 are taken for different learners; correct the file if they are one.",)


# --- revisions ---------------------------------------------------------------------------------------------------


def test_a_row_is_judged_by_the_sheet_it_was_marked_on(tmp_path: Path, curriculum: Curriculum) -> None:
    known = known_revisions(sheets_of(curriculum))
    old = KnownRevision(revision="0ld00001", skill="mask-breath", steps=("gloves", "lift-jaw"), critical=("gloves",))
    now = next(one.revision for one in known.values() if one.skill == "mask-breath")
    lines = [
        row(attempt="old", revision="0LD00001", missed="lift-jaw gloves"),
        row(attempt="now", revision=now, missed="gloves"),
        row(attempt="odd", revision="ffffffff", missed="gloves"),
        row(attempt="lost", revision="ffffffff", missed="lift-jaw"),
        row(attempt="none", missed="gloves"),
        row(attempt="other", revision=now, skill="press-on-wound"),
    ]
    found = reads(tmp_path, curriculum, rows(*lines), revisions=known | {old.revision: old})
    by_id = {one.attempt: one for one in found.attempts}
    assert (by_id["old"].failing, by_id["old"].flag) == (("gloves",), "")
    assert (by_id["now"].failing, by_id["now"].flag) == ((), "")
    assert "not known" in by_id["odd"].flag
    assert "No sheet revision" in by_id["none"].flag
    assert {one.rule for one in found.set_aside} == {"step-unknown", "revision-of-another-skill"}
    assert "--revisions" in next(one for one in found.set_aside if one.rule == "step-unknown").remedy


def test_the_file_of_revisions_comes_back_as_it_was_written(tmp_path: Path, curriculum: Curriculum) -> None:
    known = known_revisions(sheets_of(curriculum), is_current=False)
    assert {one.skill for one in known.values()} == set(curriculum.skills)
    path = tmp_path / "revisions.json"
    path.write_text(revisions_json(known), encoding="utf-8")
    assert read_revisions(path) == (known, ())
    assert read_revisions(tmp_path / "none.json") == ({}, ())


@pytest.mark.parametrize(
    "text",
    ["", "[]", "{", '{"a": 1}', '{"a": {"skill": "s", "steps": ["x"], "critical": ["y"]}}', '{"a": {"skill": 1}}'],
)
def test_a_broken_file_of_revisions_is_a_problem(tmp_path: Path, text: str) -> None:
    path = tmp_path / "revisions.json"
    path.write_text(text, encoding="utf-8")
    known, problems = read_revisions(path)
    assert known == {}
    assert [problem.rule for problem in problems] == ["revisions-unreadable"]


# --- nothing is lost ---------------------------------------------------------------------------------------------

CORRUPTIONS = 2_000


def _file(dice: random.Random) -> tuple[list[str], str]:
    """Ids and text of a sound file with two dozen rows."""
    ids = [f"id{number:03d}x" for number in range(24)]
    notes = ["", "", '"a, b"', '"said ""stop"""', '"two\r\nlines"', "'=1+1", "plain", "Brücke ✓"]
    skills = [
        ("mask-breath", "perform", "whole-body", ["", "seal", "seal squeeze", "gloves"]),
        ("mask-breath", "isolate", "half-torso", ["", "seal"]),
    ]
    lines = []
    for id in ids:
        skill, rung, trainer, missed = dice.choice(skills)
        lines.append(
            row(
                attempt=id, skill=skill, rung=rung, trainer=trainer,
                missed=dice.choice(missed), note=dice.choice(notes), learner=f"L{dice.randrange(5)}",
                date=f"2027-01-{dice.randrange(10, 29)}",
                role=dice.choice(["peer", "instructor"]),
            )
        )  # fmt: skip
    return ids, rows(*lines)


def _corrupt(dice: random.Random, text: str) -> bytes:
    """One to three things done to a file that spreadsheets, editors, mail and people do."""
    mark, encoding = dice.choice([(b"", "utf-8"), (codecs.BOM_UTF8, "utf-8"), (codecs.BOM_UTF16_LE, "utf-16-le"),
                                  (codecs.BOM_UTF16_BE, "utf-16-be"), (b"", "windows-1252")])  # fmt: skip
    for _ in range(dice.randrange(1, 4)):
        place = dice.randrange(len(text))
        match dice.randrange(9):
            case 0:
                text = text[:place] + dice.choice(['"', '""', "'", '"\r\n', ',"']) + text[place:]
            case 1:
                text = text.replace(",", dice.choice([";", "\t", "|"]))
            case 2:
                text = text[:place] + dice.choice(["=1+1", "@x", "\t=cmd", "-", "＝1"]) + text[place:]
            case 3:
                text = text[: place + 1]
            case 4:
                text = text.replace("\r\n", dice.choice(["\n", "\r", "\r\r\n", "\n\n"]))
            case 5:
                text = text[:place] + dice.choice(["\x00", "\ufeff", "\u2028", "\x1a", "\u202e", "\x85"]) + text[place:]
            case 6:
                text = text[:place] + text[place + dice.randrange(1, 30) :]
            case 7:
                lines = text.splitlines(keepends=True)
                start = dice.randrange(len(lines))
                text = text + "".join(lines[start : start + 4]) + (lines[0] if dice.random() < 0.3 else "")
            case _:
                text = text[:place] + dice.choice([",", ";", ",,,", "\r\n"]) + text[place:]
    content = mark + text.encode(encoding, "replace")
    if dice.random() < 0.4:
        place = dice.randrange(len(content) + 1)
        content = content[:place] + bytes(dice.randrange(256) for _ in range(dice.randrange(1, 4))) + content[place:]
    return content


def _decoded(content: bytes) -> str:
    """What any reader that knows byte order marks sees; independent of the reader under test."""
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return content.decode("utf-16", "replace")
    return content.decode("utf-8", "replace")


def test_two_thousand_corruptions_lose_no_row(tmp_path: Path, curriculum: Curriculum) -> None:
    """Every id that can still be read in the file stands in a judged row or in one that was set aside."""
    dice = random.Random(20270113)
    judged = aside = touched = 0
    for number in range(CORRUPTIONS):
        ids, text = _file(dice)
        content = _corrupt(dice, text)
        found = reads(tmp_path, curriculum, content, on=date(2027, 2, 1))
        shown = "\n".join([*(one.text for one in found.set_aside), *(one.attempt for one in found.attempts)])
        there = _decoded(content)
        # A first line that is no header is nobody's row.
        header = there.lstrip("\ufeff\r\n ").replace("\r", "\n").split("\n")[0]
        for id in ids:
            if id in there and id not in header:
                assert id in shown, (number, id)
        assert not any("id0" in one.note for one in found.attempts), number
        assert all(one.line >= 1 and one.reason and one.remedy for one in found.set_aside)
        assert aside_text(found.set_aside).replace("\n", "").isprintable()
        assert aside_csv(found.set_aside).encode().count(b"\r\n") > len(found.set_aside)
        judged += len(found.attempts)
        aside += len(found.set_aside)
        touched += bool(found.set_aside)
    # The corruptions must bite, and most rows must survive them: otherwise this test proves nothing.
    assert judged > CORRUPTIONS * 8
    assert aside > CORRUPTIONS * 4
    assert touched > CORRUPTIONS * 0.7


def test_random_bytes_are_set_aside(tmp_path: Path, curriculum: Curriculum) -> None:
    dice = random.Random(1)
    for size in (0, 1, 2, 3, 10, 1_000, 20_000):
        found = reads(tmp_path, curriculum, dice.randbytes(size))
        assert found.attempts == ()
