"""What statistics give back: an interval, or the reason why there is no answer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from statistics import NormalDist


class Why(StrEnum):
    """Why a statistic has no value. The text is ready to be shown."""

    EMPTY = "nothing was counted"
    NO_VARIANCE = "all ratings are in one category, so chance alone would give full agreement"
    NO_SPREAD_BY_CHANCE = "one side used a single category, so the test against chance has no spread"
    ONE_RATER = "one rater cannot agree or disagree"
    ONE_JUDGE = "one judge has no spread"
    ONE_OF_A_SIDE = "a side with a single value has no spread"
    NO_SPREAD = "every value of a side is the same, so nothing says how far chance would move it"
    NO_DISAGREEMENT = "the two sides never disagreed"
    NEVER = "it never happens"
    NOT_RELIABLE = "the single rater has no reliability to build on"


@dataclass(frozen=True, slots=True, kw_only=True)
class Undefined:
    """A statistic that has no value here, and why."""

    why: Why

    def __str__(self) -> str:
        return f"undefined: {self.why}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """A confidence interval."""

    low: float
    high: float
    confidence: float


def normal_interval(centre: float, error: float, confidence: float) -> Interval:
    """Return centre ± z x standard error, not cut at any limit."""
    half = two_sided_z(confidence) * error
    return Interval(low=centre - half, high=centre + half, confidence=confidence)


def two_sided_z(confidence: float) -> float:
    """Return z for a two-sided confidence; 1.959964 for 0.95. ValueError outside 0 to 1."""
    require_inside("confidence", confidence)
    return NormalDist().inv_cdf(0.5 + confidence / 2)


def require_inside(name: str, value: float) -> None:
    """Raise ValueError unless 0 < value < 1."""
    if not 0 < value < 1:
        raise ValueError(f"{name} must be between 0 and 1, not {value!r}")


def require_probability(name: str, value: float) -> None:
    """Raise ValueError unless 0 <= value <= 1."""
    if not 0 <= value <= 1:
        raise ValueError(f"{name} must be from 0 to 1, not {value!r}")


def require_counts(events: int, trials: int) -> None:
    """Raise ValueError unless 0 <= events <= trials."""
    if not 0 <= events <= trials:
        raise ValueError(f"{events} out of {trials} is not a count")


def square(table: Sequence[Sequence[float]]) -> tuple[tuple[float, ...], ...]:
    """Return a table of counts as tuples. ValueError unless it is square, 2 x 2 or more, finite and not negative."""
    rows = tuple(tuple(float(cell) for cell in row) for row in table)
    if len(rows) < 2 or any(len(row) != len(rows) for row in rows):
        raise ValueError("the table must have as many columns as rows, two or more")
    if any(not 0 <= cell < float("inf") for row in rows for cell in row):
        raise ValueError("counts must be 0 or more")
    return rows
