"""The search behind the best ladder: what each trainer can do for a skill, and the least way to earn all that can be.

Not CP-SAT: what a ladder has earned is one small set, so a search over sets is exact, shorter, and fast
enough for hundreds of skills in a second. Owned trainers are taken in order of wear; `reached` keeps, for each set of
earned techniques, the least way to have earned it. A rung below the last that earns nothing new can be dropped at no
loss, so only rungs that earn are tried and a ladder has at most |T| + 1 of them. Trainers of equal wear may stand in
either order: they are searched as a group, least way first, and a trainer that could be wanted twice is remembered so
that it is not used twice. A way is given up once it costs more than a whole ladder that earns all that can be earned.
All sums are whole numbers.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from heapq import heapify, heappop, heappush
from itertools import groupby

from generator.analysis.inventory import Inventory, Owned
from generator.analysis.practice import rests_on
from generator.model import Skill


@dataclass(frozen=True, slots=True)
class Offer:
    """What one trainer can do for one skill. `gains` are (earned set, techniques that must be earned before)."""

    owned: Owned
    sure: int
    gains: tuple[tuple[int, int], ...]
    hosts_all: bool
    honest: int
    given: int

    def earned_with(self, earned: int) -> int:
        """The set earned after a rung on it that is not the last."""
        total = earned | self.sure
        for gain, needs in self.gains:
            if not needs & ~earned:
                total |= gain
        return total

    @property
    def most(self) -> int:
        """The set that it could earn with nothing in the way."""
        most = self.sure
        for gain, _ in self.gains:
            most |= gain
        return most


Way = tuple[int, int, int, tuple[int, ...]]
"""How a set was earned: lateness, weighted cost, rungs, and the places of the trainers in order.

