"""The coma scale of three components: eye 1-4, verbal 1-5, motor 1-6, total 3-15."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from generator.analysis.reference.basis import Basis

Band = Literal["mild", "moderate", "severe"]

LIMITS = {"eye": 4, "verbal": 5, "motor": 6}
"""The best score of each component; the worst is 1."""

_TOTAL = Basis(
    sources=("teasdale1974", "teasdale2014"),
    checked="secondary",
    caveat="describe a person by the three components; totals are for groups. The 1974 motor scale had "
    "5 points (from memory); the 6-point version is in use",
)
_BANDS = Basis(
    sources=("teasdale2014",),
    checked="memory",
    caveat="bands for head injury, from memory: show as provisional",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Responsiveness:
    """A scored person: the three components first, then the total and its band."""

    eye: int
    verbal: int
    motor: int
    total: int
    basis: Basis
    band: Band
    band_basis: Basis


def responsiveness(*, eye: int, verbal: int, motor: int) -> Responsiveness:
    """Return the total and band of the three components.

    Units: points. Range: eye 1-4, verbal 1-5, motor 1-6, so the total is 3-15.
    Bands: mild 13-15, moderate 9-12, severe 3-8.
    Errors: ValueError for a component out of range or not a whole number. Where a component
    could not be tested there is no total: do not call this.
    Source: teasdale1974 (S1 or S2 for the ranges); bands in general use, teasdale2014 (M).
    """
    for name, score in (("eye", eye), ("verbal", verbal), ("motor", motor)):
        if isinstance(score, bool) or not isinstance(score, int) or not 1 <= score <= LIMITS[name]:
            raise ValueError(f"the {name} score must be a whole number, 1 to {LIMITS[name]}, not {score!r}")
    total = eye + verbal + motor
    return Responsiveness(
        eye=eye, verbal=verbal, motor=motor, total=total, basis=_TOTAL, band=_band(total), band_basis=_BANDS
    )


def _band(total: int) -> Band:
    if total >= 13:
        return "mild"
    return "moderate" if total >= 9 else "severe"
