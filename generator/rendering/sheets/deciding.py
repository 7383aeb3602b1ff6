"""The rules that decide an attempt and a clearance, as sentences computed from the data."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from generator.analysis.wording import ranges
from generator.model import Clearance, Curriculum
from generator.model.skill import PassRule


def minutes(curriculum: Curriculum, count: int) -> str:
    """`1 minute`, `12 minutes`."""
    return curriculum.many(count, "{count} minute", "{count} minutes")


def passing(curriculum: Curriculum, rule: PassRule) -> str:
    """When a rung is passed."""
    row = curriculum.many(rule.clean_in_a_row, "{count} clean attempt", "{count} clean in a row")
    return curriculum.say("{clean}, scored by {who}.", clean=row, who=_who(curriculum, rule.scored_by))


def deciding(
    curriculum: Curriculum, clearance: Clearance, rung_name: str, critical: Sequence[int], text: Callable[[str], str]
) -> tuple[str, ...]:
    """What clears a learner, what fails an attempt, and what follows. `critical` holds step numbers."""
    say, many = curriculum.say, curriculum.many
    row = many(clearance.clean_in_a_row, "{count} clean attempt", "{count} clean attempts in a row")
    who = _who(curriculum, clearance.scored_by)
    cleared = say("Cleared on the {rung} rung: {clean}, scored by {who}", rung=rung_name, clean=row, who=who)
    if clearance.different_days > 1:
        cleared += say(", on at least {count} different days", count=clearance.different_days)
    if clearance.within_days is not None:
        cleared += say(", all within {days}", days=many(clearance.within_days, "{count} day", "{count} days"))
    months = many(clearance.valid_months, "{count} month", "{count} months")
    cleared += say(". Clearance lasts {months}.", months=months)
    if clearance.scored_by == "instructor":
        cleared += say(" A peer’s ticks never clear.")
    attempt = say("An attempt is clean when every step is ticked.")
    if critical:
        steps = say("step {numbers}" if len(critical) == 1 else "steps {numbers}", numbers=ranges(critical, say))
        attempt = say("Any missed critical step fails the attempt, whatever else went well: {steps}.", steps=steps)
    return cleared, attempt, say("After a failed check: {then}", then=text(clearance.after_a_fail))


def _who(curriculum: Curriculum, scored_by: str) -> str:
    return curriculum.say("a peer or instructor" if scored_by == "peer" else "an instructor")
