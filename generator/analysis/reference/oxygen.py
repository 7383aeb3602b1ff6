"""How long an oxygen cylinder lasts: US letter cylinders, gauge in psi.

The rule: minutes = (gauge psi - residual psi) x factor (L/psi) / flow (L/min).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from generator.analysis.phrases import fixed
from generator.analysis.reference.basis import Basis, require

RESIDUAL_PSI = 200.0
"""Pressure that is left in the cylinder, by convention. Source: virginia-oems2010 (S1)."""

_SHEET = Basis(sources=("virginia-oems2010",), checked="primary", caveat=fixed("US letter sizes only"))
_SECOND_PAGE = Basis(sources=(), checked="secondary", caveat=fixed("seen on one page that is not among the sources"))


@dataclass(frozen=True, slots=True, kw_only=True)
class CylinderFactor:
    """Litres of oxygen that one psi on the gauge stands for, in one size of cylinder."""

    size: str
    litres_per_psi: float
    basis: Basis


FACTORS: Mapping[str, CylinderFactor] = MappingProxyType(
    {
        size: CylinderFactor(size=size, litres_per_psi=factor, basis=basis)
        for size, factor, basis in (
            ("D", 0.16, _SHEET),
            ("E", 0.28, _SHEET),
            ("M", 1.56, _SHEET),
            ("G", 2.41, _SECOND_PAGE),
            ("H", 3.14, _SHEET),
            ("K", 3.14, _SHEET),
        )
    }
)
"""Factors by letter. Source: virginia-oems2010 (S1 for D, E, M, H, K); G was seen on a second page (S2)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CylinderTime:
    """How long a cylinder lasts at a flow, not rounded."""

    minutes: float
    """0 when the gauge is at or under the residual."""
    warning: str | None
    """What to do when there is nothing left to use; None when there is."""
    factor: CylinderFactor
    residual_psi: float


def cylinder_factor(size: str) -> CylinderFactor:
    """Return the factor of a US letter cylinder, small or capital letter.

    Range: D, E, M, G, H, K. The sizes named M with a number, and ISO or UK sizes, hold other volumes.
    Errors: ValueError for any other name, with the names that are known.
    Source: virginia-oems2010 (S1; S2 for G).
    """
    factor = FACTORS.get(size.strip().upper())
    if factor is None:
        known = ", ".join(FACTORS)
        raise ValueError(f"no factor is known for cylinder size {size!r}; the US letter sizes are {known}")
    return factor


def cylinder_minutes(
    *, size: str, gauge_psi: float, litres_per_minute: float, residual_psi: float = RESIDUAL_PSI
) -> CylinderTime:
    """Return how many minutes a cylinder lasts at a steady flow.

    Units: gauge and residual in psi, flow in L/min, result in minutes, not rounded: round down to show it.
    Range: gauge and residual from 0, flow above 0. At or under the residual the result is 0 with a warning.
    Errors: ValueError for an unknown size, a negative or infinite number, or a flow of 0.
    Source: virginia-oems2010 (S1; the factor of G is S2).
    """
    factor = cylinder_factor(size)
    require("gauge", gauge_psi, low=0, high=math.inf, unit="psi")
    require("residual", residual_psi, low=0, high=math.inf, unit="psi")
    require("flow", litres_per_minute, low=0, high=math.inf, unit="L/min", above_low=True)
    usable = max(gauge_psi - residual_psi, 0.0)
    warning = None
    if gauge_psi <= residual_psi:
        warning = f"the gauge is at or under {residual_psi:g} psi: change the cylinder now"
    return CylinderTime(
        minutes=usable * factor.litres_per_psi / litres_per_minute,
        warning=warning,
        factor=factor,
        residual_psi=residual_psi,
    )
