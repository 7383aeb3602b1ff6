"""Pieces of sentences that results are told with: names, rows of names, numbers with units, money."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from fractions import Fraction

from generator.analysis.names import Names, lower
from generator.model import Curriculum

MOST = 3
"""Names listed before the rest become a number."""


def technique_name(say: Names, id: str) -> str:
    """A technique as a sentence uses it; its id when it is not known."""
    record = say.curriculum.techniques.get(id)
    return say.words("technique", id, lower(record.name) if record else id)


def name_of(curriculum: Curriculum, trainer: str) -> str:
    """The name of a trainer; its id when it is not known."""
    record = curriculum.trainers.get(trainer)
    return record.name if record else trainer


def trainer_name(say: Names, id: str) -> str:
    """A trainer as a sentence uses it."""
    return say.words("trainer", id, f"the {lower(name_of(say.curriculum, id))}")


def trainer_choice(say: Names, trainers: Sequence[str], last: str = "or") -> str:
    """Trainers by name and id as a choice, the cheapest few and the number of the rest."""
    names = [say.choice(id, f"the {lower(name_of(say.curriculum, id))}") for id in trainers[:MOST]]
    if len(trainers) > MOST:
        names.append(counted(len(trainers) - MOST, "other"))
    return joined(names, last)


def coded(ids: Iterable[str]) -> list[str]:
    """Ids as they are typed, marked as such."""
    return [f"`{id}`" for id in ids]


def listed(names: Iterable[str]) -> str:
    """Names in a row: `a`, `a and b`, `a, b and c`."""
    return joined(tuple(names), "and")


def joined(names: Sequence[str], last: str) -> str:
    """Names in a row with another word before the last one."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} {last} {names[-1]}"


def counted(number: int, unit: str) -> str:
    """A number with its unit: `1 spare`, `3 spares`."""
    return f"{number} {unit}{'' if number == 1 else 's'}"


def money(curriculum: Curriculum, amount: Fraction | Decimal) -> str:
    """An amount with the program's currency; cents only where there are some."""
    exact = Fraction(amount)
    text = f"{float(exact):,.0f}" if exact.denominator == 1 else f"{float(exact):,.2f}"
    return f"{text} {curriculum.program.currency}"
