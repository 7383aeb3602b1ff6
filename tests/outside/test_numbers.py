"""Every shipped number that the list of check values holds, compared with it field by field.

`check-values.json` was typed from notes that were made while the sources were read: the value, low and high end, unit,
first source, and how far the source could be opened. What the notes have from memory only (`M`, `M+`) must print as
provisional.
"""

from __future__ import annotations

import json
import re
from decimal import ROUND_HALF_UP, Decimal
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from generator.model import Curriculum, Quantity
from generator.reading import read_curriculum

SHIPPED = Path(__file__).parents[2] / "curriculum"
ROWS: list[dict[str, Any]] = json.loads(Path(__file__).with_name("check-values.json").read_bytes())["values"]
FIELDS = ("value", "low", "high", "at_least", "at_most")
MOST = {"S1": ("primary", "secondary", "memory"), "S2": ("secondary", "memory"), "M+": ("memory",), "M": ("memory",)}
"""How far a number may claim to be checked, by how far its source was opened."""


@cache
def shipped() -> Curriculum:
    curriculum, _ = read_curriculum(SHIPPED)
    assert curriculum is not None
    return curriculum


def numbers(text: str) -> list[Decimal]:
    return [Decimal(found) for found in re.findall(r"(?<![A-Za-z])\d+(?:\.\d+)?", text)]


def disagreements(row: dict[str, Any], quantity: Quantity) -> list[str]:
    """What a quantity says otherwise than its row; nothing when they agree."""
    found = []
    for field in FIELDS:
        expected = Decimal(row[field]) if field in row else None
        if getattr(quantity, field) != expected:
            found.append(f"{field} is {getattr(quantity, field)}, not {expected}")
    if "numbers" in row and numbers(quantity.says or "") != [Decimal(number) for number in row["numbers"]]:
        found.append(f"says “{quantity.says}”, not {row['numbers']}")
    if "words" in row and quantity.says != row["words"]:
        found.append(f"says “{quantity.says}”, not “{row['words']}”")
    if "unit" in row and row["unit"] not in (quantity.says if quantity.says is not None else quantity.unit or ""):
        found.append(f"unit is not {row['unit']}")
    if quantity.sources[:1] != (row["source"],):
        found.append(f"first source is not {row['source']}")
    if quantity.checked not in MOST[row["seen"]]:
        found.append(f"marked {quantity.checked}, though the source was opened only as far as {row['seen']}")
    views = [(view.year, numbers(view.says), view.checked) for view in quantity.others]
    for other in row.get("others", ()):
        wanted = [Decimal(number) for number in other["numbers"]]
        if not any(
            year == other["year"] and told == wanted and checked in MOST[other["seen"]] for year, told, checked in views
        ):
            found.append(f"no other view of {other['year']} with {other['numbers']}, {other['seen']}")
    return found


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['number']}-{row['quantity']}")
def test_a_shipped_number_agrees_with_the_check_values(row: dict[str, Any]) -> None:
    assert disagreements(row, shipped().quantities[row["quantity"]]) == []


@pytest.mark.parametrize("row", [row for row in ROWS if "rounded_from" in row], ids=lambda row: row["quantity"])
def test_a_rounded_number_is_rounded_right(row: dict[str, Any]) -> None:
    printed = [Decimal(number) for number in row.get("numbers", [row.get("value")])]
    assert printed == [
        Decimal(exact).quantize(number, rounding=ROUND_HALF_UP)
        for exact, number in zip(row["rounded_from"], printed, strict=True)
    ]


def test_enough_numbers_are_compared() -> None:
    assert len({row["quantity"] for row in ROWS}) == len(ROWS) >= 80


def test_values_from_memory_are_marked_provisional() -> None:
    remembered = [row["quantity"] for row in ROWS if row["seen"].startswith("M")]
    assert len(remembered) >= 5
    assert all(shipped().quantities[id].checked == "memory" for id in remembered)


def test_every_critical_step_cites_a_source_or_is_marked() -> None:
    steps = [(skill.id, step) for skill in shipped().skills.values() for step in skill.critical_steps]
    assert len(steps) >= 250
    assert [(skill, step.id) for skill, step in steps if not step.evidence and not step.provisional] == []


def test_a_changed_number_is_noticed() -> None:
    row = next(row for row in ROWS if row["quantity"] == "adult-compression-depth")
    quantity = shipped().quantities["adult-compression-depth"]
    assert disagreements(row, quantity.model_copy(update={"at_most": Decimal("7")}))
    assert disagreements(row, quantity.model_copy(update={"unit": "in"}))
    assert disagreements(row, quantity.model_copy(update={"checked": "primary"}))
