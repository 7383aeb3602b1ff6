"""Agreement of peers and instructors against published tables and against scikit-learn, statsmodels and scipy.

The pairs are built as attempts and counted by the project's own pairing, so the whole way is checked, not a formula.
"""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any, TypeVar

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from sklearn.metrics import cohen_kappa_score, f1_score
from statsmodels.stats.contingency_tables import mcnemar
from statsmodels.stats.inter_rater import cohens_kappa
from statsmodels.stats.proportion import proportion_confint

from generator.analysis.agreement_of_attempts import Agreement, agreement_of, directions_of
from generator.analysis.cut import cut_of
from generator.analysis.rule_curves import GRID, rule_curves
from generator.analysis.statistics.result import Interval, Undefined, Why
from generator.analysis.statistics.same_verdict import same_verdict
from generator.model import Skill

CHECKS: dict[str, dict[str, Any]] = {
    check["id"]: check
    for check in json.loads((Path(__file__).parent / "statistics-checks.json").read_text(encoding="utf-8"))["checks"]
}
Result = TypeVar("Result")
TABLES = [[[40, 9], [6, 45]], [[80, 10], [5, 5]], [[118, 5], [2, 0]], [[1467, 782], [1309, 16232]]]
Counts = st.integers(0, 40)


def defined(result: Result | Undefined) -> Result:
    assert not isinstance(result, Undefined), str(result)
    return result


def marks(table: list[list[int]]) -> list[tuple[bool, bool]]:
    """Pairs of (the peer failed it, the instructor failed it) that give a table of pass before fail."""
    return [(bool(i), bool(j)) for i in (0, 1) for j in (0, 1) for _ in range(table[i][j])]


def agreement(table: list[list[int]]) -> Agreement:
    return agreement_of(directions_of(marks(table)))


@pytest.mark.parametrize("name", ["kappa_paradox_A", "kappa_paradox_B", "kappa_gerstman", "ac1_gwet_125"])
def test_published_tables_come_through_the_pairs(name: str) -> None:
    """Sources: Feinstein and Cicchetti 1990 and Gerstman (published), Gwet (value from memory); see the JSON."""
    check = CHECKS[name]
    found = agreement(check["inputs"]["table"])
    assert found.directions.table == tuple(tuple(row) for row in check["inputs"]["table"])
    assert defined(found.kappa).kappa == pytest.approx(check["expected"]["kappa"], abs=check["tolerance"])
    if "ac1" in check["expected"]:
        assert defined(found.ac1).ac1 == pytest.approx(check["expected"]["ac1"], abs=check["tolerance"])


@pytest.mark.parametrize(
    ("table", "on_first", "on_second"), [([[40, 9], [6, 45]], 0.84, 0.86), ([[80, 10], [5, 5]], 0.91, 0.40)]
)
def test_agreement_on_each_verdict(table: list[list[int]], on_first: float, on_second: float) -> None:
    """Source: Cicchetti and Feinstein 1990, doi:10.1016/0895-4356(90)90159-M. Values from memory, to two places."""
    found = agreement(table)
    assert defined(found.on_passes).share == pytest.approx(on_first, abs=0.005)
    assert defined(found.on_fails).share == pytest.approx(on_second, abs=0.005)


@pytest.mark.parametrize("table", TABLES)
def test_figures_against_libraries(table: list[list[int]]) -> None:
    """Against scikit-learn (cohen_kappa_score; the F1 score is agreement on one verdict) and statsmodels."""
    found = agreement(table)
    peer, instructor = zip(*marks(table), strict=True)
    assert defined(found.kappa).kappa == pytest.approx(cohen_kappa_score(peer, instructor), abs=1e-12)
    outside = cohens_kappa(np.array(table))
    interval = defined(found.kappa).interval
    assert (interval.low, interval.high) == pytest.approx((outside.kappa_low, outside.kappa_upp), abs=1e-9)
    assert defined(found.on_fails).share == pytest.approx(f1_score(instructor, peer, zero_division=0), abs=1e-12)
    assert defined(found.on_passes).share == pytest.approx(f1_score(instructor, peer, pos_label=False), abs=1e-12)
    let_through = defined(found.passed_a_fail)
    expected = proportion_confint(table[0][1], table[0][1] + table[1][1], method="wilson")
    assert (let_through.low, let_through.high) == pytest.approx(expected, abs=1e-12)
    held_back = defined(found.failed_a_pass)
    expected = proportion_confint(table[1][0], table[0][0] + table[1][0], method="wilson")
    assert (held_back.low, held_back.high) == pytest.approx(expected, abs=1e-12)
    assert defined(found.lean).p_value == pytest.approx(mcnemar(table, exact=True).pvalue, rel=1e-9)
    assert defined(found.lean).p_value == pytest.approx(
        stats.binomtest(table[0][1], table[0][1] + table[1][0]).pvalue, rel=1e-9
    )


@settings(deadline=None, max_examples=60)
@given(st.tuples(Counts, Counts, Counts, Counts))
def test_any_table_is_defined_or_says_why(cells: tuple[int, int, int, int]) -> None:
    table = [[cells[0], cells[1]], [cells[2], cells[3]]]
    found = agreement(table)
    peer_failed, instructor_failed = cells[2] + cells[3], cells[1] + cells[3]
    n = sum(cells)
    for figure, is_defined in (
        (found.ac1, n > 0),
        (found.kappa, n > 0 and not (peer_failed == instructor_failed and peer_failed in (0, n))),
        (found.passed_a_fail, instructor_failed > 0),
        (found.failed_a_pass, n > instructor_failed),
        (found.on_fails, cells[1] + cells[2] + cells[3] > 0),
        (found.on_passes, cells[0] + cells[1] + cells[2] > 0),
        (found.lean, cells[1] + cells[2] > 0),
    ):
        assert isinstance(figure, Undefined) is not is_defined
        if isinstance(figure, Undefined):
            assert isinstance(figure.why, Why)
    if not isinstance(found.kappa, Undefined):
        peer, instructor = zip(*marks(table), strict=True)
        assert found.kappa.kappa == pytest.approx(cohen_kappa_score(peer, instructor), abs=1e-9)


