"""The lab's owned trainers as the ladder rules see them: sets as bits of whole numbers, costs as whole numbers.

Bits make 100 trainers times 300 skills quick; whole numbers make every comparison exact.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import lcm

from generator.analysis.wear import cost_per_attempt
from generator.model import Curriculum, Skill, Step, Trainer, Worth

ANYONE = -1
"""All bits: no population is named."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Owned:
    """One owned trainer. `honest`, `given` are sets of technique bits, `accepts` a set of equipment bits.

    `order` is its place in the curriculum, `wear` its cost per attempt in currency, `level` the rank of that cost
    among the owned trainers (equal costs share a rank), `cost` the weighted cost of a rung on it, scaled to a whole
    number.
    """

    id: str
    order: int
    wear: Fraction
    level: int
    setup_minutes: int
    cost: int
    honest: int
    given: int
    accepts: int
    populations: int
    """Bits of the patients that it stands for; all bits when that is anyone."""

    def hosts(self, fits: int, patients: int) -> bool:
        """Whether it takes this fitted equipment and stands for one of these patients."""
        return not fits & ~self.accepts and bool(patients & self.populations)


@dataclass(frozen=True, slots=True, kw_only=True)
class Inventory:
    """The owned trainers, cheapest first and then in the order of the curriculum, and the bits that stand for ids."""

    trainers: tuple[Owned, ...]
    techniques: Mapping[str, int]
    equipment: Mapping[str, int]
    """Fitted equipment only."""
    populations: Mapping[str, int]
    top: int
    """The level of the costliest trainer owned."""
    scale: int
    """Weighted costs were multiplied by this to make whole numbers."""

    def technique_set(self, ids: Iterable[str]) -> int:
        """The bits of some techniques."""
        bits = 0
        for id in ids:
            bits |= self.techniques.get(id, 0)
        return bits

    def fitted_set(self, steps: Iterable[Step]) -> int:
        """The bits of the equipment that some steps fit on or into the patient."""
        bits = 0
        for step in steps:
            for item in step.uses:
                bits |= self.equipment.get(item, 0)
        return bits

    def patients_of(self, skill: Skill, step: Step) -> int:
        """The bits of the patients that a step is for; all bits when that is anyone."""
        return _bits(self.populations, step.populations or skill.populations) or ANYONE

    def can_host(self, owned: Owned, skill: Skill, step: Step) -> bool:
        """Whether a step of a skill can be practised on an owned trainer."""
        return owned.hosts(self.fitted_set((step,)), self.patients_of(skill, step))

    def names_in(self, bits: int) -> tuple[str, ...]:
        """The techniques that some bits stand for, in the order in which bits were given out."""
        return tuple(id for id, bit in self.techniques.items() if bit & bits)

    def would_do(self, technique: str, skill: Skill, steps: Iterable[Step]) -> tuple[str, ...]:
        """Owned trainers, cheapest first, that are honest about a technique and can host one of the steps."""
        bit = self.techniques.get(technique, 0)
        needs = [(self.fitted_set((step,)), self.patients_of(skill, step)) for step in steps]
        return tuple(
            owned.id
            for owned in self.trainers
            if owned.honest & bit and any(owned.hosts(fits, patients) for fits, patients in needs)
        )


def inventory_of(curriculum: Curriculum, without: Iterable[str] = ()) -> Inventory:
    """The trainers that the lab owns, but for those `without`.

    A weight below nought in `program.yaml` counts as nought.
    """
    absent = frozenset(without)
    owned = [
        (order, trainer)
        for order, trainer in enumerate(curriculum.trainers.values())
        if trainer.is_owned and trainer.id not in absent
    ]
    used = dict.fromkeys(curriculum.techniques)
    for skill in curriculum.skills.values():
        for step in skill.steps:
            used.update(dict.fromkeys(step.rests_on))
    techniques = {id: 1 << index for index, id in enumerate(used)}
    fitted_ids = [id for id, item in curriculum.equipment.items() if item.fitted]
    equipment = {id: 1 << index for index, id in enumerate(fitted_ids)}
    populations = {named.id: 1 << index for index, named in enumerate(curriculum.program.populations)}
    wear = {trainer.id: cost_per_attempt(trainer) for _, trainer in owned}
    levels = {cost: level for level, cost in enumerate(sorted(set(wear.values())))}
    costs = {trainer.id: rung_cost(curriculum, trainer) for _, trainer in owned}
    scale = lcm(1, *(cost.denominator for cost in costs.values()))
    trainers = [
        Owned(
            id=trainer.id,
            order=order,
            wear=wear[trainer.id],
            level=levels[wear[trainer.id]],
            setup_minutes=trainer.setup_minutes,
            cost=int(costs[trainer.id] * scale),
            honest=_bits(techniques, (id for id, f in trainer.feedback.items() if f.worth.is_honest)),
            given=_bits(techniques, (id for id, f in trainer.feedback.items() if f.worth is Worth.GIVEN)),
            accepts=_bits(equipment, trainer.accepts),
            populations=_bits(populations, trainer.populations) or ANYONE,
        )
        for order, trainer in owned
    ]
    return Inventory(
        trainers=tuple(sorted(trainers, key=lambda trainer: (trainer.wear, trainer.order))),
        techniques=techniques,
        equipment=equipment,
        populations=populations,
        top=len(levels) - 1,
        scale=scale,
    )


def rung_cost(curriculum: Curriculum, trainer: Trainer) -> Fraction:
    """The weighted cost of one rung on a trainer: rung + wear x cost per attempt + setup_minute x set-up minutes."""
    weights = curriculum.program.ladder_weights
    rung, wear, setup = (max(Fraction(0), Fraction(w)) for w in (weights.rung, weights.wear, weights.setup_minute))
    return rung + wear * cost_per_attempt(trainer) + setup * trainer.setup_minutes


def _bits(known: Mapping[str, int], ids: Iterable[str]) -> int:
    bits = 0
    for id in ids:
        bits |= known.get(id, 0)
    return bits
