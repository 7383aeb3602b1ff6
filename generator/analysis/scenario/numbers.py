"""Numbers worked out for a scenario's patient and cylinder, each with its formula's source and how far it was checked.

Only what a published formula covers is given: a formula that is not for this age or height gives nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import floor

from generator.analysis.reference.airway_sizes import tube_depth, tube_size
from generator.analysis.reference.basis import Basis
from generator.analysis.reference.body import child_weight, predicted_body_weight, tidal_volume
from generator.analysis.reference.oxygen import RESIDUAL_PSI, cylinder_factor, cylinder_minutes
from generator.model import Scenario
from generator.model.scenario import Cylinder, Patient

ADULT_YEARS = 18
"""Ours, no source: from this age the formulas for adults are used, and below it those for children."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Worked:
    """One number. `value` is in words with its unit, rounded for reading; `basis` says what it rests on."""

    id: str
    name: str
    value: str
    basis: Basis


def worked_numbers(scenario: Scenario) -> tuple[Worked, ...]:
    """All numbers that published formulas give for this patient and cylinder. Errors in the inputs give nothing."""
    return (*_of_patient(scenario.patient), *_of_cylinder(scenario.cylinder))


def _of_patient(patient: Patient) -> Iterator[Worked]:
    age = float(patient.age_years)
    if age >= ADULT_YEARS:
        yield from _of_adult(patient)
    elif 1 <= age <= 16:
        yield from _of_child(age)


def _of_adult(patient: Patient) -> Iterator[Worked]:
    if patient.height_cm is None:
        return
    try:
        weight = predicted_body_weight(sex=patient.sex, height_cm=float(patient.height_cm))
    except ValueError:
        return
    volume = tidal_volume(predicted_kg=weight.kg)
    yield Worked(id="predicted-weight", name="Predicted body weight", value=f"{weight.kg:.1f} kg", basis=weight.basis)
    yield Worked(
        id="tidal-volume",
        name="Tidal volume, 4 to 8 mL/kg",
        value=f"{volume.low_ml:.0f}–{volume.high_ml:.0f} mL, usually {volume.usual_ml:.0f} mL",
        basis=volume.basis,
    )


def _of_child(age: float) -> Iterator[Worked]:
    weight = child_weight(age_years=age)
    for id, rule in (("weight-older-rule", weight.older), ("weight-newer-rule", weight.newer)):
        if rule.kg is not None:
            yield Worked(
                id=id, name=f"Weight by age, {rule.rule} ({rule.since})", value=f"{rule.kg:.0f} kg", basis=rule.basis
            )
    try:
        cuffed, plain = tube_size(age_years=age, cuffed=True), tube_size(age_years=age, cuffed=False)
        depth = tube_depth(age_years=age, inner_mm=cuffed.inner_mm)
    except ValueError:
        return
    for id, name, tube in (("tube-cuffed", "Cuffed tube", cuffed), ("tube-uncuffed", "Uncuffed tube", plain)):
        ready = ", ".join(f"{size:g}" for size in tube.have_ready_mm)
        yield Worked(
            id=id, name=f"{name}, inner diameter", value=f"{tube.inner_mm:g} mm; have ready {ready}", basis=tube.basis
        )
    yield Worked(
        id="tube-depth",
        name="Depth of the tube at the teeth",
        value=f"{depth.by_age_cm:g} cm",
        basis=depth.by_age_basis,
    )


def _of_cylinder(cylinder: Cylinder | None) -> Iterator[Worked]:
    minutes = minutes_left(cylinder)
    if cylinder is None or minutes is None:
        return
    yield Worked(
        id="cylinder-minutes",
        name=f"Cylinder {cylinder.size.upper()}, {cylinder.gauge_psi} psi, {cylinder.litres_per_minute} L/min,"
        f" down to {RESIDUAL_PSI:g} psi",
        value=f"{floor(minutes)} minutes",
        basis=cylinder_factor(cylinder.size).basis,
    )


def minutes_left(cylinder: Cylinder | None) -> float | None:
    """Minutes until the cylinder is at its residual; None without a cylinder or for one that no formula covers."""
    if cylinder is None:
        return None
    try:
        time = cylinder_minutes(
            size=cylinder.size,
            gauge_psi=float(cylinder.gauge_psi),
            litres_per_minute=float(cylinder.litres_per_minute),
        )
    except ValueError:
        return None
    return time.minutes
