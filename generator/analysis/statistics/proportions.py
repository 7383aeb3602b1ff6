"""Shares: intervals for x out of n, what no failures prove, and paired yes or no."""

from __future__ import annotations

import math
from dataclasses import dataclass

from generator.analysis.statistics.beta import beta_cdf, beta_quantile, binomial_at_most
from generator.analysis.statistics.result import (
    Interval,
    Undefined,
    Why,
    require_counts,
    require_inside,
    require_probability,
    two_sided_z,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class NoEvents:
    """Upper limit of a chance after n attempts without the event, one-sided."""

    exact: float
    rule_of_three: float
    """3/n: the quick rule for 95%, too high when n is small."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Posterior:
    """What is believed about a success chance after counting, from a beta prior."""

    mean: float
    chance_above: float
    """Chance that the true success chance is above the threshold."""
    a: float
    b: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PairedTest:
    """Exact McNemar test of two sides that marked the same attempts."""

    p_value: float
    only_first: int
    only_second: int


def wilson(events: int, trials: int, *, confidence: float = 0.95) -> Interval | Undefined:
    """Return Wilson's score interval for a share. Undefined with no trials.

    Source: Wilson 1927; checked against Newcombe 1998 (doi:10.1002/(SICI)1097-0258(19980430)17:8<857::AID-SIM777>3.0.CO;2-E).
    """  # noqa: E501 - an address cannot be broken
    require_counts(events, trials)
    z = two_sided_z(confidence)
    if trials == 0:
        return Undefined(why=Why.EMPTY)
    share = events / trials
    shrink = 1 + z * z / trials
    centre = (share + z * z / (2 * trials)) / shrink
    half = z / shrink * math.sqrt(share * (1 - share) / trials + z * z / (4 * trials * trials))
    return Interval(
        low=0.0 if events == 0 else centre - half,
        high=1.0 if events == trials else centre + half,
        confidence=confidence,
    )


def clopper_pearson(events: int, trials: int, *, confidence: float = 0.95) -> Interval | Undefined:
    """Return the exact interval for a share: at least the stated confidence, so wider than Wilson's.

    Undefined with no trials. Source: Clopper and Pearson 1934; checked against Newcombe 1998.
    """
    require_counts(events, trials)
    require_inside("confidence", confidence)
    if trials == 0:
        return Undefined(why=Why.EMPTY)
    tail = (1 - confidence) / 2
    return Interval(
        low=0.0 if events == 0 else beta_quantile(tail, events, trials - events + 1),
        high=1.0 if events == trials else 1.0 - beta_quantile(tail, trials - events, events + 1),
        confidence=confidence,
    )


def no_events(trials: int, *, confidence: float = 0.95) -> NoEvents | Undefined:
    """Return the one-sided upper limit after no event in n attempts: 1 - (1 - confidence)^(1/n), beside 3/n.

    Undefined with no trials. Source: Hanley and Lippman-Hand 1983.
    """
    require_counts(0, trials)
    require_inside("confidence", confidence)
    if trials == 0:
        return Undefined(why=Why.EMPTY)
    return NoEvents(exact=-math.expm1(math.log1p(-confidence) / trials), rule_of_three=3 / trials)


def posterior(events: int, trials: int, *, threshold: float, prior_a: float = 1.0, prior_b: float = 1.0) -> Posterior:
    """Return mean and chance above a threshold after x of n, from a beta prior (uniform unless said).

    With no trials it is the prior itself. Source: conjugate beta result.
    """
    require_counts(events, trials)
    require_probability("threshold", threshold)
    a, b = events + prior_a, trials - events + prior_b
    return Posterior(mean=a / (a + b), chance_above=beta_cdf(1 - threshold, b, a), a=a, b=b)


def exact_mcnemar(only_first: int, only_second: int) -> PairedTest | Undefined:
    """Return the exact two-sided test on pairs where one side said yes and the other no.

    Undefined when the two sides never disagreed. Source: McNemar 1947; two-sided binomial with chance 1/2.
    """
    require_counts(0, only_first)
    require_counts(0, only_second)
    pairs = only_first + only_second
    if pairs == 0:
        return Undefined(why=Why.NO_DISAGREEMENT)
    p_value = min(1.0, 2 * binomial_at_most(min(only_first, only_second), pairs, 0.5))
    return PairedTest(p_value=p_value, only_first=only_first, only_second=only_second)
