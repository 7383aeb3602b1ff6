"""Sizes of things that go into the airway: tubes by a child's age, adjuncts of a typical adult."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from generator.analysis.phrases import fixed
from generator.analysis.reference.basis import Basis, require

YOUNGEST_YEARS = 2.0
OLDEST_YEARS = 10.0
STEP_MM = 0.5
"""Tubes come in steps of 0.5 mm: common practice, no source."""

_UNCUFFED = Basis(
    sources=("cole1957", "park2022-ett"),
    checked="primary",
    caveat=fixed("not for infants; a length-based tape is preferred"),
)
_CUFFED = Basis(
    sources=("preformed-ett",),
    checked="primary",
    caveat=fixed("matched the tube that was used in 64.7%; a length-based tape is preferred"),
)
_CUFFED_RIVAL = Basis(sources=("duracher2008",), checked="memory", caveat=fixed("rival cuffed formula, age/4 + 3"))
_DEPTH_BY_AGE = Basis(sources=("preformed-ett",), checked="primary", caveat=fixed("confirm with a waveform"))
_DEPTH_BY_TUBE = Basis(sources=("preformed-ett",), checked="memory", caveat=fixed("confirm with a waveform"))


@dataclass(frozen=True, slots=True, kw_only=True)
class TubeSize:
    """Inner diameter of a tracheal tube by age, in mm."""

    inner_mm: float
    """The formula's result, not rounded."""
    have_ready_mm: tuple[float, ...]
    """The sizes in steps of 0.5 mm that lie within 0.5 mm of the result, small to large."""
    basis: Basis
    rival_mm: float | None = None
    """For a cuffed tube, what the rival formula gives: from memory, show as provisional."""
    rival_basis: Basis | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TubeDepth:
    """Depth of an oral tube at the teeth, in cm, by two rules."""

    by_age_cm: float
    by_age_basis: Basis
    by_tube_cm: float
    by_tube_basis: Basis


@dataclass(frozen=True, slots=True, kw_only=True)
class AdjunctSize:
    """The size that suits an adult of average height: a first choice to measure against, not an order."""

    device: Literal["oropharyngeal airway", "nasopharyngeal airway"]
    who: Literal["man", "woman"]
    number: float
    unit: Literal["cm long", "mm inner diameter"]
    basis: Basis


_OPA = Basis(
    sources=("kim2014-opa", "kim2017-opa"),
    checked="primary",
    caveat=fixed("average height; 7 and 8 were obstructed in men, 10 and 11 touched or passed the epiglottis"),
)
_NPA = Basis(sources=("roberts2005",), checked="primary", caveat=fixed("average height; length follows height"))

ADULT_ADJUNCTS: tuple[AdjunctSize, ...] = (
    AdjunctSize(device="oropharyngeal airway", who="man", number=9, unit="cm long", basis=_OPA),
    AdjunctSize(device="oropharyngeal airway", who="woman", number=8, unit="cm long", basis=_OPA),
    AdjunctSize(device="nasopharyngeal airway", who="man", number=7, unit="mm inner diameter", basis=_NPA),
    AdjunctSize(device="nasopharyngeal airway", who="woman", number=6, unit="mm inner diameter", basis=_NPA),
)
"""Source: kim2014-opa, kim2017-opa, roberts2005 (S1)."""


def tube_size(*, age_years: float, cuffed: bool) -> TubeSize:
    """Return the inner diameter of a child's tracheal tube: age/4 + 4 uncuffed, age/4 + 3.5 cuffed.

    Units: years in, mm out.
    Range: 2 to 10 years; not for infants.
    Errors: ValueError for an age out of range.
    Source: cole1957 and park2022-ett uncuffed (S1), preformed-ett cuffed (S1); the rival cuffed formula,
    age/4 + 3, is duracher2008 (M).
    """
    _require_age(age_years)
    inner = age_years / 4 + (3.5 if cuffed else 4.0)
    return TubeSize(
        inner_mm=inner,
        have_ready_mm=_steps_near(inner),
        basis=_CUFFED if cuffed else _UNCUFFED,
        rival_mm=age_years / 4 + 3.0 if cuffed else None,
        rival_basis=_CUFFED_RIVAL if cuffed else None,
    )


def tube_depth(*, age_years: float, inner_mm: float) -> TubeDepth:
    """Return the depth at the teeth of a child's oral tube: age/2 + 12 cm, and 3 x inner diameter.

    Units: years and mm in, cm out.
    Range: 2 to 10 years; inner diameter 2 to 10 mm (ours, to catch slips of typing).
    Errors: ValueError out of range.
    Source: preformed-ett (S1 by age; M for 3 x inner diameter).
    """
    _require_age(age_years)
    require("inner diameter", inner_mm, low=2, high=10, unit="mm")
    return TubeDepth(
        by_age_cm=age_years / 2 + 12,
        by_age_basis=_DEPTH_BY_AGE,
        by_tube_cm=3 * inner_mm,
        by_tube_basis=_DEPTH_BY_TUBE,
    )


def _require_age(age_years: float) -> None:
    require("age for these formulas", age_years, low=YOUNGEST_YEARS, high=OLDEST_YEARS, unit="years")


def _steps_near(inner: float) -> tuple[float, ...]:
    first = math.ceil((inner - STEP_MM) / STEP_MM)
    last = math.floor((inner + STEP_MM) / STEP_MM)
    return tuple(step * STEP_MM for step in range(first, last + 1))
