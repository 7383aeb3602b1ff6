"""What practice costs: wear per attempt, attempts that the labs plan, life left, spares, and savings.

Money is exact (`Fraction`) until it is shown; its unit is the program's currency.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import exp, lgamma, log, sqrt

from generator.analysis.practice import can_host, rests_on, station_steps
from generator.model import Curriculum, Lab, Step, Trainer, Worth


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """Attempts that one station of one lab day plans on its trainer, all groups and visits together."""

    lab: str
    station: str
    skill: str
    trainer: str
    attempts: int


@dataclass(frozen=True, slots=True, kw_only=True)
class TrainerWear:
    """What the labs do to one trainer.

    `planned` and `life_left` are attempts over all units owned; `life_left` is None when nothing wears out or none
    is owned. `runs_out_at` is the lab day during which the life left is used up. `expected_parts` is the mean number
    of replacements; `spares` the number to hold for the program's service level, None when no number would do.
    """

    trainer: str
    cost_per_attempt: Fraction
    planned: int
    planned_cost: Fraction
    life_left: int | None
    runs_out_at: str | None
    expected_parts: Fraction
    spares: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Saving:
    """Attempts planned on the costliest trainer that a cheaper one would have answered as honestly."""

    lab: str
    station: str
    skill: str
    trainer: str
    cheaper: str
    attempts: int
    saved: Fraction


def cost_per_attempt(trainer: Trainer) -> Fraction:
    """Wear cost of one attempt: purchase / rated_attempts + consumables_per_attempt, in currency.

    A trainer rated for no attempts at all is one that does not wear out: only its consumables count.
    """
    wear = trainer.wear
    parts = Fraction(wear.purchase) / wear.rated_attempts if wear.rated_attempts else Fraction(0)
    return parts + Fraction(wear.consumables_per_attempt)


def labs_in_order(curriculum: Curriculum) -> tuple[Lab, ...]:
    """Lab days by date, then start, then id."""
    return tuple(sorted(curriculum.labs.values(), key=lambda lab: (lab.on, lab.start, lab.id)))


def planned_attempts(curriculum: Curriculum) -> tuple[Planned, ...]:
    """Attempts that the labs plan, in the order of the days and of their stations.

    One unit of a trainer takes `floor(station minutes / skill minutes per attempt)` attempts in a visit, whoever of
    its learners is at it. A group puts one learner or more on each of `ceil(learners in the group / learners per
    unit)` units, though never on more than the lab owns. Groups times visits give the rest. Stations whose skill or
    trainer is not known are left out.
    """
    found = []
    for lab in labs_in_order(curriculum):
        for stop in lab.stations:
            station = curriculum.stations.get(stop.station)
            if station is None or station.skill not in curriculum.skills:
                continue
            trainer = curriculum.trainers.get(station.trainer)
            if trainer is None:
                continue
            each = curriculum.skills[station.skill].minutes_per_attempt
            in_a_visit = station.minutes // each if each else 0
            units = sum(_units_at_work(trainer, learners) for learners in group_sizes(lab))
            found.append(
                Planned(
                    lab=lab.id,
                    station=station.id,
                    skill=station.skill,
                    trainer=trainer.id,
                    attempts=units * stop.visits * in_a_visit,
                )
            )
    return tuple(found)


def group_sizes(lab: Lab) -> tuple[int, ...]:
    """Learners in each group, as even as they come: ten in groups of at most four are four, three and three."""
    if not lab.groups:
        return ()
    each, more = divmod(lab.learners, lab.groups)
    return tuple(each + (group < more) for group in range(lab.groups))


def wear_of(curriculum: Curriculum, planned: tuple[Planned, ...] | None = None) -> tuple[TrainerWear, ...]:
    """The wear of each trainer, in the order of the curriculum.

    Each attempt is taken to wear out a part with the chance 1 / rated_attempts, whatever its age, so replacements
    over the planned attempts are Poisson with mean planned / rated_attempts. What costs nothing to replace, such as a
    partner, does not wear out.
    """
    plan = planned_attempts(curriculum) if planned is None else planned
    level = curriculum.program.spares_service_level
    found = []
    for trainer in curriculum.trainers.values():
        visits = [item for item in plan if item.trainer == trainer.id]
        attempts = sum(item.attempts for item in visits)
        rated = trainer.wear.rated_attempts if trainer.wear.purchase > 0 else 0
        life = max(0, rated * trainer.units - trainer.wear.attempts_so_far) if rated and trainer.units else None
        mean = Fraction(attempts, rated) if rated else Fraction(0)
        cost = cost_per_attempt(trainer)
        found.append(
            TrainerWear(
                trainer=trainer.id,
                cost_per_attempt=cost,
                planned=attempts,
                planned_cost=cost * attempts,
                life_left=life,
                runs_out_at=_day_of(visits, life),
                expected_parts=mean,
                spares=spares(mean, level),
            )
        )
    return tuple(found)


def spares(mean: Fraction | float, service_level: Decimal | float) -> int | None:
    """The smallest number of spares that lasts with at least the chance asked for.

    The smallest k with P(X <= k) >= service_level for X Poisson with this mean. None when the level is 1 or more,
    for no number of spares is certain to last; 0 when the mean is 0.
    """
    level, expected = float(service_level), float(mean)
    if expected <= 0:
        return 0
    if level >= 1:
        return None
    # Below this start the chance is less than 1e-30 and adds nothing; it keeps large means quick.
    k = max(0, int(expected - 40 * sqrt(expected)))
    reached = 0.0
    while True:
        term = exp(k * log(expected) - expected - lgamma(k + 1))
        reached += term
        # Rounding may keep the sum just under a level such as 0.9999999999999999: past the bulk no term adds to it.
        if reached >= level or (k > expected and term < 1e-18):
            return k
        k += 1


def savings(curriculum: Curriculum, planned: tuple[Planned, ...] | None = None) -> tuple[Saving, ...]:
    """Attempts planned on the costliest trainer owned that could have been made as honestly on a cheaper one.

    The cheaper trainer is owned, costs less an attempt, can host the steps practised at the station, and for each
    technique that their critical ones rest on it is honest where the costliest is honest, and never `given` unless
    the costliest is `given` too. Of several the cheapest is named.
    """
    owned = [trainer for trainer in curriculum.trainers.values() if trainer.is_owned]
    if not owned:
        return ()
    highest = max(cost_per_attempt(trainer) for trainer in owned)
    cheaper = sorted((t for t in owned if cost_per_attempt(t) < highest), key=cost_per_attempt)
    found = []
    for item in planned_attempts(curriculum) if planned is None else planned:
        trainer = curriculum.trainers[item.trainer]
        if not item.attempts or not trainer.is_owned or cost_per_attempt(trainer) < highest:
            continue
        skill = curriculum.skills[item.skill]
        steps = station_steps(curriculum, curriculum.stations[item.station])
        able = (one for one in cheaper if can_host(curriculum, one, skill, steps))
        instead = next((one for one in able if _answers_as_well(one, trainer, steps)), None)
        if instead is not None:
            found.append(
                Saving(
                    lab=item.lab,
                    station=item.station,
                    skill=item.skill,
                    trainer=trainer.id,
                    cheaper=instead.id,
                    attempts=item.attempts,
                    saved=item.attempts * (highest - cost_per_attempt(instead)),
                )
            )
    return tuple(found)


def _answers_as_well(cheap: Trainer, dear: Trainer, steps: tuple[Step, ...]) -> bool:
    for technique in rests_on(steps):
        costly, instead = dear.worth_of(technique), cheap.worth_of(technique)
        if costly.is_honest and not instead.is_honest:
            return False
        if instead is Worth.GIVEN and costly is not Worth.GIVEN:
            return False
    return True


def _units_at_work(trainer: Trainer, learners: int) -> int:
    wanted = -(-learners // trainer.learners_per_unit) if trainer.learners_per_unit else 1
    return min(wanted, trainer.units) if trainer.units else wanted


def _day_of(visits: list[Planned], life: int | None) -> str | None:
    done = 0
    for visit in visits:
        done += visit.attempts
        if life is not None and done > life:
            return visit.lab
    return None
