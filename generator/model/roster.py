"""Who comes to a lab day, by code. Never read from the curriculum and never kept in it."""

from __future__ import annotations

from dataclasses import dataclass

from generator.model.skill import EvaluatorRole


@dataclass(frozen=True, slots=True, kw_only=True)
class RosterLine:
    """One learner, and who will score them."""

    learner: str
    role: EvaluatorRole = "peer"
