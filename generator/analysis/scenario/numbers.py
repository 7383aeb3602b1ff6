"""Numbers worked out for a scenario's patient and cylinder, each with its formula's source and how far it was checked.

Only what a published formula covers is given: a formula that is not for this age or height gives nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import floor

from generator.analysis.phrases import Say, in_english
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
    caveat: str
    """What a reader must know before using it."""


def worked_numbers(scenario: Scenario, say: Say = in_english) -> tuple[Worked, ...]:
    """All numbers that published formulas give for this patient and cylinder. Errors in the inputs give nothing."""
    return (*_of_patient(scenario.patient, say), *_of_cylinder(scenario.cylinder, say))


def _worked(id: str, name: str, value: str, basis: Basis, say: Say) -> Worked:
    return Worked(id=id, name=name, value=value, basis=basis, caveat=say(basis.caveat) if basis.caveat else "")


def _of_patient(patient: Patient, say: Say) -> Iterator[Worked]:
    age = float(patient.age_years)
    if not patient.formulas:
        return
    if age >= ADULT_YEARS:
        yield from _of_adult(patient, say)
    elif 1 <= age <= 16:
        yield from _of_child(age, say)


def _of_adult(patient: Patient, say: Say) -> Iterator[Worked]:
    if patient.height_cm is None:
        return
    try:
        weight = predicted_body_weight(sex=patient.sex, height_cm=float(patient.height_cm))
    except ValueError:
        return
    volume = tidal_volume(predicted_kg=weight.kg)
    yield _worked("predicted-weight", say("Predicted body weight"), f"{weight.kg:.1f} kg", weight.basis, say)
    volumes = say(
        "{low}–{high} mL, usually {usual} mL",
        low=f"{volume.low_ml:.0f}",
        high=f"{volume.high_ml:.0f}",
        usual=f"{volume.usual_ml:.0f}",
    )
    yield _worked("tidal-volume", say("Tidal volume, 4 to 8 mL/kg"), volumes, volume.basis, say)


def _of_child(age: float, say: Say) -> Iterator[Worked]:
    weight = child_weight(age_years=age)
    for id, rule in (("weight-older-rule", weight.older), ("weight-newer-rule", weight.newer)):
        if rule.kg is not None:
            name = say("Weight by age, {formula} ({since})", formula=say(rule.rule), since=say(rule.since))
            yield _worked(id, name, f"{rule.kg:.0f} kg", rule.basis, say)
    try:
        cuffed, plain = tube_size(age_years=age, cuffed=True), tube_size(age_years=age, cuffed=False)
        depth = tube_depth(age_years=age, inner_mm=cuffed.inner_mm)
    except ValueError:
        return
    for id, name, tube in (
        ("tube-cuffed", say("Cuffed tube, inner diameter"), cuffed),
        ("tube-uncuffed", say("Uncuffed tube, inner diameter"), plain),
    ):
        ready = say(", ").join(f"{size:g}" for size in tube.have_ready_mm)
        sizes = say("{size} mm; have ready {sizes}", size=f"{tube.inner_mm:g}", sizes=ready)
        yield _worked(id, name, sizes, tube.basis, say)
    at_teeth = say("Depth of the tube at the teeth")
    yield _worked("tube-depth", at_teeth, f"{depth.by_age_cm:g} cm", depth.by_age_basis, say)


def _of_cylinder(cylinder: Cylinder | None, say: Say) -> Iterator[Worked]:
    minutes = minutes_left(cylinder)
    if cylinder is None or minutes is None:
        return
    name = say(
        "Cylinder {size}, {gauge} psi, {flow} L/min, down to {left} psi",
        size=cylinder.size.upper(),
        gauge=cylinder.gauge_psi,
        flow=cylinder.litres_per_minute,
        left=f"{RESIDUAL_PSI:g}",
    )
    whole = floor(minutes)
    lasts = say("{count} minute" if whole == 1 else "{count} minutes", count=whole)
    yield _worked("cylinder-minutes", name, lasts, cylinder_factor(cylinder.size).basis, say)


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