Lateness counts the techniques first earned on the costliest trainer. While a ladder still grows there it is kept as
minus the number that were earned below, which says the same once the end is known and lets unfinished ways be compared.
"""
Key = tuple[int, Way]
"""Techniques that a whole ladder does not earn, and its way."""


def offers_of(inventory: Inventory, skill: Skill) -> tuple[Offer, ...]:
    """What each owned trainer can do for the skill, in the order of the inventory, useless ones left out."""
    wanted = inventory.technique_set(rests_on(skill.steps))
    needed = inventory.fitted_set(skill.steps)
    kinds = {
        (inventory.technique_set(step.rests_on), inventory.fitted_set((step,)), inventory.patients_of(skill, step))
        for step in skill.critical_steps
    }
    patients = {inventory.patients_of(skill, step) for step in skill.steps}
    offers = []
    for owned in inventory.trainers:
        honest, given = owned.honest & wanted, owned.given & wanted
        hosts_all = all(owned.hosts(needed, one) for one in patients)
        if not hosts_all and not honest:
            continue
        sure, gains = 0, set()
        for techniques, fits, who in kinds if honest else ():
            gain = techniques & honest
            if not gain or not owned.hosts(fits, who):
                continue
            if techniques & given:
                gains.add((gain, techniques & given))
            else:
                sure |= gain
        if hosts_all or sure or gains:
            # A gain that is sure anyway needs no condition.
            offers.append(
                Offer(owned, sure, tuple((g, n) for g, n in sorted(gains) if g & ~sure), hosts_all, honest, given)
            )
    return tuple(offers)


def _outclassed(offers: Iterable[Offer]) -> frozenset[str]:
    """Trainers that no best ladder uses below its last rung.

    One is outclassed by another that has a lower weighted cost and no higher wear, and that earns, with no condition,
    all that the one could earn at best: put in its place (or left standing below it) the other gives as much for
    less. At equal wear the other might be wanted further up, as last rung or once its own conditions are met, so there
    it must be of no use but this.
    """
    worse: set[str] = set()
    kept: list[Offer] = []
    for offer in sorted(offers, key=lambda offer: (offer.owned.cost, offer.owned.level)):
        if any(
            not offer.most & ~other.sure
            and other.owned.cost < offer.owned.cost
            and (
                other.owned.level < offer.owned.level
                or (other.owned.level == offer.owned.level and not other.gains and not other.hosts_all)
            )
            for other in kept
        ):
            worse.add(offer.owned.id)
        elif offer.sure:
            kept.append(offer)
    return frozenset(worse)


@dataclass(slots=True)
class _Aim:
    """One best ladder that is looked for: over all that may end it, or over those that end on one trainer.

    `floor` is a number of unearned techniques that no such ladder gets below, `most` the number then earned,
    `cheapest` the least cost of its last rung, `top` the highest level at which it may end.
    """

    end: str | None
    floor: int
    most: int
    cheapest: int
    top: int
    best: Key | None = None

    def try_ending(self, way: Way, earned: int, last: Offer, wanted: int, *, is_top: bool) -> None:
        """Keep the ladder that puts this last rung on what was earned, if it is better."""
        if self.end is not None and last.owned.id != self.end:
            return
        final = earned | last.honest
        missing = (wanted & ~final).bit_count()
        if self.best is None or missing <= self.best[0]:
            entry, cost, rungs, places = _longer(way, last)
            key = (missing, (entry + final.bit_count() if is_top else 0, cost, rungs, places))
            if self.best is None or key < self.best:
                self.best = key

    def is_out_of_reach(self, way: Way, level: int, *, is_top: bool) -> bool:
        """Whether no ladder that goes on from here can be better than the best so far."""
        if level > self.top:
            return True
        if self.best is None or self.best[0] > self.floor:
            return False
        late, cost, _, _ = self.best[1]
        least_late = way[0] + self.most if is_top else 0
        return (least_late, way[1] + self.cheapest) > (late, cost)


def search(
    inventory: Inventory, skill: Skill, offers: tuple[Offer, ...], end: str | None
) -> tuple[Way | None, Way | None]:
    """The way of the best ladder, and that of the best one whose last trainer is `end`; None where there is none."""
    wanted = inventory.technique_set(rests_on(skill.steps))
    groups = [tuple(same_wear) for _, same_wear in groupby(offers, key=lambda offer: offer.owned.level)]
    any_end, to_end = _aim(groups, wanted, None), _aim(groups, wanted, end) if end is not None else None
    aims = [aim for aim in (any_end, to_end) if aim is not None]
    if not aims:
        return None, None
    worse = _outclassed(offers)
    reached: dict[int, Way] = {0: (0, 0, 0, ())}
    for group in groups:
        level = group[0].owned.level
        is_top = level == inventory.top
        if is_top:
            reached = {earned: (-earned.bit_count(), *way[1:]) for earned, way in reached.items()}
        rungs = tuple(offer for offer in group if offer.owned.id not in worse and offer.most)
        lasts = tuple(offer for offer in group if offer.hosts_all)
        for earned, used, way in _spread(reached, rungs, aims, level=level, is_top=is_top):
            for last in lasts:
                if not last.given & ~earned and last.owned.order not in used:
                    for aim in aims:
                        aim.try_ending(way, earned, last, wanted, is_top=is_top)
    return _way_of(any_end), _way_of(to_end)


def _way_of(aim: _Aim | None) -> Way | None:
    return aim.best[1] if aim and aim.best else None


def _aim(groups: Iterable[tuple[Offer, ...]], wanted: int, end: str | None) -> _Aim | None:
    """The aim of a search, bounded by using each trainer as often as it helps; None when even that ends nowhere."""
    earned = 0
    aim: _Aim | None = None
    for group in groups:
        while (more := earned_with_all(group, earned)) != earned:
            earned = more
        for last in group:
            if not last.hosts_all or last.given & ~earned or (end is not None and last.owned.id != end):
                continue
            missing = (wanted & ~(earned | last.honest)).bit_count()
            if aim is None:
                aim = _Aim(end=end, floor=missing, most=0, cheapest=last.owned.cost, top=last.owned.level)
            aim.floor = min(aim.floor, missing)
            aim.most = wanted.bit_count() - aim.floor
            aim.cheapest = min(aim.cheapest, last.owned.cost)
            aim.top = last.owned.level
    return aim


def _spread(
    reached: dict[int, Way], rungs: tuple[Offer, ...], aims: list[_Aim], *, level: int, is_top: bool
) -> Iterator[tuple[int, frozenset[int], Way]]:
    """All that can be earned with more rungs of one group of equal wear, least way first; adds it to `reached`.

    Each comes with the places of trainers of the group that must not be used again. Only where some trainer of the
    group has a condition can a second use of a trainer pay at all: one on which a step was left out could earn more,
    and one that hosts the whole skill could end the ladder. A way only grows, so what is taken first is settled.
    """
    none: frozenset[int] = frozenset()
    if not rungs:
        for earned, way in reached.items():
            yield earned, none, way
        return
    is_ordered = len(rungs) > 1 and any(offer.gains for offer in rungs)
    waiting = [(way, earned, none) for earned, way in reached.items()]
    heapify(waiting)
    settled: dict[int, list[frozenset[int]]] = {}
    best_used: dict[tuple[int, frozenset[int]], Way] = {(earned, none): way for way, earned, _ in waiting}
    while waiting:
        way, earned, used = heappop(waiting)
        if all(aim.is_out_of_reach(way, level, is_top=is_top) for aim in aims):
            break
        before = settled.setdefault(earned, [])
        if any(other <= used for other in before):
            continue
        before.append(used)
        if earned not in reached or way < reached[earned]:
            reached[earned] = way
        yield earned, used, way
        for offer in rungs:
            total = offer.earned_with(earned)
            if total == earned or offer.owned.order in used:
                continue
            again = is_ordered and (offer.hosts_all or offer.most & ~total)
            target = (total, used | {offer.owned.order} if again else used)
            known = best_used.get(target)
            longer = _longer(way, offer)
            if (known is None or longer < known) and not all(
                aim.is_out_of_reach(longer, level, is_top=is_top) for aim in aims
            ):
                best_used[target] = longer
                heappush(waiting, (longer, *target))


def _longer(way: Way, offer: Offer) -> Way:
    late, cost, rungs, places = way
    return (late, cost + offer.owned.cost, rungs + 1, (*places, offer.owned.order))


def earned_with_all(group: tuple[Offer, ...], earned: int) -> int:
    """The set earned after one rung on each of a group."""
    for offer in group:
        earned = offer.earned_with(earned)
    return earned
