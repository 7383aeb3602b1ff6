"""More than two raters: Fleiss' kappa, and how many peers are worth one instructor."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from generator.analysis.statistics.result import Undefined, Why, require_inside


@dataclass(frozen=True, slots=True, kw_only=True)
class FleissKappa:
    """Agreement of several raters beyond chance."""

    observed: float
    """Mean share of agreeing pairs of raters."""
    expected: float
    kappa: float


def fleiss_kappa(counts: Sequence[Sequence[int]]) -> FleissKappa | Undefined:
    """Return Fleiss' kappa; a row is an attempt, a column a category, a cell how many raters chose it.

    Undefined with no attempts, with one rater, or when all ratings are in one category.
    Errors: ValueError when rows differ in length or in their number of raters.
    Source: Fleiss 1971, doi:10.1037/h0031619.
    """
    if not counts:
        return Undefined(why=Why.EMPTY)
    raters = sum(counts[0])
    if any(len(row) != len(counts[0]) or sum(row) != raters or min(row, default=0) < 0 for row in counts):
        raise ValueError("each attempt needs the same categories and the same number of raters")
    if raters == 0:
        return Undefined(why=Why.EMPTY)
    if raters == 1:
        return Undefined(why=Why.ONE_RATER)
    pairs = raters * (raters - 1)
    observed = math.fsum(sum(cell * (cell - 1) for cell in row) / pairs for row in counts) / len(counts)
    shares = [sum(column) / (len(counts) * raters) for column in zip(*counts, strict=True)]
    expected = math.fsum(share * share for share in shares)
    if 1 - expected < 1e-12:
        return Undefined(why=Why.NO_VARIANCE)
    return FleissKappa(observed=observed, expected=expected, kappa=(observed - expected) / (1 - expected))


def spearman_brown(reliability: float, raters: float) -> float | Undefined:
    """Return the reliability of the mean of `raters` ratings: k r / (1 + (k - 1) r).

    Undefined where that has no value (a reliability so negative that the mean would have none).
    Errors: ValueError unless raters is above 0 and reliability is at most 1.
    Source: Spearman 1910, Brown 1910.
    """
    if not raters > 0 or not reliability <= 1:
        raise ValueError(f"{raters!r} raters of reliability {reliability!r} make no sense")
    below = 1 + (raters - 1) * reliability
    if below <= 0:
        return Undefined(why=Why.NOT_RELIABLE)
    return raters * reliability / below


def peers_needed(*, one_peer: float, wanted: float) -> float | Undefined:
    """Return how many peers' mean reaches a wanted reliability: R (1 - r) / (r (1 - R)). Round it up.

    Undefined when one peer's reliability is 0 or less: no number of them is enough.
    Errors: ValueError unless wanted is between 0 and 1 and one_peer is below 1.
    Source: Spearman-Brown solved for k; compare Magin and Helmore 2001, doi:10.1080/03075070120076264.
    """
    require_inside("wanted", wanted)
    if not one_peer < 1:
        raise ValueError(f"the reliability of one peer must be below 1, not {one_peer!r}")
    if one_peer <= 0:
        return Undefined(why=Why.NOT_RELIABLE)
    return wanted * (1 - one_peer) / (one_peer * (1 - wanted))
