"""Wear: cost per attempt, planned attempts, life, savings, and spares against a published Poisson table."""

from __future__ import annotations

from fractions import Fraction

import pytest
from small_labs import curriculum, lab, skill, station, step, trainer

from generator.analysis.wear import (
    cost_per_attempt,
    group_sizes,
    planned_attempts,
    savings,
    spares,
    wear_of,
)

POISSON = {
    # P(X <= k) for k = 0, 1, 2 ... to four places, as printed in the cumulative Poisson tables of statistics
    # textbooks, seen at statsmasters.pages.dev/tables/poisson-table and in "Cumulative Poisson Distribution Table",
    # scribd.com/document/96601458; both agree.
    0.5: (0.6065, 0.9098, 0.9856, 0.9982, 0.9998),
    1.0: (0.3679, 0.7358, 0.9197, 0.9810, 0.9963, 0.9994, 0.9999),
    2.0: (0.1353, 0.4060, 0.6767, 0.8571, 0.9473, 0.9834, 0.9955, 0.9989),
    3.0: (0.0498, 0.1991, 0.4232, 0.6472, 0.8153, 0.9161, 0.9665, 0.9881, 0.9962),
    5.0: (0.0067, 0.0404, 0.1247, 0.2650, 0.4405, 0.6160, 0.7622, 0.8666, 0.9319, 0.9682, 0.9863),
}


@pytest.mark.parametrize("mean", POISSON)
@pytest.mark.parametrize("level", [0.5, 0.8, 0.9, 0.95, 0.98])
def test_spares_equal_the_published_table(mean: float, level: float) -> None:
    expected = next(k for k, chance in enumerate(POISSON[mean]) if chance >= level)
    assert spares(mean, level) == expected


def test_spares_at_the_edges() -> None:
    assert spares(0, 0.95) == 0
    assert spares(2, 1) is None
    assert spares(2, 0) == 0
    # 95th percentile of a Poisson of mean 10,000: near 10,000 + 1.645 x 100 (normal approximation).
    assert abs((spares(10_000, 0.95) or 0) - 10_164) <= 2
    assert spares(2, 0.9999999999999999) is not None


def test_spares_never_fall_with_mean_or_level() -> None:
    means = [n / 7 for n in range(1, 60)]
    for level in (0.5, 0.9, 0.99):
        counts = [spares(mean, level) or 0 for mean in means]
        assert counts == sorted(counts)
        assert counts[-1] > counts[0]


def test_cost_per_attempt_is_purchase_over_rated_attempts_plus_consumables() -> None:
    assert cost_per_attempt(trainer("t", buy="240", rated=6000, wear="0.06")) == Fraction(1, 10)
    assert cost_per_attempt(trainer("t", buy="240", rated=0, wear="0.06")) == Fraction(6, 100), "it does not wear out"


def test_planned_attempts_by_hand() -> None:
    # 10 learners in groups of 4 make groups of 4, 3 and 3. 3 learners a unit: 2, 1 and 1 units at work, 4 in all.
    # 20 minutes at 6 an attempt: 3 attempts a unit and visit. Two visits: 4 x 2 x 3 = 24.
    made = curriculum(
        trainer("t", units=4, learners_per_unit=3, buy="10", rated=20, so_far=60),
        skill("s", step("a"), minutes=6),
        station("at", "s", "t", minutes=20),
        lab("d", "at", learners=10, group_size=4, visits={"at": 2}),
    )
    assert group_sizes(made.labs["d"]) == (4, 3, 3)
    assert [(p.lab, p.station, p.attempts) for p in planned_attempts(made)] == [("d", "at", 24)]
    (worn,) = wear_of(made)
    # 4 units rated for 20 each less 60 done leaves 20, which the 24 planned use up; 24 / 20 = 1.2 parts on average.
    assert (worn.planned, worn.life_left, worn.runs_out_at) == (24, 20, "d")
    assert worn.expected_parts == Fraction(6, 5)
    # P(X <= 2) = 0.8795, P(X <= 3) = 0.9662 at mean 1.2, same tables as above.
    assert worn.spares == 3
    assert worn.planned_cost == 24 * (Fraction(10, 20) + 1)


def test_no_more_units_work_than_the_lab_owns() -> None:
    made = curriculum(
        trainer("t", units=1, learners_per_unit=1),
        skill("s", step("a"), minutes=10),
        station("at", "s", "t", minutes=20),
        lab("d", "at", learners=4, group_size=4),
    )
    assert [p.attempts for p in planned_attempts(made)] == [2]


def test_what_costs_nothing_to_replace_does_not_wear_out() -> None:
    made = curriculum(
        trainer("partner", units=12, buy="0", rated=1),
        skill("s", step("a")),
        station("at", "s", "partner"),
        lab("d", "at"),
    )
    (worn,) = wear_of(made)
    assert (worn.life_left, worn.runs_out_at, worn.spares) == (None, None, 0)


def test_attempts_that_a_cheaper_trainer_would_answer_as_honestly() -> None:
    simulator = trainer("simulator", "tilt:earned seal:earned", wear="9", accepts="mask", learners_per_unit=4)
    records = (
        simulator,
        trainer("torso", "tilt:earned seal:measured", wear="2", accepts="mask"),
        trainer("liar", "tilt:given seal:earned", wear="1", accepts="mask"),
        trainer("bare", "tilt:earned seal:earned", wear="0.5"),
        skill("s", step("open", "tilt"), step("hold", "seal", uses="mask"), minutes=5),
        station("at", "s", "simulator", minutes=20),
        lab("d", "at"),
    )
    (saving,) = savings(curriculum(*records))
    assert (saving.trainer, saving.cheaper, saving.attempts, saving.saved) == ("simulator", "torso", 4, 4 * 7)
    without = tuple(r for r in records if r.id != "torso")
    assert savings(curriculum(*without)) == ()
