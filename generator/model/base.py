"""What every record shares: it is frozen, refuses unknown fields, and takes scalars as they were typed.

Values arrive from YAML as the text in the file, never as what a loader guessed: `12:30` stays a time, `no` stays a
word and `1.10` keeps its nought. Each field then reads the text by its own type.
"""

from __future__ import annotations

import re
import typing
from collections.abc import Iterator
from datetime import date
from decimal import Decimal, InvalidOperation
from types import UnionType
from typing import Annotated, Any, Union

from pydantic import BaseModel, BeforeValidator, ConfigDict, StringConstraints, WithJsonSchema


class Record(BaseModel):
    """A frozen record of the domain. Fields are set by name; unknown fields are refused."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        populate_by_name=True,
        use_attribute_docstrings=True,
        allow_inf_nan=False,
        str_max_length=20_000,
    )


ID_PATTERN = r"^[a-z][a-z0-9]*(-[a-z0-9]+)*$"

Id = Annotated[str, StringConstraints(pattern=ID_PATTERN, max_length=60)]
"""Small letters, digits and single hyphens, starting with a letter: safe as a file name and in an address."""

Text = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1)]
"""Plain text. `{quantity-id}` stands for a cited number; nothing else in it is special."""


def _read_bool(value: Any) -> Any:
    if isinstance(value, bool):
        return value
    if value in ("true", "false"):
        return value == "true"
    raise ValueError("write true or false")


def _read_date(value: Any) -> Any:
    if isinstance(value, date):
        return value
    if isinstance(value, str) and re.fullmatch(r"\d{4}-\d{2}-\d{2}", value):
        try:
            return date.fromisoformat(value)
        except ValueError:
            raise ValueError("this day is not in the calendar") from None
    raise ValueError("write a date as year-month-day, such as 2026-10-31")


def _read_decimal(value: Any) -> Any:
    if isinstance(value, str):
        try:
            number = Decimal(value) if re.fullmatch(r"-?\d{1,12}(\.\d{1,6})?", value) else None
        except InvalidOperation:
            number = None
        if number is None:
            raise ValueError("write a plain number, such as 6 or 2.5")
        return number
    return value


def _read_count(value: Any) -> Any:
    if isinstance(value, str):
        if not re.fullmatch(r"\d{1,9}", value):
            raise ValueError("write a whole number, such as 3")
        return int(value)
    return value


def _read_clock(value: Any) -> Any:
    if isinstance(value, str) and re.fullmatch(r"([01]\d|2[0-3]):[0-5]\d", value):
        return value
    raise ValueError("write a time of day as hours:minutes, such as 09:30")


Bool = Annotated[bool, BeforeValidator(_read_bool), WithJsonSchema({"type": "boolean"})]
Day = Annotated[
    date,
    BeforeValidator(_read_date),
    WithJsonSchema({"type": "string", "format": "date", "pattern": r"^\d{4}-\d{2}-\d{2}$"}),
]
Number = Annotated[Decimal, BeforeValidator(_read_decimal), WithJsonSchema({"type": "number"})]
"""A number that keeps the digits it was typed with."""
Count = Annotated[int, BeforeValidator(_read_count), WithJsonSchema({"type": "integer", "minimum": 0})]
Clock = Annotated[
    str,
    BeforeValidator(_read_clock),
    WithJsonSchema({"type": "string", "pattern": r"^([01]\d|2[0-3]):[0-5]\d$"}),
]


def leaves(hint: Any) -> Iterator[Any]:
    """The leaves of an annotation: unions, tuples and mappings taken apart, `Annotated` left whole."""
    origin = typing.get_origin(hint)
    if origin in (Union, UnionType, tuple):
        for part in typing.get_args(hint):
            yield from leaves(part)
    elif origin is dict:
        yield from leaves(typing.get_args(hint)[1])
    elif hint is not ...:
        yield hint
