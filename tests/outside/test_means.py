"""Welch's interval and Student's t against printed tables and scipy.

Sources: Abramowitz and Stegun, Handbook of Mathematical Functions, Table 26.10 (percentage points of t; values from
memory, scipy agrees); Welch 1947 and Satterthwaite 1946 as scipy's `ttest_ind(equal_var=False)` implements them.
"""

from __future__ import annotations

import math
import random

import pytest

from generator.analysis.statistics.means import MeanDifference, mean_difference, student_t
from generator.analysis.statistics.result import Undefined, Why

TABLE_26_10 = {1: 12.706, 2: 4.303, 5: 2.571, 10: 2.228, 20: 2.086, 30: 2.042, 60: 2.000, 120: 1.980}
"""Degrees of freedom to t at 0.975, one side."""


@pytest.mark.parametrize("degrees", TABLE_26_10)
def test_printed_table_of_t(degrees: int) -> None:
    assert student_t(degrees, confidence=0.95) == pytest.approx(TABLE_26_10[degrees], abs=5e-4)


def test_scipy_agrees_on_t() -> None:
    stats = pytest.importorskip("scipy.stats")
    for degrees in (0.7, 1, 1.5, 3, 7.25, 40, 1_000):
        for confidence in (0.5, 0.8, 0.9, 0.95, 0.99):
            expected = stats.t.ppf(0.5 + confidence / 2, degrees)
            assert student_t(degrees, confidence=confidence) == pytest.approx(expected, rel=1e-9)


def test_scipy_agrees_on_welch() -> None:
    stats = pytest.importorskip("scipy.stats")
    dice = random.Random(4)
    for _ in range(60):
        first = [dice.random() for _ in range(dice.randrange(2, 12))]
        second = [dice.random() ** 3 for _ in range(dice.randrange(2, 30))]
        found = mean_difference(first, second)
        assert isinstance(found, MeanDifference)
        expected = stats.ttest_ind(first, second, equal_var=False).confidence_interval(0.95)
        assert (found.interval.low, found.interval.high) == pytest.approx((expected.low, expected.high), abs=1e-9)
        assert found.difference == pytest.approx((found.interval.low + found.interval.high) / 2)


@pytest.mark.parametrize(
    ("first", "second", "why"),
    [
        ([], [1.0], Why.EMPTY),
        ([1.0, 2.0], [], Why.EMPTY),
        ([1.0], [1.0, 2.0], Why.ONE_OF_A_SIDE),
        ([1.0, 1.0], [0.5, 0.5], Why.NO_SPREAD),
    ],
)
def test_undefined_cases_are_named(first: list[float], second: list[float], why: Why) -> None:
    found = mean_difference(first, second)
    assert isinstance(found, Undefined)
    assert found.why is why


@pytest.mark.parametrize("degrees", [0, -1, math.inf, math.nan])
def test_senseless_degrees_are_refused(degrees: float) -> None:
    with pytest.raises(ValueError, match="degrees"):
        student_t(degrees, confidence=0.95)
