"""Paces: an interval in seconds, a rate per minute, and how long a count takes. Plain arithmetic.

The figures that use it (1 breath every 6 s is 10 per minute; 100 to 120 compressions per minute) live in
`quantities.yaml` with their sources.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from generator.analysis.reference.basis import require


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondsRange:
    """From the shortest to the longest time, in seconds, not rounded."""

    shortest: float
    longest: float


def per_minute(*, interval_seconds: float) -> float:
    """Return how often per minute something happens that comes once every `interval_seconds`.

    Units: seconds in, per minute out. Range: above 0 and finite.
    Errors: ValueError out of range.
    Source: arithmetic; checked against aha2025-als (S2) and aha2020-peds (S1).
    """
    require("interval", interval_seconds, low=0, high=math.inf, unit="seconds", above_low=True)
    return 60.0 / interval_seconds


def interval_seconds(*, per_minute: float) -> float:
    """Return the seconds from one beat to the next at a rate per minute.

    Units: per minute in, seconds out. Range: above 0 and finite.
    Errors: ValueError out of range.
    Source: arithmetic; checked against aha2025-als (S2) and aha2020-peds (S1).
    """
    require("rate", per_minute, low=0, high=math.inf, unit="per minute", above_low=True)
    return 60.0 / per_minute


def seconds_for(*, count: int, slowest_per_minute: float, fastest_per_minute: float) -> SecondsRange:
    """Return how long `count` beats take at a range of rates, as 30 compressions at 100 to 120 per minute.

    Units: per minute in, seconds out. Range: count from 0; rates above 0, the slowest not above the fastest.
    Errors: ValueError out of range.
    Source: arithmetic; checked against aha2025-bls (S2).
    """
    if count < 0:
        raise ValueError(f"count must be 0 or more, not {count}")
    if slowest_per_minute > fastest_per_minute:
        raise ValueError("the slowest rate must not be above the fastest")
    return SecondsRange(
        shortest=count * interval_seconds(per_minute=fastest_per_minute),
        longest=count * interval_seconds(per_minute=slowest_per_minute),
    )
