"""The absence of each trainer: worked out by hand, and equal to the slow way on random labs."""

from __future__ import annotations

import random

from small_labs import curriculum, random_skill, random_trainer, rung, skill, step, trainer

from generator.analysis.absence import Absence, absences
from generator.analysis.gaps import find_gaps
from generator.analysis.inventory import inventory_of
from generator.analysis.ladders import BestLadder, NoLadder, best_ladder
from generator.model import Curriculum


def absent(made: Curriculum) -> dict[str, Absence]:
    inventory = inventory_of(made)
    best: dict[str, BestLadder | NoLadder] = {id: best_ladder(inventory, one) for id, one in made.skills.items()}
    return {found.trainer: found for found in absences(made, best)}


def test_worked_out_by_hand() -> None:
    # The head alone is honest about the tilt. The torso alone takes the mask, and gives the tilt: it needs the head
    # below it. The seal is earned on both, so neither absence opens it.
    head = trainer("head", "tilt:earned seal:earned", wear="1")
    torso = trainer("torso", "tilt:given seal:earned", wear="2", accepts="mask")
    shop = trainer("shop", "tilt:earned", units=0)
    one = skill("s", step("open", "tilt"), step("hold", "seal"), step("fit", "", uses="mask"), ladder=(rung("head"),))
    found = absent(curriculum(head, torso, shop, one))
    assert tuple(found) == ("head", "torso"), "what is not owned cannot be missed"
    assert found["head"] == Absence(trainer="head", opened=(("tilt", "s"),), used_by=("s",), lost=("s",))
    assert found["torso"] == Absence(trainer="torso", opened=(), used_by=(), lost=("s",))


def test_equals_one_search_for_each_trainer() -> None:
    tried = lost = opened = 0
    for seed in range(250):
        rng = random.Random(seed)
        made = curriculum(
            *(random_trainer(rng, f"t{n}") for n in range(rng.randrange(2, 6))),
            *(random_skill(rng, f"s{n}") for n in range(3)),
        )
        for id, found in absent(made).items():
            slow = find_gaps(made, without=id)
            assert (found.used_by, found.lost) == (slow.used_by, slow.lost), (seed, id)
            assert {technique for technique, _ in found.opened} == set(slow.opened), (seed, id)
            tried += 1
            lost += bool(found.lost)
            opened += bool(found.opened)
    assert tried > 500
    assert lost > 50
    assert opened > 50
