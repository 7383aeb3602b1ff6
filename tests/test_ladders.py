"""The best ladder: instances worked out by hand, equality with brute force, and properties."""

from __future__ import annotations

import random
import time
from collections.abc import Iterator
from fractions import Fraction
from itertools import combinations, permutations, product

import pytest
from small_labs import curriculum, random_skill, random_trainer, rung, skill, step, trainer

from generator.analysis.inventory import inventory_of, rung_cost
from generator.analysis.ladders import BestLadder, NoLadder, best_ladder, compare
from generator.analysis.practice import accepts_all, rests_on
from generator.analysis.wear import cost_per_attempt
from generator.model import Curriculum, Skill, Step, Trainer, Worth

Key = tuple[int, int, Fraction, int, tuple[int, ...]]


def best_of(made: Curriculum, ends_on: str | None = None) -> BestLadder | NoLadder:
    return best_ladder(inventory_of(made), next(iter(made.skills.values())), ends_on=ends_on)


def ladder_of(made: Curriculum, ends_on: str | None = None) -> BestLadder:
    best = best_of(made, ends_on)
    assert isinstance(best, BestLadder)
    return best


# --- worked out by hand


def test_an_honest_trainer_that_takes_everything_is_the_whole_ladder() -> None:
    made = curriculum(
        trainer("dear", "tilt:earned", wear="5", accepts="mask"),
        trainer("good", "tilt:earned", wear="1", accepts="mask"),
        skill("s", step("open", "tilt", uses="mask")),
    )
    best = ladder_of(made)
    assert best.trainers == ("good",)
    assert best.weighted == 1001
    assert best.rungs[0].earns == ("tilt",)


def test_a_permissive_trainer_that_alone_takes_the_device_comes_second() -> None:
    # Only `torso` takes the tube, and on it the chest rises however the head lies. `head` earns tilt but takes no
    # tube, so: open on `head`, then the whole skill on `torso`. 2 rungs, wear 1 + 3, set-up 4 + 6 minutes.
    made = curriculum(
        trainer("head", "tilt:earned", wear="1", setup=4),
        trainer("torso", "tilt:given seal:earned", wear="3", accepts="tube", setup=6),
        skill("s", step("open", "tilt"), step("insert", "seal", uses="tube")),
    )
    best = ladder_of(made)
    assert best.trainers == ("head", "torso")
    assert [r.steps for r in best.rungs] == [("open",), ("open", "insert")]
    assert [r.earns for r in best.rungs] == [("tilt",), ("seal",)]
    assert best.weighted == 2000 + 4 + Fraction(10, 100)
    assert (best.wear, best.setup_minutes) == (4, 10)


def test_the_costliest_trainer_is_met_after_everything_was_earned_on_something_cheaper() -> None:
    # `simulator` alone would be one rung, yet it is the costliest the lab owns: tilt and seal are earned below it.
    made = curriculum(
        trainer("simulator", "tilt:earned seal:earned team:measured", wear="9", accepts="mask tube"),
        trainer("torso", "tilt:earned seal:earned", wear="1", accepts="mask"),
        skill("s", step("open", "tilt"), step("seal", "seal", uses="mask"), step("call", "team", uses="tube")),
    )
    best = ladder_of(made)
    assert best.trainers == ("torso", "simulator")
    assert best.late == ("team",)
    assert best.unproved == ()


def test_a_step_that_would_be_rewarded_falsely_is_left_out_of_an_early_rung() -> None:
    # `vest` is honest about seal, but says yes to any tilt: `open` waits until `head` has earned tilt.
    made = curriculum(
        trainer("vest", "seal:earned tilt:given", wear="1"),
        trainer("head", "tilt:earned", wear="2"),
        trainer("all", "tilt:given seal:silent", wear="3", accepts="tube"),
        skill("s", step("open", "tilt"), step("seal", "seal"), step("put", "", uses="tube", critical=False)),
    )
    best = ladder_of(made)
    assert best.trainers == ("vest", "head", "all")
    assert best.rungs[0].steps == ("seal",)
    assert best.rungs[0].left_out == ("open",)


