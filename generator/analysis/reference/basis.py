"""What a reference result stands on, and the one way to refuse a number that makes no sense."""

from __future__ import annotations

import math
from dataclasses import dataclass

from generator.model.evidence import Checked


@dataclass(frozen=True, slots=True, kw_only=True)
class Basis:
    """Where a formula or a number comes from."""

    sources: tuple[str, ...]
    """Ids of `sources.yaml`."""
    checked: Checked
    caveat: str = ""
    """What a reader must know before using the number."""


def require(name: str, value: float, *, low: float, high: float, unit: str, above_low: bool = False) -> float:
    """Return `value`, or raise ValueError in plain words when it is outside `low` to `high`.

    With `above_low` the lowest number itself is refused too.
    """
    if math.isnan(value) or value < low or value > high or (above_low and value == low):
        lower = f"more than {low:g}" if above_low else f"{low:g} or more"
        limit = lower if math.isinf(high) else f"{lower} and at most {high:g}"
        raise ValueError(f"{name} must be {limit} {unit}, not {value:g}")
    if math.isinf(value):
        raise ValueError(f"{name} must be a finite number of {unit}")
    return value
