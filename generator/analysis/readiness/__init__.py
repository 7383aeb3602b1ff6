"""Who is ready for what, why, and what comes next, from scored attempts."""

from generator.analysis.readiness.results import (
    CarryOverSeen,
    Coach,
    Cohort,
    Flagged,
    LabList,
    Next,
    Readiness,
    Refresh,
    RuleChance,
    RuleWorth,
    Side,
    Standing,
    Status,
    StepMisses,
    ToCheck,
)
from generator.analysis.readiness.whole import readiness_of

__all__ = [
    "CarryOverSeen", "Coach", "Cohort", "Flagged", "LabList", "Next", "Readiness", "Refresh", "RuleChance", "RuleWorth",
    "Side", "Standing", "Status", "StepMisses", "ToCheck", "readiness_of",
]  # fmt: skip