def test_ties_go_to_the_trainers_that_stand_first_in_the_curriculum() -> None:
    twins = [trainer(id, "tilt:earned", wear="1") for id in ("b", "a")]
    made = curriculum(*twins, skill("s", step("open", "tilt")))
    assert ladder_of(made).trainers == ("b",)
    turned = curriculum(*reversed(twins), skill("s", step("open", "tilt")))
    assert ladder_of(turned).trainers == ("a",)


def test_weights_of_the_program_decide_between_rungs_and_wear() -> None:
    # One rung at 20, or two at 1 + 2 = 3. With the shipped weights one rung wins; with rungs at 10, 20 + 10 > 3 + 20.
    records = (
        trainer("both", "tilt:earned seal:earned", wear="20", accepts="mask"),
        trainer("tilts", "tilt:earned", wear="1"),
        trainer("seals", "seal:earned", wear="2", accepts="mask"),
        trainer("top", "", wear="30"),
        skill("s", step("open", "tilt"), step("seal", "seal", uses="mask")),
    )
    assert ladder_of(curriculum(*records)).trainers == ("both",)
    assert ladder_of(curriculum(*records, weights=("10", "1", "0"))).trainers == ("tilts", "seals")


def test_a_trainer_that_must_end_the_ladder_cannot_also_start_it() -> None:
    # All wear the same. `last` alone takes the tube, so it ends the ladder; `second` answers for seal only once tilt is
    # earned. `last` would earn tilt with less set-up than `first`, but it cannot stand on two rungs.
    made = curriculum(
        trainer("first", "tilt:earned", setup=5),
        trainer("second", "tilt:given seal:earned"),
        trainer("last", "tilt:earned", accepts="tube"),
        trainer("top", "", wear="9"),
        skill("s", step("both", "tilt seal"), step("in", "", uses="tube")),
    )
    assert ladder_of(made).trainers == ("first", "second", "last")


def test_a_trainer_that_stands_for_other_patients_is_not_on_the_ladder() -> None:
    # `vest` would be the cheapest, but it stands for adults; the skill is for infants and children.
    made = curriculum(
        trainer("vest", "blow:earned", wear="1", populations=("adult",)),
        trainer("small", "blow:earned", wear="2", populations=("infant",)),
        trainer("top", "", wear="9"),
        skill("s", step("slap", "blow"), populations=("infant", "child")),
        populations="adult child infant",
    )
    assert ladder_of(made).trainers == ("small",)
    alone = curriculum(made.trainers["vest"], *made.skills.values(), populations="adult child infant")
    none = best_of(alone)
    assert isinstance(none, NoLadder)
    assert none.refused == (("vest", ()),)


def test_a_hundred_trainers_of_equal_wear_do_not_explode() -> None:
    rng = random.Random(7)
    names = tuple(f"t{n}" for n in range(10))
    many = [random_trainer(rng, f"r{n}", techniques=names) for n in range(100)]
    same = [t.model_copy(update={"wear": many[0].wear, "accepts": ("mask", "tube")}) for t in many]
    made = curriculum(*same, random_skill(rng, "s", steps=10, techniques=names))
    start = time.process_time()
    assert ladder_of(made).unproved == ()
    assert time.process_time() - start < 5, "it takes some hundredths of a second"


def test_no_ladder_when_nothing_owned_takes_the_device() -> None:
    made = curriculum(trainer("head", "tilt:earned", accepts="mask"), skill("s", step("in", "tilt", uses="mask tube")))
    none = best_of(made)
    assert isinstance(none, NoLadder)
    assert none.refused == (("head", ("tube",)),)


def test_no_ladder_when_the_only_host_lies_and_nothing_cheaper_is_honest() -> None:
    made = curriculum(
        trainer("torso", "tilt:given", wear="1", accepts="tube"),
        trainer("dear", "tilt:earned", wear="2"),
        skill("s", step("open", "tilt"), step("in", "", uses="tube")),
    )
    none = best_of(made)
    assert isinstance(none, NoLadder)
    assert none.false == (("torso", ("tilt",)),)


