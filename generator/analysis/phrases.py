"""Pieces of sentences that results are told with: names, rows of names, numbers with units, money."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal
from fractions import Fraction

from generator.analysis.names import Names
from generator.model import Curriculum

MOST = 3
"""Names listed before the rest become a number."""

Say = Callable[..., str]
"""`Curriculum.say`: a fixed sentence and its parts → the sentence in the program's own words."""


def in_english(words: str, **parts: object) -> str:
    """What `say` says where no program is: the words as they stand, with their parts filled in."""
    return words.format(**parts) if parts else words


def fixed(words: str) -> str:
    """A fixed text that is said later, marked so that the catalogue of labels holds it."""
    return words


def technique_name(names: Names, id: str) -> str:
    """A technique as a sentence uses it; its id when it is not known."""
    record = names.curriculum.techniques.get(id)
    return names.words("technique", id, names.small(record.name) if record else id)


def techniques_listed(names: Names, ids: Iterable[str]) -> str:
    """Techniques in a row, as a sentence uses them."""
    return listed([technique_name(names, id) for id in ids], names.curriculum.say)


def name_of(curriculum: Curriculum, trainer: str) -> str:
    """The name of a trainer; its id when it is not known."""
    record = curriculum.trainers.get(trainer)
    return record.name if record else trainer


def trainer_name(names: Names, id: str) -> str:
    """A trainer as a sentence uses it."""
    return names.words("trainer", id, _the_trainer(names, id))


def _the_trainer(names: Names, id: str) -> str:
    return names.curriculum.say("the {trainer}", trainer=names.small(name_of(names.curriculum, id)))


def trainer_choice(names: Names, trainers: Sequence[str]) -> str:
    """Trainers by name and id as a choice, the cheapest few and the number of the rest."""
    return either(_few(names, trainers), names.curriculum.say)


def trainers_together(names: Names, trainers: Sequence[str]) -> str:
    """Trainers by name and id, all of them meant, the cheapest few and the number of the rest."""
    return listed(_few(names, trainers), names.curriculum.say)


def _few(names: Names, trainers: Sequence[str]) -> list[str]:
    found = [names.choice(id, _the_trainer(names, id)) for id in trainers[:MOST]]
    if len(trainers) > MOST:
        found.append(names.curriculum.many(len(trainers) - MOST, "{count} other", "{count} others"))
    return found


def coded(ids: Iterable[str]) -> list[str]:
    """Ids as they are typed, marked as such."""
    return [f"`{id}`" for id in ids]


def listed(names: Iterable[str], say: Say = in_english) -> str:
    """Names in a row: `a`, `a and b`, `a, b and c`."""
    row = tuple(names)
    if len(row) < 2:
        return "".join(row)
    return say("{names} and {last}", names=say(", ").join(row[:-1]), last=row[-1])


def either(names: Iterable[str], say: Say = in_english) -> str:
    """Names of which one is meant: `a`, `a or b`, `a, b or c`."""
    row = tuple(names)
    if len(row) < 2:
        return "".join(row)
    return say("{names} or {last}", names=say(", ").join(row[:-1]), last=row[-1])


def money(curriculum: Curriculum, amount: Fraction | Decimal) -> str:
    """An amount with the program's currency; cents only where there are some."""
    exact = Fraction(amount)
    text = f"{float(exact):,.0f}" if exact.denominator == 1 else f"{float(exact):,.2f}"
    return curriculum.say("{amount} {currency}", amount=text, currency=curriculum.program.currency)
