"""Setting a cut score with judges. Must-pass steps stay outside it: nothing offsets a missed critical step."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, stdev

from generator.analysis.statistics.result import Undefined, Why, require_probability


@dataclass(frozen=True, slots=True, kw_only=True)
class CutScore:
    """An Angoff cut score, in steps out of `steps`."""

    cut: float
    percent: float
    judge_sums: tuple[float, ...]
    steps: int
    spread: float | Undefined
    """Standard deviation of the judges' sums."""
    error: float | Undefined
    """Standard error of the cut: how far another panel of this size might land."""


def angoff(judges: Sequence[Sequence[float]]) -> CutScore | Undefined:
    """Return the cut score; a row is a judge, a cell the chance that a borderline learner does the step.

    Undefined with no judges or no steps. Errors: ValueError when rows differ in length or a cell is no chance.
    Source: Angoff 1971 (method in general use; the sum over steps, averaged over judges).
    """
    if not judges or not judges[0]:
        return Undefined(why=Why.EMPTY)
    steps = len(judges[0])
    if any(len(row) != steps for row in judges):
        raise ValueError("each judge must mark every step")
    for row in judges:
        for cell in row:
            require_probability("each mark", cell)
    sums = tuple(math.fsum(row) for row in judges)
    cut = fmean(sums)
    spread = stdev(sums) if len(sums) > 1 else Undefined(why=Why.ONE_JUDGE)
    return CutScore(
        cut=cut,
        percent=100 * cut / steps,
        judge_sums=sums,
        steps=steps,
        spread=spread,
        error=spread if isinstance(spread, Undefined) else spread / math.sqrt(len(sums)),
    )
