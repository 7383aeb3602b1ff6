"""How cited numbers read, and how `{quantity-id}` in a text becomes one.

A number stands in one place, `quantities.yaml`. Every text that needs it names it, so one edit reaches every page
and sheet.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import Any

from generator.analysis.phrases import Say, fixed, in_english, listed
from generator.model import Curriculum, Path, Quantity
from generator.model.base import Record

MENTION = re.compile(r"\{([a-z][a-z0-9]*(?:-[a-z0-9]+)*)\}")
"""A quantity named in a text."""

Numbers = Curriculum | Mapping[str, Quantity]
"""Where cited numbers stand: a curriculum, in whose own words they are told, or the numbers alone, told in English."""

UNITS = {
    fixed("seconds"): fixed("second"),
    fixed("minutes"): fixed("minute"),
    fixed("hours"): fixed("hour"),
    fixed("days"): fixed("day"),
    fixed("months"): fixed("month"),
    fixed("years"): fixed("year"),
    fixed("breaths"): fixed("breath"),
    fixed("attempts"): fixed("attempt"),
    fixed("liters per minute"): fixed("liter per minute"),
    fixed("per minute"): fixed("per minute"),
}
"""Units whose words a catalogue can exchange, and how each reads after 1."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mention:
    """A quantity named in a text, with the words that stand for it."""

    id: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Beat:
    """A steady beat: seconds from one action to the next, and the words counted through it."""

    seconds: float
    words: tuple[str, ...]


def says(quantity: Quantity, say: Say = in_english) -> str:
    """The words that a quantity prints as: `6 seconds`, `100–120 per minute`, `at least 5 cm`.

    A number keeps the digits it was typed with; a range takes an en dash.
    """
    if quantity.says is not None:
        return quantity.says
    unit = quantity.unit
    if quantity.value is not None:
        return _with_unit(str(quantity.value), quantity.value, unit, say)
    if quantity.low is not None and quantity.high is not None:
        return _with_unit(f"{quantity.low}–{quantity.high}", quantity.high, unit, say)
    least, most = quantity.at_least, quantity.at_most
    if most is None:
        return (
            quantity.name if least is None else say("at least {least}", least=_with_unit(str(least), least, unit, say))
        )
    amount = _with_unit(str(most), most, unit, say)
    return (
        say("at most {most}", most=amount)
        if least is None
        else say("at least {least} and at most {most}", least=least, most=amount)
    )


def _with_unit(number: str, amount: Decimal, unit: str | None, say: Say) -> str:
    if unit is None:
        return number
    if unit == "%":
        return say("{number}%", number=number)
    word = UNITS.get(unit)
    return f"{number} {unit if word is None else say(word if amount == 1 else unit)}"


def ranges(numbers: Sequence[int], say: Say = in_english) -> str:
    """Numbers for reading: `1–4`, `1–3 and 6`, `2, 5 and 7`."""
    runs: list[list[int]] = []
    for number in sorted(set(numbers)):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return listed([str(run[0]) if len(run) == 1 else f"{run[0]}–{run[-1]}" for run in runs], say)


def mentioned(text: str) -> tuple[str, ...]:
    """The quantity ids named in a text, in order, repeats kept."""
    return tuple(MENTION.findall(text)) if "{" in text else ()


def pieces(text: str, numbers: Numbers) -> tuple[str | Mention, ...]:
    """A text cut at its quantities. Ids that nobody knows stay as they were typed."""
    if "{" not in text:
        return (text,)
    quantities, say = (numbers.quantities, numbers.say) if isinstance(numbers, Curriculum) else (numbers, in_english)
    found: list[str | Mention] = []
    end = 0
    for match in MENTION.finditer(text):
        quantity = quantities.get(match[1])
        if quantity is None:
            continue
        if match.start() > end:
            found.append(text[end : match.start()])
        found.append(Mention(id=match[1], text=says(quantity, say)))
        end = match.end()
    if end < len(text) or not found:
        found.append(text[end:])
    return tuple(found)


def fill(text: str, numbers: Numbers) -> str:
    """A text with each known `{quantity-id}` replaced by its words."""
    if "{" not in text:
        return text
    return "".join(piece if isinstance(piece, str) else piece.text for piece in pieces(text, numbers))


def beat_of(quantity: Quantity, say: Say = in_english) -> Beat | None:
    """The beat that a quantity sets, or None when it sets none.

    `seconds` is an interval, `per minute` a rate; a range takes its middle. The words are the quantity's own
    `count_aloud`, or a single `now` on the action.
    """
    middle = _middle(quantity)
    if middle is None or middle <= 0:
        return None
    if quantity.unit in ("second", "seconds"):
        seconds = float(middle)
    elif quantity.unit == "per minute":
        seconds = 60 / float(middle)
    else:
        return None
    return Beat(seconds=seconds, words=quantity.count_aloud or (say("now"),))


def _middle(quantity: Quantity) -> Decimal | None:
    if quantity.value is not None:
        return quantity.value
    if quantity.low is not None and quantity.high is not None:
        return (quantity.low + quantity.high) / 2
    return None


def texts_of(record: Record) -> Iterator[tuple[Path, str]]:
    """Every text in a record with the exact way to it, ids and enumerations included, in the order of its fields."""
    return _texts((), record)


def words_of(record: Record) -> list[str]:
    """The texts of `texts_of` alone, for those who need no way to them."""
    found: list[str] = []
    _gather((record,), found)
    return found


@cache
def _holds(kind: type[Any]) -> type[Any]:
    """What a value of a type is to `_gather`: asked once a type, since abstract types are slow to answer."""
    return next((one for one in (Record, str, tuple, Mapping) if issubclass(kind, one)), object)


def _gather(values: Iterable[Any], found: list[str]) -> None:
    for value in values:
        kind = type(value)
        if kind is str:
            found.append(value)
            continue
        holds = _holds(kind)  # type: ignore[arg-type] # every type is hashable
        if holds is Record:
            _gather(value.__dict__.values(), found)  # in the order of the model's fields, as the reader fills them
        elif holds is tuple:
            _gather(value, found)
        elif holds is str:
            found.append(str(value))
        elif holds is Mapping:
            _gather(value.values(), found)


def _texts(path: Path, value: Any) -> Iterator[tuple[Path, str]]:
    if isinstance(value, Record):
        for name, info in type(value).model_fields.items():
            yield from _texts((*path, info.alias or name), getattr(value, name))
    elif isinstance(value, str):
        yield path, str(value)
    elif isinstance(value, tuple):
        for index, item in enumerate(value):
            yield from _texts((*path, index), item)
    elif isinstance(value, Mapping):
        for key, item in value.items():
            yield from _texts((*path, key), item)
