"""Agreement on passes apart from agreement on fails, for two raters with two verdicts.

One figure for both hides what matters: when nearly all attempts pass, two raters agree nearly always, and may still
never agree on a fail.
"""

from __future__ import annotations

from dataclasses import dataclass

from generator.analysis.statistics.proportions import wilson
from generator.analysis.statistics.result import Interval, Undefined, Why, require_counts


@dataclass(frozen=True, slots=True, kw_only=True)
class SameVerdict:
    """Of the times that either rater gave a verdict, how often the other gave it too."""

    share: float
    """2 both / (2 both + the times only one rater gave it)."""
    interval: Interval
    both: int
    only_one: int


def same_verdict(*, both: int, only_one: int, confidence: float = 0.95) -> SameVerdict | Undefined:
    """Return the agreement on one verdict: 2 both / (2 both + only_one). Undefined when nobody gave that verdict.

    Its interval is Wilson's for the share j = both / (both + only_one), carried over by 2 j / (1 + j): the one rises
    with the other, so the limits keep their confidence.
    Errors: ValueError for a count below 0. Source: Cicchetti and Feinstein 1990, doi:10.1016/0895-4356(90)90159-M
    (positive and negative agreement); the interval is our derivation from Wilson 1927.
    """
    require_counts(0, both)
    require_counts(0, only_one)
    found = wilson(both, both + only_one, confidence=confidence)
    if isinstance(found, Undefined):
        return Undefined(why=Why.EMPTY)
    return SameVerdict(
        share=2 * both / (2 * both + only_one),
        interval=Interval(low=_carried(found.low), high=_carried(found.high), confidence=confidence),
        both=both,
        only_one=only_one,
    )


def _carried(share: float) -> float:
    return 2 * share / (1 + share)
