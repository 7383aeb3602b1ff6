"""How cited numbers read and how texts take them in."""

from decimal import Decimal

import pytest

from generator.analysis.wording import Mention, beat_of, fill, mentioned, pieces, says, texts_of
from generator.model import Quantity, Technique


def quantity(**fields: str) -> Quantity:
    return Quantity.model_validate({"name": "Any", **fields})


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"value": "6", "unit": "seconds"}, "6 seconds"),
        ({"value": "1", "unit": "seconds"}, "1 second"),
        ({"value": "1.10", "unit": "seconds"}, "1.10 seconds"),
        ({"low": "100", "high": "120", "unit": "per minute"}, "100–120 per minute"),
        ({"at_least": "5", "at_most": "6", "unit": "cm"}, "at least 5 and at most 6 cm"),
        ({"at_most": "10", "unit": "seconds"}, "at most 10 seconds"),
        ({"at_least": "60", "unit": "%"}, "at least 60%"),
        ({"says": "30:2", "value": "30"}, "30:2"),
        ({}, "Any"),
    ],
)
def test_a_quantity_reads_as_it_is_said(fields: dict[str, str], words: str) -> None:
    assert says(quantity(**fields)) == words


def test_text_takes_in_what_it_names_and_keeps_what_nobody_knows() -> None:
    known = {"gap": quantity(value="6", unit="seconds")}
    text = "Give 1 breath every {gap}, not {other}, {Gap} or {gap"
    assert fill(text, known) == "Give 1 breath every 6 seconds, not {other}, {Gap} or {gap"
    assert pieces(text, known)[1] == Mention(id="gap", text="6 seconds")
    assert mentioned(text) == ("gap", "other")


def test_text_without_numbers_is_one_piece() -> None:
    assert pieces("", {}) == ("",)
    assert pieces("plain", {}) == ("plain",)


def test_a_quantity_is_not_filled_twice() -> None:
    # A `says` that looks like a mention must not be followed, or two quantities could name each other for ever.
    assert fill("{a}", {"a": quantity(says="{b}"), "b": quantity(says="never")}) == "{b}"


def test_beats_of_the_published_intervals() -> None:
    # AHA 2020 adult and 2025 ALS: one breath every 6 s is 10 a minute. AHA/ERC 2025: 100-120 compressions a minute.
    breath = beat_of(quantity(value="6", unit="seconds"))
    assert breath is not None
    assert 60 / breath.seconds == 10
    push = beat_of(quantity(low="100", high="120", unit="per minute"))
    assert push is not None
    assert 60 / 120 <= push.seconds <= 60 / 100
    assert push.seconds == pytest.approx(60 / 110)


@pytest.mark.parametrize("fields", [{"value": "5", "unit": "cm"}, {"says": "30:2"}, {"value": "0", "unit": "seconds"}])
def test_what_sets_no_beat(fields: dict[str, str]) -> None:
    assert beat_of(quantity(**fields)) is None


def test_every_text_of_a_record_comes_with_its_way() -> None:
    technique = Technique(name="Tilt", right="Up")
    assert list(texts_of(technique)) == [(("name",), "Tilt"), (("right",), "Up")]
    assert quantity(value="1.10").value == Decimal("1.10")
