"""Tables as CSV: RFC 4180, read back by pandas, and inert in a spreadsheet."""

from __future__ import annotations

import csv
import io

import pandas
import pytest
from small_labs import curriculum, rung, skill, step, trainer

from generator.rendering.tables import tables_of
from generator.rendering.tables.csv import csv_text
from generator.rendering.tables.worth import lab_csv, skill_csv, worth_path

DANGEROUS = ("=1+1", "+1+1", "-1+1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "  =1", "-", "=HYPERLINK(\"x\")")


def read(text: str) -> pandas.DataFrame:
    """What a reader gets: every field as the text that stands in it."""
    frame: pandas.DataFrame = pandas.read_csv(io.StringIO(text, newline=""), dtype=str, keep_default_na=False)
    return frame


def test_the_examples_of_rfc_4180_are_written_as_there() -> None:
    """RFC 4180, section 2: CRLF after each record; quotes round a break, a quote (doubled) or a comma."""
    made = csv_text(("a", "b"), [("aaa", "b\r\nbb"), ('b"bb', "c,c"), ("plain", "")])
    assert made == 'a,b\r\naaa,"b\r\nbb"\r\n"b""bb","c,c"\r\nplain,\r\n'
    assert list(csv.reader(io.StringIO(made, newline=""), strict=True)) == [
        ["a", "b"], ["aaa", "b\r\nbb"], ['b"bb', "c,c"], ["plain", ""],
    ]  # fmt: skip


@pytest.mark.parametrize("text", DANGEROUS)
def test_formula_like_text_comes_back_as_text_with_an_apostrophe(text: str) -> None:
    made = csv_text((text, "other"), [(text, "x")])
    frame = read(made)
    for field in (frame.columns[0], frame.iloc[0, 0]):
        assert field == f"'{text}"
        assert not str(field).lstrip().startswith(("=", "+", "-", "@"))


@pytest.mark.parametrize(("value", "field"), [(-3, "-3"), ("-2.5", "-2.5"), (7, "7"), (None, ""), ("a-b", "a-b")])
def test_numbers_and_plain_words_stay_as_they_are(value: object, field: str) -> None:
    assert read(csv_text(("x", "y"), [(value, "z")])).iloc[0, 0] == field


def test_a_row_of_another_length_is_refused() -> None:
    with pytest.raises(ValueError, match="1 fields in a table of 2 columns"):
        csv_text(("a", "b"), [("only",)])


HEAD = trainer("head", "tilt:earned", accepts="")
TORSO = trainer("torso", "tilt:given seal:measured", accepts="mask")
MADE = curriculum(
    HEAD,
    TORSO,
    skill("s", step("open", "tilt"), step("wash", "seal", critical=False), step("hold", "seal tilt", uses="mask"),
          ladder=(rung("head"), rung("torso"))),
)  # fmt: skip


def test_the_labs_table_holds_each_technique_and_trainer() -> None:
    """Worked out by hand from the two trainers above; what a trainer does not list is silent."""
    frame = read(lab_csv(MADE)).set_index("technique id")
    assert frame.loc["tilt", "Head trainer (head)"] == "earned"
    assert frame.loc["tilt", "Torso trainer (torso)"] == "given"
    assert frame.loc["seal", "Head trainer (head)"] == "silent"
    assert frame.loc["seal", "Torso trainer (torso)"] == "measured"
    assert list(frame.columns) == ["technique", "Head trainer (head)", "Torso trainer (torso)"]


def test_a_skills_table_holds_its_critical_steps_and_says_what_does_not_fit() -> None:
    """By hand: the head takes no mask, so it cannot host the third step; the second is not critical."""
    frame = read(skill_csv(MADE, MADE.skills["s"]))
    assert frame.drop(columns="technique").values.tolist() == [
        ["1", "open", "tilt", "earned", "given"],
        ["3", "hold", "seal", "no fit", "measured"],
        ["3", "hold", "tilt", "no fit", "given"],
    ]


def test_a_formula_in_a_trainers_name_is_inert_in_every_table() -> None:
    bad = HEAD.model_copy(update={"name": '=HYPERLINK("http://x","y")'})
    made = curriculum(bad, TORSO, *MADE.skills.values())
    tables = tables_of(made)
    assert set(tables) == {worth_path(), worth_path("s")}
    for data in tables.values():
        columns = read(data.decode()).columns
        assert "'=HYPERLINK(\"http://x\",\"y\") (head)" in columns
        assert not [name for name in columns if name.startswith("=")]
