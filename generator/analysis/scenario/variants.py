"""A variant of a scenario by a seed: the same seed gives the same patient, and no two runs need be alike."""

from __future__ import annotations

from decimal import Decimal
from random import Random

from generator.model import Scenario
from generator.model.scenario import Span


def variant_of(scenario: Scenario, seed: int) -> Scenario:
    """The scenario with age, height, cylinder pressure and start drawn by `seed`, each from its own stream.

    Values are whole numbers of years, cm and 50 psi (what a gauge can be read to; ours, no source). A weight that was
    typed in is dropped when the age or height is drawn, because it would no longer fit.
    """
    spans = scenario.variants
    if spans is None:
        return scenario
    patient, cylinder, start = scenario.patient, scenario.cylinder, scenario.start
    if spans.age_years is not None:
        age = _drawn(scenario.id, seed, "age", spans.age_years, step=1)
        patient = patient.model_copy(update={"age_years": age, "weight_kg": None})
    if spans.height_cm is not None:
        height = _drawn(scenario.id, seed, "height", spans.height_cm, step=1)
        patient = patient.model_copy(update={"height_cm": height, "weight_kg": None})
    if spans.gauge_psi is not None and cylinder is not None:
        gauge = _drawn(scenario.id, seed, "gauge", spans.gauge_psi, step=50)
        cylinder = cylinder.model_copy(update={"gauge_psi": gauge})
    if spans.starts:
        start = _stream(scenario.id, seed, "start").choice(spans.starts)
    return scenario.model_copy(update={"patient": patient, "cylinder": cylinder, "start": start})


def _stream(id: str, seed: int, what: str) -> Random:
    # Seeding with text is the same on every platform and version since Python 3.2.
    return Random(f"{id}/{seed}/{what}")


def _drawn(id: str, seed: int, what: str, span: Span, *, step: int) -> Decimal:
    least, most = int(span.least), int(span.most)
    count = max((most - least) // step, 0)
    return Decimal(least + step * _stream(id, seed, what).randint(0, count))
