"""Weights that are worked out, not weighed: predicted body weight, tidal volume, a child's weight by age.

Predicted body weight is fixed here in ONE form: centimetres, with 0.91 kg per cm above 152.4 cm. The form in
inches (2.3 kg per inch above 60) differs by up to about 0.1 kg at common heights and is not offered.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from generator.analysis.phrases import fixed
from generator.analysis.reference.basis import Basis, require

Sex = Literal["female", "male"]

SHORTEST_CM = 152.4
TALLEST_CM = 250.0
"""Ours, no source: a larger number is a slip of typing."""
KG_PER_CM = 0.91
BASE_KG: dict[Sex, float] = {"female": 45.5, "male": 50.0}

_PREDICTED = Basis(
    sources=("ardsnet2000", "devine1974"),
    checked="secondary",
    caveat=fixed("adults of 152.4 cm or taller only; it predicts lung size, not weight on a scale"),
)
_TIDAL = Basis(
    sources=("ardsnet2000", "linares2015"),
    checked="secondary",
    caveat=fixed("evidence from intensive care; during CPR squeeze only until the chest visibly rises"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class PredictedWeight:
    """Predicted body weight in kg, not rounded."""

    kg: float
    basis: Basis


@dataclass(frozen=True, slots=True, kw_only=True)
class TidalVolume:
    """Tidal volume by predicted body weight, in mL, not rounded."""

    low_ml: float
    """4 mL/kg."""
    usual_ml: float
    """6 mL/kg."""
    high_ml: float
    """8 mL/kg."""
    basis: Basis


@dataclass(frozen=True, slots=True, kw_only=True)
class WeightByAge:
    """One age rule for a child's weight."""

    rule: str
    """The formula as it is read aloud."""
    since: str
    """When it came into use, so that two rules can be shown with their years."""
    kg: float | None
    """None outside the ages that the rule is for."""
    from_years: int
    to_years: int
    basis: Basis


@dataclass(frozen=True, slots=True, kw_only=True)
class ChildWeight:
    """Both age rules side by side. A length-based tape, or the parent's figure, comes before either."""

    older: WeightByAge
    newer: WeightByAge


def predicted_body_weight(*, sex: Sex, height_cm: float) -> PredictedWeight:
    """Return predicted body weight: 50 (male) or 45.5 (female) + 0.91 x (height - 152.4).

    Units: height in cm, result in kg.
    Range: adults, 152.4 to 250 cm. A shorter height is refused, not extrapolated (see martin2017-pbw).
    Errors: ValueError for another sex or a height out of range.
    Source: ardsnet2000, devine1974 (S2).
    """
    if sex not in BASE_KG:
        raise ValueError(f"this formula is published for female and male only, not {sex!r}")
    require("height", height_cm, low=SHORTEST_CM, high=TALLEST_CM, unit="cm")
    return PredictedWeight(kg=BASE_KG[sex] + KG_PER_CM * (height_cm - SHORTEST_CM), basis=_PREDICTED)


def tidal_volume(*, predicted_kg: float) -> TidalVolume:
    """Return the tidal volume range for a ventilated adult: 4, 6 and 8 mL/kg of predicted body weight.

    Units: kg in, mL out.
    Range: predicted weight above 0 and finite.
    Errors: ValueError out of range.
    Source: ardsnet2000, linares2015 (S2).
    """
    require("predicted body weight", predicted_kg, low=0, high=math.inf, unit="kg", above_low=True)
    return TidalVolume(low_ml=4 * predicted_kg, usual_ml=6 * predicted_kg, high_ml=8 * predicted_kg, basis=_TIDAL)


def child_weight(*, age_years: float) -> ChildWeight:
    """Return a child's weight by the older rule, 2 x (age + 4), and by the newer one, 3 x age + 7.

    Units: years in, kg out.
    Range: 1 to 16 years (16 is the oldest age in the study that compared them). The older rule has no result
    above 10 years. The newer one is meant for 1 year to puberty, whenever that comes.
    Errors: ValueError for an age out of range.
    Source: luscombe2007, luscombe2011 (S1).
    """
    require("age", age_years, low=1, high=16, unit="years")
    return ChildWeight(
        older=WeightByAge(
            rule=fixed("2 x (age + 4)"),
            since=fixed("in use before 2007"),
            kg=2 * (age_years + 4) if age_years <= 10 else None,
            from_years=1,
            to_years=10,
            basis=Basis(
                sources=("luscombe2007", "luscombe2011"),
                checked="primary",
                caveat=fixed("underestimated by 18.8% at 1 to 10 years and by 33.4% at 1 to 16 years"),
            ),
        ),
        newer=WeightByAge(
            rule=fixed("3 x age + 7"),
            since=fixed("proposed in 2007"),
            kg=3 * age_years + 7,
            from_years=1,
            to_years=16,
            basis=Basis(
                sources=("luscombe2007", "luscombe2011"),
                checked="primary",
                caveat=fixed("1 year to puberty; 45% within 10% in one validation; too high in some populations"),
            ),
        ),
    )
