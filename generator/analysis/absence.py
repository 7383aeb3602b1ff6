"""What each owned trainer's absence would do: the same answers as `find_gaps(without=...)`, for all of them at once.

Short cuts make it quick, and all are exact. A technique's need is opened by an absence only when that trainer alone
met it. A skill can lose its last ladder only when its best ladder stands on that trainer: otherwise that very ladder
still keeps the rules. And where climbing all other trainers once, cheapest first, ends well, that is a ladder too; only
where it does not is there a search.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from generator.analysis.inventory import inventory_of
from generator.analysis.ladder_search import Offer, offers_of
from generator.analysis.ladders import BestLadder, NoLadder, best_ladder
from generator.analysis.practice import critical_on, rests_on
from generator.model import Curriculum


@dataclass(frozen=True, slots=True, kw_only=True)
class Absence:
    """The lab without one owned trainer, all its units.

    `opened` holds (technique, skill) for which no honest trainer is left, `used_by` the skills whose written ladder
    stands on it, `lost` those that keep no ladder at all.
    """

    trainer: str
    opened: tuple[tuple[str, str], ...]
    used_by: tuple[str, ...]
    lost: tuple[str, ...]


def absences(curriculum: Curriculum, best: Mapping[str, BestLadder | NoLadder]) -> tuple[Absence, ...]:
    """The absence of each owned trainer, in the order of the curriculum. `best` holds the best ladder of each skill."""
    whole = inventory_of(curriculum)
    opened: dict[str, list[tuple[str, str]]] = {}
    for skill in curriculum.skills.values():
        for technique in rests_on(skill.steps):
            able = whole.would_do(technique, skill, critical_on(skill.steps, technique))
            if len(able) == 1:
                opened.setdefault(able[0], []).append((technique, skill.id))
    stands_on: dict[str, list[str]] = {}
    for id, ladder in best.items():
        if isinstance(ladder, BestLadder):
            for rung in ladder.rungs:
                stands_on.setdefault(rung.trainer, []).append(id)
    spared = {id: _spared(offers_of(whole, curriculum.skills[id]), one) for id, one in best.items()}
    found = []
    for trainer in curriculum.trainers.values():
        if not trainer.is_owned:
            continue
        wanting = [id for id in stands_on.get(trainer.id, ()) if trainer.id not in spared[id]]
        less = inventory_of(curriculum, (trainer.id,)) if wanting else whole
        found.append(
            Absence(
                trainer=trainer.id,
                opened=tuple(opened.get(trainer.id, ())),
                used_by=tuple(
                    skill.id
                    for skill in curriculum.skills.values()
                    if any(plan.trainer == trainer.id for plan in skill.ladder)
                ),
                lost=tuple(id for id in wanting if isinstance(best_ladder(less, curriculum.skills[id]), NoLadder)),
            )
        )
    return tuple(found)


def _spared(offers: Sequence[Offer], best: BestLadder | NoLadder) -> frozenset[str]:
    """Trainers of a best ladder without which climbing the others once still ends on one that takes the whole skill."""
    trainers = best.trainers if isinstance(best, BestLadder) else ()
    return frozenset(
        absent
        for absent in trainers
        if any(
            not last.given & ~_climbed(offers, (absent, last.owned.id), last.owned.level)
            for last in offers
            if last.hosts_all and last.owned.id != absent
        )
    )


def _climbed(offers: Sequence[Offer], without: tuple[str, str], level: int) -> int:
    """The techniques earned by one rung on each trainer up to a level of wear, cheapest first."""
    earned = 0
    for offer in offers:
        if offer.owned.level > level:
            break
        if offer.owned.id not in without:
            earned = offer.earned_with(earned)
    return earned
