"""What the trainers owned cannot teach honestly, and the cheapest way to close it.

**A need** is a technique that a critical step of a skill rests on. It is met when some owned trainer is `earned` or
`measured` about the technique and can host one of those steps (it takes what the step fits and stands for its
patient). A technique with an unmet need is **a gap**.

**The catalogue** of what could be bought or borrowed is the trainers with no unit owned, each at its purchase price.
The best cover is the set of kinds that meets every unmet need that the catalogue can meet, least by price, then by
number of kinds, then with the kinds that stand first in the curriculum. The runner-up is the least of the covers that
do not contain the whole of the best one: a real alternative, not the best one with something added.

This is minimum weighted set cover: the same lab gets the same answer, and `is_proved` says that optimality
was proved.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import gcd

from generator.analysis.inventory import inventory_of
from generator.analysis.ladders import NoLadder, best_ladder
from generator.analysis.practice import can_host, critical_on, rests_on
from generator.analysis.set_cover import least_cover
from generator.model import Curriculum, Step, Trainer


@dataclass(frozen=True, slots=True, kw_only=True)
class Touched:
    """A skill that cannot be taught honestly for want of a trainer, and its critical steps concerned.

    `candidates` are the catalogue's trainers that would do here.
    """

    skill: str
    steps: tuple[str, ...]
    candidates: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """A technique with an unmet need. `unfit` are owned trainers honest about it that can host none of the steps."""

    technique: str
    touches: tuple[Touched, ...]
    unfit: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cover:
    """Kinds of trainers to buy or borrow, in the order of the curriculum, and their price together."""

    trainers: tuple[str, ...]
    cost: Decimal
    is_proved: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Gaps:
    """The gaps of a lab. `cover` is empty when there is nothing that could be closed; then there is no runner-up.

    With `without`, the trainer that is out of service: `opened` are the gaps that its absence opens, `used_by` the
    skills whose written ladder stands on it, `lost` those that keep no ladder at all although they had one.
    """

    without: str | None
    gaps: tuple[Gap, ...]
    cover: Cover
    runner_up: Cover | None
    open: tuple[tuple[str, str], ...]
    """(technique, skill) that nothing in the catalogue can meet."""
    opened: tuple[str, ...] = ()
    used_by: tuple[str, ...] = ()
    lost: tuple[str, ...] = ()


def find_gaps(curriculum: Curriculum, *, without: str | None = None) -> Gaps:
    """The gaps of the lab, or of the lab without one trainer (all its units), and the best way to close them.

    A trainer that is out of service is in the catalogue too, at its purchase price: it can be replaced.
    """
    gaps = _gaps(curriculum, without)
    catalogue = tuple(t for t in curriculum.trainers.values() if not t.is_owned or t.id == without)
    needs = [(gap.technique, touched) for gap in gaps for touched in gap.touches]
    closable = {frozenset(touched.candidates) for _, touched in needs if touched.candidates}
    cover, runner_up = _covers(catalogue, closable)
    opened: tuple[str, ...] = ()
    used_by: tuple[str, ...] = ()
    lost: tuple[str, ...] = ()
    if without is not None:
        before = {(gap.technique, touched.skill) for gap in _gaps(curriculum, None) for touched in gap.touches}
        opened = tuple(
            gap.technique for gap in gaps if any((gap.technique, t.skill) not in before for t in gap.touches)
        )
        used_by = tuple(s.id for s in curriculum.skills.values() if any(plan.trainer == without for plan in s.ladder))
        whole, less = inventory_of(curriculum), inventory_of(curriculum, (without,))
        lost = tuple(
            s.id
            for s in curriculum.skills.values()
            if isinstance(best_ladder(less, s), NoLadder) and not isinstance(best_ladder(whole, s), NoLadder)
        )
    return Gaps(
        without=without,
        gaps=gaps,
        cover=cover,
        runner_up=runner_up,
        open=tuple((technique, touched.skill) for technique, touched in needs if not touched.candidates),
        opened=opened,
        used_by=used_by,
        lost=lost,
    )


def _gaps(curriculum: Curriculum, without: str | None) -> tuple[Gap, ...]:
    """Gaps in the order in which the skills' steps rest on the techniques."""
    inventory = inventory_of(curriculum, () if without is None else (without,))
    owned = {trainer.id for trainer in inventory.trainers}
    catalogue = [trainer for trainer in curriculum.trainers.values() if trainer.id not in owned]
    touched: dict[str, list[Touched]] = {}
    for skill in curriculum.skills.values():
        for technique in rests_on(skill.steps):
            steps = critical_on(skill.steps, technique)
            if inventory.would_do(technique, skill, steps):
                continue
            able = [trainer.id for trainer in catalogue if _proves(curriculum, trainer, technique, skill.id, steps)]
            touched.setdefault(technique, []).append(
                Touched(skill=skill.id, steps=tuple(step.id for step in steps), candidates=tuple(able))
            )
    return tuple(
        Gap(
            technique=technique,
            touches=tuple(skills),
            unfit=tuple(id for id in owned_in_order(curriculum, owned) if _honest(curriculum, id, technique)),
        )
        for technique, skills in touched.items()
    )


def owned_in_order(curriculum: Curriculum, owned: Iterable[str]) -> tuple[str, ...]:
    """Some trainers in the order of the curriculum."""
    wanted = frozenset(owned)
    return tuple(id for id in curriculum.trainers if id in wanted)


def _honest(curriculum: Curriculum, trainer: str, technique: str) -> bool:
    return curriculum.trainers[trainer].worth_of(technique).is_honest


def _proves(curriculum: Curriculum, trainer: Trainer, technique: str, skill: str, steps: Sequence[Step]) -> bool:
    one = curriculum.skills[skill]
    return trainer.worth_of(technique).is_honest and any(can_host(curriculum, trainer, one, (s,)) for s in steps)


def _covers(catalogue: Sequence[Trainer], needs: Iterable[frozenset[str]]) -> tuple[Cover, Cover | None]:
    places = {trainer.id: place for place, trainer in enumerate(catalogue)}
    sets = sorted({tuple(sorted(places[id] for id in need)) for need in needs})
    prices = _whole([trainer.wear.purchase for trainer in catalogue])
    if not sets:
        return Cover(trainers=(), cost=Decimal(0), is_proved=True), None
    first = least_cover(prices, sets, None)
    if first is None:  # every set has a member, so this means that the solver ran out of time
        return Cover(trainers=(), cost=Decimal(0), is_proved=False), None
    second = least_cover(prices, sets, first[0])
    return _cover(catalogue, *first), None if second is None else _cover(catalogue, *second)


def _cover(catalogue: Sequence[Trainer], chosen: tuple[int, ...], is_proved: bool) -> Cover:
    cost = sum((catalogue[place].wear.purchase for place in chosen), Decimal(0))
    return Cover(trainers=tuple(catalogue[place].id for place in chosen), cost=cost, is_proved=is_proved)


_LARGEST = 2**60
"""The solver counts in 64 bits; objectives stay well inside."""


def _whole(prices: Sequence[Decimal]) -> list[int]:
    """Prices as whole numbers in the same proportions; whole units of currency when that would be too large."""
    numbers = [int(price.scaleb(6)) for price in prices]
    shared = gcd(*numbers) or 1
    numbers = [number // shared for number in numbers]
    if sum(numbers) * (len(numbers) + 1) >= _LARGEST:
        numbers = [int(price) for price in prices]
    return numbers
