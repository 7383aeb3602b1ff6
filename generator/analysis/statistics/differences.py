"""How far two shares of two separate groups lie apart."""

from __future__ import annotations

import math
from dataclasses import dataclass

from generator.analysis.statistics.proportions import wilson
from generator.analysis.statistics.result import Interval, Undefined, Why


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """First share minus second share."""

    difference: float
    interval: Interval


def difference_of_shares(
    first: tuple[int, int], second: tuple[int, int], *, confidence: float = 0.95
) -> Difference | Undefined:
    """Return the difference of two independent shares, each given as (events, trials), with its interval.

    Undefined when either group is empty. Errors: ValueError for what is not a count.
    Source: Newcombe 1998, Statistics in Medicine 17:873-890, method 10 (square-and-add of two Wilson intervals).
    """
    limits = [wilson(*counts, confidence=confidence) for counts in (first, second)]
    one, two = limits
    if isinstance(one, Undefined) or isinstance(two, Undefined):
        return Undefined(why=Why.EMPTY)
    p, q = first[0] / first[1], second[0] / second[1]
    return Difference(
        difference=p - q,
        interval=Interval(
            low=p - q - math.hypot(p - one.low, two.high - q),
            high=p - q + math.hypot(one.high - p, q - two.low),
            confidence=confidence,
        ),
    )
