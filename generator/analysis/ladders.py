"""The best ladder of a skill over the owned trainers, exactly, and how the written one compares.

**A ladder** is a sequence of different owned trainers whose wear cost per attempt never falls. Let T be the
techniques that the skill's critical steps rest on. Walking up:

- every rung but the last practises each step that its trainer can *host honestly*: it accepts the fitted equipment
  of the step and stands for a patient that the step is for, and no technique of T that the step rests on is `given`
  there unless a rung below earned it. Leaving a step out is what makes an early rung an isolated one; practising all
  that can be hosted honestly is never worse than practising fewer, for it can only earn more;
- the last rung practises every step, so its trainer must be able to host each, and each technique of T that is `given`
  there must have been earned below (honest-first);
- a rung *earns* the techniques of T that its practised critical steps rest on and that are `earned` or `measured`
  on its trainer.

**The best ladder** is the least by, in this order:

1. techniques of T that no rung earns (proof: what any ladder over the owned trainers can earn, it earns);
2. techniques earned for the first time on the costliest trainer that the lab owns (thrift);
3. the weighted cost: the sum over rungs of `rung + wear x cost per attempt + setup_minute x set-up minutes`, with the
   weights of `program.yaml`; the shipped weights put few rungs first, then wear, then set-up;
4. the number of rungs;
5. the places of the trainers in the curriculum (the order of their files' names), from the lowest rung up.

1 and 2 come before cost, so an added trainer can only widen the choice: it never makes the best ladder worse.

`ladder_search` says how it is found, exactly.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby

from generator.analysis.feedback import exposure
from generator.analysis.inventory import Inventory, rung_cost
from generator.analysis.ladder_search import Way, earned_with_all, offers_of, search
from generator.analysis.practice import rests_on
from generator.analysis.wear import cost_per_attempt
from generator.model import Curriculum, Skill


@dataclass(frozen=True, slots=True, kw_only=True)
class BestRung:
    """One rung of a best ladder: the steps practised on it, what it earns first, and whether it is the last.

    `left_out` are steps that its trainer would accept but that would be rewarded falsely there.
    """

    trainer: str
    steps: tuple[str, ...]
    earns: tuple[str, ...]
    left_out: tuple[str, ...]
    is_last: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class BestLadder:
    """A best ladder. Costs are per attempt on each rung, in currency; `weighted` uses the program's weights.

    `unproved` are the techniques of T that it cannot earn, `late` those that it earns first on the costliest trainer.
    """

    skill: str
    rungs: tuple[BestRung, ...]
    unproved: tuple[str, ...]
    late: tuple[str, ...]
    weighted: Fraction
    wear: Fraction
    setup_minutes: int

    @property
    def trainers(self) -> tuple[str, ...]:
        """The trainers from the lowest rung up."""
        return tuple(rung.trainer for rung in self.rungs)


@dataclass(frozen=True, slots=True, kw_only=True)
class NoLadder:
    """Why no ladder keeps the rules.

    `refused`: for each owned trainer, the fitted equipment of the skill that it does not accept (none when it stands
    for other patients), when no owned trainer can host the whole skill. Otherwise `false`: for each that can, the
    techniques that are `given` on it and that no owned trainer of no higher wear cost can earn first.
    """

    skill: str
    refused: tuple[tuple[str, tuple[str, ...]], ...]
    false: tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """The written ladder beside the best one. Differences are written minus best; exposure of a best ladder is 0.

    `exposure` counts (rung, technique) meetings on `given` before an honest one. Differences are None when there is
    no best ladder or a trainer of the written one is not known.
    """

    skill: str
    written: tuple[str, ...]
    best: BestLadder | NoLadder
    to_same_end: BestLadder | None
    """The best ladder that ends on the trainer on which the written one ends, if one keeps the rules."""
    exposure: int
    rungs_more: int | None
    wear_more: Fraction | None
    setup_minutes_more: int | None
    weighted_more: Fraction | None


def best_ladder(inventory: Inventory, skill: Skill, *, ends_on: str | None = None) -> BestLadder | NoLadder:
    """The best ladder of a skill, or why there is none. With `ends_on`, the best of those that end on that trainer."""
    best, to_end = search(inventory, skill, offers_of(inventory, skill), ends_on)
    way = best if ends_on is None else to_end
    return _why_none(inventory, skill) if way is None else _spelled_out(inventory, skill, way)


def compare(curriculum: Curriculum, inventory: Inventory, skill: Skill) -> Comparison:
    """The written ladder of a skill beside the best one."""
    written = tuple(plan.trainer for plan in skill.ladder)
    way, to_end = search(inventory, skill, offers_of(inventory, skill), written[-1] if written else None)
    best = _why_none(inventory, skill) if way is None else _spelled_out(inventory, skill, way)
    trainers = [curriculum.trainers[id] for id in written if id in curriculum.trainers]
    is_known = isinstance(best, BestLadder) and len(trainers) == len(written)
    wear = sum((cost_per_attempt(trainer) for trainer in trainers), Fraction(0))
    weighted = sum((rung_cost(curriculum, trainer) for trainer in trainers), Fraction(0))
    setup = sum(trainer.setup_minutes for trainer in trainers)
    return Comparison(
        skill=skill.id,
        written=written,
        best=best,
        to_same_end=None if to_end is None else _spelled_out(inventory, skill, to_end),
        exposure=exposure(curriculum, skill),
        rungs_more=len(written) - len(best.rungs) if isinstance(best, BestLadder) and is_known else None,
        wear_more=wear - best.wear if isinstance(best, BestLadder) and is_known else None,
        setup_minutes_more=setup - best.setup_minutes if isinstance(best, BestLadder) and is_known else None,
        weighted_more=weighted - best.weighted if isinstance(best, BestLadder) and is_known else None,
    )


def _spelled_out(inventory: Inventory, skill: Skill, way: Way) -> BestLadder:
    """The rungs of a way, with steps and reasons, worked out again from the definition."""
    by_place = {owned.order: owned for owned in inventory.trainers}
    wanted = inventory.technique_set(rests_on(skill.steps))
    earned, late, rungs = 0, 0, []
    sequence = [by_place[place] for place in way[3]]
    for index, owned in enumerate(sequence):
        is_last = index == len(sequence) - 1
        hosted = [step for step in skill.steps if inventory.can_host(owned, skill, step)]
        false = owned.given & wanted & ~earned
        steps = [s for s in hosted if is_last or not inventory.technique_set(s.rests_on) & false]
        taken = {step.id for step in steps}
        gained = inventory.technique_set(rests_on(steps)) & owned.honest & ~earned
        rungs.append(
            BestRung(
                trainer=owned.id,
                steps=tuple(step.id for step in steps),
                earns=tuple(id for id in rests_on(skill.steps) if inventory.techniques[id] & gained),
                left_out=tuple(step.id for step in hosted if step.id not in taken),
                is_last=is_last,
            )
        )
        earned |= gained
        late |= gained if owned.level == inventory.top else 0
    order = rests_on(skill.steps)
    return BestLadder(
        skill=skill.id,
        rungs=tuple(rungs),
        unproved=tuple(id for id in order if not inventory.techniques[id] & earned),
        late=tuple(id for id in order if inventory.techniques[id] & late),
        weighted=Fraction(sum(owned.cost for owned in sequence), inventory.scale),
        wear=sum((owned.wear for owned in sequence), Fraction(0)),
        setup_minutes=sum(owned.setup_minutes for owned in sequence),
    )


def _why_none(inventory: Inventory, skill: Skill) -> NoLadder:
    needed = inventory.fitted_set(skill.steps)
    hosts = [
        owned for owned in inventory.trainers if all(inventory.can_host(owned, skill, step) for step in skill.steps)
    ]
    if not hosts:
        refused = tuple(
            (owned.id, tuple(id for id, bit in inventory.equipment.items() if bit & needed & ~owned.accepts))
            for owned in inventory.trainers
        )
        return NoLadder(skill=skill.id, refused=refused, false=())
    wanted = inventory.technique_set(rests_on(skill.steps))
    offers = offers_of(inventory, skill)
    false = []
    for host in hosts:
        below = tuple(offer for offer in offers if offer.owned.level <= host.level and offer.owned.id != host.id)
        earned = 0
        for _, same_wear in groupby(below, key=lambda offer: offer.owned.level):
            group = tuple(same_wear)
            while (more := earned_with_all(group, earned)) != earned:
                earned = more
        false.append((host.id, inventory.names_in(host.given & wanted & ~earned)))
    return NoLadder(skill=skill.id, refused=(), false=tuple(false))
