"""Gaps: instances worked out by hand, equality with brute force, one trainer out of service, and properties."""

from __future__ import annotations

import random
from decimal import Decimal
from itertools import combinations

import pytest
from small_labs import curriculum, random_skill, random_trainer, rung, skill, step, trainer

from generator.analysis.gaps import Gaps, find_gaps
from generator.analysis.practice import accepts_all, critical_on, rests_on
from generator.model import Curriculum

Cost = tuple[Decimal, int, tuple[int, ...]]


def test_a_lab_with_an_honest_trainer_for_everything_has_no_gap() -> None:
    found = find_gaps(curriculum(trainer("head", "tilt:earned"), skill("s", step("open", "tilt"))))
    assert found.gaps == ()
    assert found.cover.trainers == ()
    assert found.runner_up is None


def test_two_cheap_kinds_beat_one_dear_kind_and_it_is_the_runner_up() -> None:
    # Gaps: tilt, seal, reach. both+reach singly: a (tilt, seal) 30 and c (reach) 25 = 55; d closes all for 60;
    # b (seal, reach) 20 with a = 50 is the cheapest. Covers without both a and b: d alone 60, a + c = 55, so 55.
    made = curriculum(
        trainer("owned", "tilt:given", units=1),
        trainer("a", "tilt:earned seal:earned", units=0, buy="30"),
        trainer("b", "seal:earned reach:measured", units=0, buy="20"),
        trainer("c", "reach:earned", units=0, buy="25"),
        trainer("d", "tilt:earned seal:earned reach:earned", units=0, buy="60"),
        skill("s", step("open", "tilt"), step("hold", "seal"), step("go", "reach"), step("spare", "x", critical=False)),
    )
    found = find_gaps(made)
    assert [gap.technique for gap in found.gaps] == ["tilt", "seal", "reach"]
    assert (found.cover.trainers, found.cover.cost, found.cover.is_proved) == (("a", "b"), 50, True)
    assert found.runner_up is not None
    assert (found.runner_up.trainers, found.runner_up.cost, found.runner_up.is_proved) == (("a", "c"), 55, True)
    assert found.open == ()


def test_an_honest_trainer_that_does_not_take_the_device_leaves_the_gap_open() -> None:
    made = curriculum(
        trainer("head", "size:earned"),
        trainer("cut", "size:earned", units=0, buy="400", accepts="tube"),
        trainer("bare", "size:earned", units=0, buy="10"),
        skill("fits", step("measure", "size", uses="tube")),
        skill("other", step("guess", "size")),
    )
    (gap,) = find_gaps(made).gaps
    assert (gap.technique, gap.unfit) == ("size", ("head",))
    assert [(t.skill, t.steps, t.candidates) for t in gap.touches] == [("fits", ("measure",), ("cut",))]


def test_what_nothing_in_the_catalogue_can_close_is_said() -> None:
    made = curriculum(trainer("head", "tilt:silent"), skill("s", step("open", "tilt")))
    found = find_gaps(made)
    assert found.open == (("tilt", "s"),)
    assert found.cover.trainers == ()


def test_one_trainer_out_of_service() -> None:
    made = curriculum(
        trainer("head", "tilt:earned", buy="90"),
        trainer("torso", "tilt:given seal:earned", accepts="mask", wear="2"),
        trainer("other", "tilt:earned", units=0, buy="40"),
        skill(
            "a",
            step("open", "tilt", uses="mask"),
            step("free", "tilt"),
            ladder=(rung("head", "free"), rung("torso")),
        ),
        skill("b", step("hold", "seal", uses="mask"), ladder=(rung("torso"),)),
    )
    assert find_gaps(made).gaps == ()
    found = find_gaps(made, without="head")
    assert found.opened == ("tilt",)
    assert found.used_by == ("a",)
    assert found.lost == ("a",)
    assert (found.cover.trainers, found.cover.cost) == (("other",), 40)
    assert found.runner_up is not None
    assert found.runner_up.trainers == ("head",)


def random_lab(seed: int) -> Curriculum:
    rng = random.Random(seed)
    techniques = ("tilt", "seal", "squeeze", "reach", "time", "size")
    return curriculum(
        *(random_trainer(rng, f"own{n}", techniques=techniques[:2]) for n in range(rng.choice((0, 1, 1)))),
        *(random_trainer(rng, f"buy{n}", techniques=tuple(rng.sample(techniques, 3)), units=0) for n in range(6)),
        *(random_skill(rng, f"s{n}", steps=3, techniques=techniques) for n in range(2)),
    )


def brute_force(made: Curriculum) -> tuple[Cost | None, Cost | None]:
    """The least cover and the least that does not contain it, over every subset, by names and not by sets of bits."""
    owned = [t for t in made.trainers.values() if t.is_owned]
    catalogue = [t for t in made.trainers.values() if not t.is_owned]
    needs = []
    for one in made.skills.values():
        for technique in rests_on(one.steps):
            steps = critical_on(one.steps, technique)
            does = {
                t.id
                for t in made.trainers.values()
                if t.worth_of(technique).is_honest and any(accepts_all(made, t, (s,)) for s in steps)
            }
            if does and not any(t.id in does for t in owned):
                needs.append(does)
    covers: list[Cost] = []
    for size in range(len(catalogue) + 1):
        for places in combinations(range(len(catalogue)), size):
            ids = {catalogue[place].id for place in places}
            if all(need & ids for need in needs):
                covers.append((sum((catalogue[p].wear.purchase for p in places), Decimal(0)), size, places))
    best = min(covers)
    others = [cover for cover in covers if not set(best[2]) <= set(cover[2])]
    return (best, min(others, default=None)) if needs else (None, None)


def cost_of(made: Curriculum, found: Gaps, which: str) -> Cost | None:
    cover = getattr(found, which)
    if cover is None or not cover.trainers:
        return None
    catalogue = [t.id for t in made.trainers.values() if not t.is_owned]
    return cover.cost, len(cover.trainers), tuple(catalogue.index(id) for id in cover.trainers)


@pytest.mark.parametrize("block", range(10))
def test_cover_and_runner_up_equal_brute_force(block: int) -> None:
    covers = runners = 0
    for seed in range(block * 60, block * 60 + 60):
        made = random_lab(seed)
        found = find_gaps(made)
        best, second = brute_force(made)
        assert cost_of(made, found, "cover") == best, f"seed {seed}"
        assert cost_of(made, found, "runner_up") == second, f"seed {seed}"
        assert found.cover.is_proved
        covers += best is not None
        runners += second is not None
    assert covers > 10
    assert runners > 10


def test_an_owned_honest_trainer_never_adds_a_gap() -> None:
    for seed in range(200):
        made = random_lab(seed)
        more = curriculum(
            *made.trainers.values(), random_trainer(random.Random(seed), "another"), *made.skills.values()
        )
        before = {(g.technique, t.skill) for g in find_gaps(made).gaps for t in g.touches}
        after = {(g.technique, t.skill) for g in find_gaps(more).gaps for t in g.touches}
        assert after <= before


def test_other_names_change_nothing_but_names() -> None:
    for seed in range(100):
        made = random_lab(seed)
        names = {id: f"x{9 - number}" for number, id in enumerate(made.trainers)}
        renamed = curriculum(
            *(t.model_copy(update={"id": names[t.id]}) for t in made.trainers.values()), *made.skills.values()
        )
        before, after = find_gaps(made), find_gaps(renamed)
        assert after.cover.trainers == tuple(names[id] for id in before.cover.trainers)
        assert after.cover.cost == before.cover.cost
