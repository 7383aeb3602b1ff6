"""Small invented curricula for the tests of the analysis, built from a few words.

`tilt:earned` style texts keep a whole lab readable in the test that works it out by hand.
"""

from __future__ import annotations

import random
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from generator.model import (
    Clearance,
    Curriculum,
    Feedback,
    Item,
    Lab,
    LabStation,
    Named,
    Program,
    RungPlan,
    Skill,
    Station,
    Step,
    Technique,
    Trainer,
    Wear,
    Worth,
)
from generator.model.lab import GroupOrder
from generator.model.program import LadderWeights
from generator.model.skill import PassRule, Review

RUNGS = ("isolate", "combine", "disrupt", "perform")
PASS = PassRule(clean_in_a_row=3)


def trainer(
    id: str,
    feedback: str = "",
    *,
    wear: str = "1",
    accepts: str = "",
    units: int = 1,
    setup: int = 0,
    buy: str | None = None,
    **more: Any,
) -> Trainer:
    """A trainer: `feedback` as `tilt:earned seal:given`, `wear` as currency an attempt, `accepts` as `mask tube`."""
    worths = dict(pair.split(":") for pair in feedback.split())
    return Trainer(
        id=id,
        name=f"{id.capitalize()} trainer",
        summary="Invented.",
        feedback={
            technique: Feedback(worth=Worth(worth), shows=f"The {technique} light comes on.")
            for technique, worth in worths.items()
        },
        accepts=tuple(accepts.split()),
        setup_minutes=setup,
        setup=("Set up.",),
        cleaning=("Wipe.",),
        wear=Wear(
            purchase=Decimal(buy or "0"),
            rated_attempts=more.pop("rated", 0),
            consumables_per_attempt=Decimal(wear),
            attempts_so_far=more.pop("so_far", 0),
        ),
        units=units,
        **more,
    )


def step(id: str, rests_on: str = "", *, uses: str = "", critical: bool = True, see: str | None = "Seen.") -> Step:
    """A step; critical unless it is said not to be."""
    return Step(
        id=id,
        do=f"Do {id}.",
        see=see,
        critical=critical,
        rests_on=tuple(rests_on.split()),
        uses=tuple(uses.split()),
    )


def rung(trainer: str, steps: str = "", *, rung: str = "isolate", because: str | None = None) -> RungPlan:
    """One rung of a written ladder."""
    return RungPlan(
        rung=rung, trainer=trainer, aim="Aim.", steps=tuple(steps.split()), pass_rule=PASS, because=because
    )


def skill(id: str, *steps: Step, ladder: tuple[RungPlan, ...] = (), **more: Any) -> Skill:
    """A skill of these steps."""
    return Skill(
        id=id,
        title=more.pop("title", f"Skill {id}"),
        strand="hands",
        levels=("first",),
        minutes_per_attempt=more.pop("minutes", 5),
        summary="Invented.",
        cautions=(),
        steps=steps,
        ladder=ladder,
        clearance=Clearance(rung="perform", clean_in_a_row=3, valid_months=6, after_a_fail="Practise."),
        reviewed=Review(on=date(2026, 1, 1), by="Lead instructor"),
        **more,
    )


def station(id: str, skill: str, trainer: str, *, rung: str = "isolate", minutes: int = 20) -> Station:
    """A station."""
    return Station(
        id=id,
        title=f"Station {id}",
        skill=skill,
        rung=rung,
        trainer=trainer,
        minutes=minutes,
        set_up=("Set up.",),
        brief="Brief.",
        peers="Watch.",
        reset=("Reset.",),
    )