def test_comparison_of_a_written_ladder_that_starts_on_a_lie() -> None:
    # Written: torso (given) then head then torso: 3 rungs, wear 7, set-up 16; best: head, torso: 2, 4, 10.
    # Exposure: tilt is met falsely on rung 0 only, for rung 1 earns it before rung 2.
    made = curriculum(
        trainer("head", "tilt:earned", wear="1", setup=4),
        trainer("torso", "tilt:given", wear="3", accepts="tube", setup=6),
        skill(
            "s",
            step("open", "tilt"),
            step("in", "", uses="tube"),
            ladder=(rung("torso"), rung("head"), rung("torso")),
        ),
    )
    found = compare(made, inventory_of(made), made.skills["s"])
    assert found.exposure == 1
    assert (found.rungs_more, found.wear_more, found.setup_minutes_more) == (1, 3, 6)
    assert found.weighted_more == 1000 + 3 + Fraction(6, 100)


def test_the_best_ladder_to_the_same_end_keeps_the_last_trainer() -> None:
    made = curriculum(
        trainer("torso", "tilt:earned", wear="1", accepts="mask"),
        trainer("simulator", "tilt:earned", wear="9", accepts="mask"),
        skill("s", step("open", "tilt", uses="mask"), ladder=(rung("simulator"),)),
    )
    found = compare(made, inventory_of(made), made.skills["s"])
    assert isinstance(found.best, BestLadder)
    assert found.best.trainers == ("torso",)
    assert found.to_same_end is not None
    assert found.to_same_end.trainers == ("torso", "simulator")


# --- brute force


def _walk(
    made: Curriculum, one: Skill, sequence: tuple[Trainer, ...], choices: tuple[tuple[Step, ...], ...]
) -> Key | None:
    """The key of one ladder with one choice of practised steps, straight from the definition; None if not allowed."""
    wear = [cost_per_attempt(t) for t in sequence]
    if wear != sorted(wear):
        return None
    highest = max(cost_per_attempt(t) for t in made.trainers.values() if t.is_owned)
    wanted = rests_on(one.steps)
    earned: set[str] = set()
    late = 0
    for on, steps in zip(sequence, choices, strict=True):
        if not accepts_all(made, on, steps):
            return None
        met = rests_on(steps)
        if any(on.worth_of(t) is Worth.GIVEN and t not in earned for t in met):
            return None
        new = {t for t in met if on.worth_of(t).is_honest} - earned
        late += len(new) if cost_per_attempt(on) == highest else 0
        earned |= new
    cost = sum((rung_cost(made, t) for t in sequence), Fraction(0))
    places = tuple(list(made.trainers).index(t.id) for t in sequence)
    return len(set(wanted) - earned), late, cost, len(sequence), places


def _subsets(steps: tuple[Step, ...]) -> Iterator[tuple[Step, ...]]:
    for size in range(len(steps) + 1):
        yield from combinations(steps, size)


def _every_choice(made: Curriculum, one: Skill, sequence: tuple[Trainer, ...]) -> Iterator[Key | None]:
    below = [list(_subsets(one.steps)) for _ in sequence[:-1]]
    for choice in product(*below):
        yield _walk(made, one, sequence, (*choice, one.steps))


def brute_force(made: Curriculum) -> Key | None:
    """The least key over every order of every subset of owned trainers and every choice of steps on each rung."""
    one = next(iter(made.skills.values()))
    owned = [t for t in made.trainers.values() if t.is_owned]
    keys = (
        key
        for size in range(1, len(owned) + 1)
        for sequence in permutations(owned, size)
        for key in _every_choice(made, one, sequence)
    )
    return min((key for key in keys if key is not None), default=None)


def greedy_force(made: Curriculum) -> Key | None:
    """As `brute_force` for more trainers: each rung practises all that it can host honestly."""
    one = next(iter(made.skills.values()))
    wanted = rests_on(one.steps)
    owned = [t for t in made.trainers.values() if t.is_owned]
    found: list[Key] = []
    for size in range(1, len(owned) + 1):
        for sequence in permutations(owned, size):
            earned: set[str] = set()
            choices = []
            for t in sequence[:-1]:
                steps = tuple(
                    s
                    for s in one.steps
                    if accepts_all(made, t, (s,))
                    and not any(t.worth_of(x) is Worth.GIVEN and x in wanted and x not in earned for x in s.rests_on)
                )
                earned |= {x for x in rests_on(steps) if t.worth_of(x).is_honest}
                choices.append(steps)
            key = _walk(made, one, sequence, (*choices, one.steps))
            if key is not None:
                found.append(key)
    return min(found, default=None)


