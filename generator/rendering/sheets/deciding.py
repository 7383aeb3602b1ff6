"""The rules that decide an attempt and a clearance, as sentences computed from the data."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from generator.analysis.wording import ranges
from generator.model import Clearance
from generator.model.skill import PassRule

_WHO = {"peer": "a peer or instructor", "instructor": "an instructor"}


def in_a_row(count: int) -> str:
    """`1 clean attempt`, `3 clean attempts in a row`."""
    return "1 clean attempt" if count == 1 else f"{count} clean attempts in a row"


def counted(count: int, one: str, many: str) -> str:
    """A count with its word: `1 month`, `12 months`."""
    return f"{count} {one if count == 1 else many}"


def passing(rule: PassRule) -> str:
    """When a rung is passed."""
    count = rule.clean_in_a_row
    return f"{'1 clean attempt' if count == 1 else f'{count} clean in a row'}, scored by {_WHO[rule.scored_by]}."


def deciding(
    clearance: Clearance, rung_name: str, critical: Sequence[int], text: Callable[[str], str]
) -> tuple[str, ...]:
    """What clears a learner, what fails an attempt, and what follows. `critical` holds step numbers."""
    cleared = (
        f"Cleared on the {rung_name} rung: {in_a_row(clearance.clean_in_a_row)}, scored by {_WHO[clearance.scored_by]}"
    )
    if clearance.different_days > 1:
        cleared += f", on at least {clearance.different_days} different days"
    if clearance.within_days is not None:
        cleared += f", all within {counted(clearance.within_days, 'day', 'days')}"
    cleared += f". Clearance lasts {counted(clearance.valid_months, 'month', 'months')}."
    if clearance.scored_by == "instructor":
        cleared += " A peer’s ticks never clear."
    attempt = "An attempt is clean when every step is ticked."
    if critical:
        step = "step" if len(critical) == 1 else "steps"
        attempt = f"Any missed critical step fails the attempt, whatever else went well: {step} {ranges(critical)}."
    return cleared, attempt, f"After a failed check: {text(clearance.after_a_fail)}"