def lab(id: str, stations: str, *, day: int = 0, learners: int = 4, group_size: int = 4, **more: Any) -> Lab:
    """A lab day, `day` days after the first; `stations` as `a b c`, `orders` as {1: "b a c"}."""
    orders = more.pop("orders", {})
    visits = more.pop("visits", {})
    return Lab(
        id=id,
        title=f"Lab {id}",
        on=date(2026, 9, 1) + timedelta(days=day),
        start="09:00",
        block_minutes=20,
        change_over_minutes=5,
        learners=learners,
        group_size=group_size,
        stations=tuple(LabStation(station=name, visits=visits.get(name, 1)) for name in stations.split()),
        orders=tuple(GroupOrder(group=group, stations=tuple(order.split())) for group, order in orders.items()),
        **more,
    )


def curriculum(
    *records: Trainer | Skill | Station | Lab,
    fitted: str = "mask tube",
    populations: str = "",
    weights: tuple[str, str, str] = ("1000", "1", "0.01"),
    level: str = "0.95",
) -> Curriculum:
    """A curriculum of these records; techniques are those that any of them names."""
    trainers = {r.id: r for r in records if isinstance(r, Trainer)}
    skills = {r.id: r for r in records if isinstance(r, Skill)}
    named = dict.fromkeys(t for s in skills.values() for step in s.steps for t in step.rests_on)
    named.update(dict.fromkeys(t for r in trainers.values() for t in r.feedback))
    return Curriculum(
        program=Program(
            name="Invented program",
            short_name="Invented",
            site_url="https://invented.example/",
            about="Invented.",
            medical_direction="Local protocol comes first.",
            usual_cautions=("Wear gloves.",),
            levels=(Named(id="first", name="First"),),
            rungs=tuple(Named(id=id, name=id.capitalize()) for id in RUNGS),
            strands=(Named(id="hands", name="Hands"),),
            populations=tuple(Named(id=id, name=id.capitalize()) for id in populations.split()),
            spares_service_level=Decimal(level),
            ladder_weights=LadderWeights(
                rung=Decimal(weights[0]), wear=Decimal(weights[1]), setup_minute=Decimal(weights[2])
            ),
        ),
        techniques={id: Technique(name=id.replace("-", " ").capitalize(), right="Right.") for id in named},
        equipment={
            "gloves": Item(name="Gloves"),
            **{id: Item(name=id.capitalize(), fitted=True) for id in fitted.split()},
        },
        quantities={},
        sources={},
        terms=(),
        trainers=trainers,
        skills=skills,
        stations={r.id: r for r in records if isinstance(r, Station)},
        labs={r.id: r for r in records if isinstance(r, Lab)},
    )


TECHNIQUES = ("tilt", "seal", "squeeze", "reach")


def random_trainer(rng: random.Random, id: str, *, techniques: tuple[str, ...] = TECHNIQUES, units: int = 1) -> Trainer:
    """A trainer with random feedback; wear from a few values so that ties are common."""
    worths = ("earned", "measured", "given", "given", "silent", "silent")
    feedback = " ".join(f"{technique}:{rng.choice(worths)}" for technique in techniques)
    accepts = " ".join(item for item in ("mask", "tube") if rng.random() < 0.7)
    return trainer(
        id,
        feedback,
        wear=rng.choice(("0", "1", "1", "2", "3.5")),
        accepts=accepts,
        units=units,
        setup=rng.choice((0, 5, 10)),
        buy=str(rng.choice((0, 1, 2, 3, 5, 8))),
        rated=rng.choice((0, 2)),
    )


def random_skill(rng: random.Random, id: str, *, steps: int = 3, techniques: tuple[str, ...] = TECHNIQUES) -> Skill:
    """A skill of a few steps, most of them critical, resting on one or two techniques."""
    return skill(
        id,
        *(
            step(
                f"step-{number}",
                " ".join(rng.sample(techniques, rng.choice((1, 1, 2)))),
                uses=" ".join(item for item in ("mask", "tube", "gloves") if rng.random() < 0.3),
                critical=rng.random() < 0.8,
                see=rng.choice(("Seen.", None)),
            )
            for number in range(steps)
        ),
    )
