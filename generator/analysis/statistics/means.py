"""Two means beside each other, when each is a mean of few and their spreads may differ."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from generator.analysis.statistics.beta import beta_quantile
from generator.analysis.statistics.result import Interval, Undefined, Why, require_inside


@dataclass(frozen=True, slots=True, kw_only=True)
class MeanDifference:
    """First mean minus second, with Welch's interval, which does not take the spreads to be equal."""

    difference: float
    interval: Interval
    degrees: float
    """Degrees of freedom after Welch and Satterthwaite."""


def student_t(degrees: float, *, confidence: float) -> float:
    """Return t for a two-sided confidence; 2.228 for 10 degrees and 0.95.

    By the incomplete beta function: P(|T| > t) = I(d / (d + t^2); d / 2, 1 / 2).
    Errors: ValueError unless degrees are above 0 and finite, and confidence between 0 and 1.
    Source: Abramowitz and Stegun 26.7.1; checked against its Table 26.10 and scipy.
    """
    require_inside("confidence", confidence)
    if not 0 < degrees < math.inf:
        raise ValueError(f"degrees of freedom must be above 0, not {degrees!r}")
    x = beta_quantile(1 - confidence, degrees / 2, 0.5)
    return math.sqrt(degrees * (1 - x) / x)


def mean_difference(
    first: Sequence[float], second: Sequence[float], *, confidence: float = 0.95
) -> MeanDifference | Undefined:
    """Return the difference of two means with Welch's interval, not cut at any limit.

    Undefined with fewer than two values on a side, or when no side has any spread.
    Source: Welch 1947 (The generalization of Student's problem); degrees of freedom after Satterthwaite 1946.
    """
    require_inside("confidence", confidence)
    if not first or not second:
        return Undefined(why=Why.EMPTY)
    if len(first) < 2 or len(second) < 2:
        return Undefined(why=Why.ONE_OF_A_SIDE)
    parts = [_variance(values) / len(values) for values in (first, second)]
    if parts[0] + parts[1] == 0:
        return Undefined(why=Why.NO_SPREAD)
    degrees = (parts[0] + parts[1]) ** 2 / (parts[0] ** 2 / (len(first) - 1) + parts[1] ** 2 / (len(second) - 1))
    difference = math.fsum(first) / len(first) - math.fsum(second) / len(second)
    half = student_t(degrees, confidence=confidence) * math.sqrt(parts[0] + parts[1])
    return MeanDifference(
        difference=difference,
        interval=Interval(low=difference - half, high=difference + half, confidence=confidence),
        degrees=degrees,
    )


def _variance(values: Sequence[float]) -> float:
    mean = math.fsum(values) / len(values)
    return math.fsum((value - mean) ** 2 for value in values) / (len(values) - 1)