def key_of(made: Curriculum, best: BestLadder | NoLadder) -> Key | None:
    if isinstance(best, NoLadder):
        return None
    places = tuple(list(made.trainers).index(id) for id in best.trainers)
    return len(best.unproved), len(best.late), best.weighted, len(best.rungs), places


WEIGHTS = (("1000", "1", "0.01"), ("1", "1", "1"), ("0", "1", "0"), ("0", "0", "0"))


def random_case(seed: int, trainers: int, steps: int) -> Curriculum:
    rng = random.Random(seed)
    return curriculum(
        *(random_trainer(rng, f"t{number}", units=rng.choice((0, 1, 1, 1, 1))) for number in range(trainers)),
        random_skill(rng, "s", steps=steps),
        weights=rng.choice(WEIGHTS),
    )


@pytest.mark.parametrize("block", range(10))
def test_equals_brute_force_over_orders_and_steps(block: int) -> None:
    ladders = 0
    for seed in range(block * 60, block * 60 + 60):
        made = random_case(seed, trainers=3, steps=3)
        found = best_of(made)
        assert key_of(made, found) == brute_force(made), f"seed {seed}"
        ladders += isinstance(found, BestLadder)
    assert ladders > 10, "most instances must have a ladder, or this compares nothing"


@pytest.mark.parametrize("block", range(10))
def test_equals_brute_force_over_orders_of_five_trainers(block: int) -> None:
    long = 0
    for seed in range(10_000 + block * 60, 10_000 + block * 60 + 60):
        made = random_case(seed, trainers=5, steps=4)
        found = best_of(made)
        assert key_of(made, found) == greedy_force(made), f"seed {seed}"
        long += isinstance(found, BestLadder) and len(found.rungs) > 1
    assert long > 10


def test_a_ladder_to_a_given_end_equals_brute_force() -> None:
    ladders = 0
    for seed in range(20_000, 20_300):
        made = random_case(seed, trainers=3, steps=3)
        end = next(iter(made.trainers))
        one = next(iter(made.skills.values()))
        owned = [t for t in made.trainers.values() if t.is_owned]
        keys = [
            key
            for size in range(1, len(owned) + 1)
            for sequence in permutations(owned, size)
            if sequence[-1].id == end
            for key in _every_choice(made, one, sequence)
            if key is not None
        ]
        found = best_of(made, ends_on=end)
        assert key_of(made, found) == min(keys, default=None), f"seed {seed}"
        ladders += isinstance(found, BestLadder)
    assert ladders > 50


# --- properties


def test_one_more_owned_trainer_never_makes_the_best_ladder_worse() -> None:
    better = 0
    for seed in range(400):
        rng = random.Random(30_000 + seed)
        made = random_case(seed, trainers=4, steps=3)
        more = curriculum(
            *made.trainers.values(),
            random_trainer(rng, "another"),
            *made.skills.values(),
            weights=tuple(str(getattr(made.program.ladder_weights, w)) for w in ("rung", "wear", "setup_minute")),
        )
        before, after = key_of(made, best_of(made)), key_of(more, best_of(more))
        if before is not None:
            assert after is not None
            assert after[:3] <= before[:3], f"seed {seed}"
        better += before is None or (after is not None and after[:3] < before[:3])
    assert better > 20


def test_other_names_change_nothing_but_names() -> None:
    for seed in range(200):
        made = random_case(seed, trainers=4, steps=3)
        names = {id: f"x{9 - number}" for number, id in enumerate(made.trainers)}
        renamed = curriculum(
            *(t.model_copy(update={"id": names[t.id]}) for t in made.trainers.values()),
            *made.skills.values(),
            weights=tuple(str(getattr(made.program.ladder_weights, w)) for w in ("rung", "wear", "setup_minute")),
        )
        before, after = best_of(made), best_of(renamed)
        assert key_of(made, before) == key_of(renamed, after)
        if isinstance(before, BestLadder) and isinstance(after, BestLadder):
            assert after.trainers == tuple(names[id] for id in before.trainers)
            assert [r.steps for r in after.rungs] == [r.steps for r in before.rungs]