@given(st.integers(0, 30), st.integers(0, 30))
def test_the_interval_of_one_verdict_holds_its_share(both: int, only_one: int) -> None:
    found = same_verdict(both=both, only_one=only_one)
    if both + only_one == 0:
        assert found == Undefined(why=Why.EMPTY)
        return
    interval = defined(found).interval
    assert 0 <= interval.low <= defined(found).share <= interval.high <= 1


@pytest.mark.parametrize("true", [0.1, 0.2, 0.5, 0.8, 0.95])
def test_the_interval_of_one_verdict_covers_as_often_as_wilsons(true: float) -> None:
    """Exact binomial chances from scipy, Wilson's interval from statsmodels: carrying it over loses no cover."""
    n, share = 40, 2 * true / (1 + true)
    chances = stats.binom.pmf(range(n + 1), n, true)
    cover = wilsons = 0.0
    for both, chance in enumerate(chances):
        interval = defined(same_verdict(both=both, only_one=n - both)).interval
        low, high = proportion_confint(both, n, method="wilson")
        cover += float(chance) * (interval.low <= share <= interval.high)
        wilsons += float(chance) * (low <= true <= high)
    assert cover == pytest.approx(wilsons, abs=1e-12)
    assert cover > 0.9


def test_curves_against_all_sequences() -> None:
    """Feller, vol. 1, ch. XIII.7, by counting every sequence of 10 attempts; and OEIS A050227 at one half."""
    run = 3
    (curve,) = (one for one in rule_curves(run) if one.within == 10)
    sequences = [[bool(bits >> i & 1) for i in range(10)] for bits in range(1024)]
    with_run = [s for s in sequences if any(all(s[i : i + run]) for i in range(8))]
    assert len(with_run) == 520  # OEIS A050231: coin sequences of length 10 with a run of 3 or more heads
    for success, chance in zip(GRID, curve.chances, strict=True):
        by_count = sum(success ** sum(s) * (1 - success) ** (10 - sum(s)) for s in with_run)
        assert chance == pytest.approx(by_count, abs=1e-12)


def test_a_limit_shorter_than_the_run_is_raised() -> None:
    assert [curve.within for curve in rule_curves(7)] == [7, 10, 20]
    assert rule_curves(7)[0].chances[-1] == 1.0


def angoff_skill(critical: set[int], steps: int) -> Skill:
    return Skill.model_validate(
        {
            "id": "invented",
            "title": "Invented",
            "strand": "any",
            "levels": ["any"],
            "minutes_per_attempt": 1,
            "summary": "Invented.",
            "cautions": [],
            "steps": [{"id": f"s{i}", "do": "Do it.", "critical": i in critical} for i in range(1, steps + 1)],
            "ladder": [],
            "clearance": {
                "rung": "any", "clean_in_a_row": 1, "valid_months": 1, "after_a_fail": "Practise.",
            },
            "reviewed": {"on": date(2026, 1, 1), "by": "Nobody"},
        }
    )  # fmt: skip


def test_angoff_cut_score() -> None:
    """The constructed example of the JSON, with one critical step added that must change nothing; error by scipy."""
    check = CHECKS["angoff_constructed"]
    judges, expected = check["inputs"]["judges_by_items"], check["expected"]
    skill = angoff_skill({9}, 9)
    raters = [f"R{number}" for number in range(len(judges))]
    estimates = {(f"s{i}", r): mark for r, row in zip(raters, judges, strict=True) for i, mark in enumerate(row, 1)}
    found = cut_of(skill, estimates | {("s9", "R0"): 0.01}, raters)
    score = defined(found.score)
    assert score.cut == pytest.approx(expected["cut"], abs=1e-9)
    assert list(score.judge_sums) == pytest.approx(expected["judge_sums"], abs=1e-9)
    assert defined(score.error) == pytest.approx(stats.sem(expected["judge_sums"]), abs=1e-12)
    assert found.whole_steps == 7
    assert [step.id for step in found.must_pass] == ["s9"]
    assert found.rated_critical == ("s9",)
    low, high = stats.t.interval(0.95, len(judges) - 1, score.cut, stats.sem(expected["judge_sums"]))
    interval = defined(found.interval)
    assert isinstance(interval, Interval)
    assert (interval.low, interval.high) == pytest.approx((low, min(8.0, high)), abs=1e-9)


def test_angoff_without_an_answer() -> None:
    skill = angoff_skill({1}, 2)
    one = cut_of(skill, {("s2", "A"): 0.5}, ["A"])
    assert defined(one.score).error == Undefined(why=Why.ONE_JUDGE)
    assert one.interval == Undefined(why=Why.ONE_JUDGE)
    gap = cut_of(skill, {("s1", "A"): 0.5}, ["A"])
    assert gap.score == Undefined(why=Why.EMPTY)
    assert gap.whole_steps is None
    assert [(out.rater, out.steps) for out in gap.left_out] == [("A", ("s2",))]
    every_critical = cut_of(angoff_skill({1, 2}, 2), {}, ["A"])
    assert every_critical.score == Undefined(why=Why.EMPTY)
    assert len(every_critical.must_pass) == 2
