"""The rules that turn a learner's attempts at one skill into a status.

Words
-----
An attempt is **clean** when no step was missed and none was left unseen, and **failed** when a critical step was
missed: nothing else that went well offsets it. An attempt in which a critical step was *not seen* is neither: it
ends a run of clean attempts and fails nothing.

A **check** is an attempt on the clearance rung, on a trainer that the ladder has there, that an instructor scored. A
peer's marks are never a check, whatever the file says. The **window** of a check holds the clean checks since the last
one that was not clean, no older than `within_days` (both end days count; without it, than the clearance is valid).

The machine
-----------
It starts as *not started* and takes the attempts in order:

- Any attempt: the rung it was made on counts clean attempts in a row, by those whose marks count there (a rung scored
  by peers takes instructors too). When the count reaches the rung's own number, the rung is **passed** for good.
  An attempt on a trainer that the ladder does not have on that rung is kept, and moves nothing.
- A failed check takes away any clearance, empties the window and puts the learner **on hold**.
- While on hold, each clean attempt on the ladder, whoever scores it, takes one off `clean_after_a_fail`; a clean check
  then is practice like any other. At nought the hold ends.
- A check that is neither clean nor failed empties the window. A clearance that was won stands.
- A clean check that is not made on hold joins the window. When the window then has `clean_in_a_row` checks or more
  on `different_days` days or more, the learner is **cleared** from that day; a later such check renews it.

On the day that is asked about, the first of these that fits is the status: *on hold*; *cleared*, while the clearance
is valid; *refresh due*, when it has ended; *ready to check*, when every rung below the clearance rung is passed (and
any on it that peers score) and something was tried; *practising*; *not started*.

A clean attempt that is added, on any day and by anyone, never lowers the status: it can only lengthen a run, fill a
window or shorten a hold. Status heights, for that promise: not started, on hold, practising, ready to check, refresh
due, cleared.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

from generator.analysis.currency import months_after
from generator.analysis.readiness.results import Status
from generator.model import RungPlan, Skill
from generator.model.attempt import Attempt


class Failed(NamedTuple):
    """A failed check: the day and the critical steps that were missed."""

    on: date
    steps: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trail:
    """Where the machine stands after the last attempt."""

    status: Status
    in_a_row: tuple[int, ...]
    """Clean attempts in a row at this moment, for each rung of the ladder."""
    passed: tuple[bool, ...]
    window: tuple[date, ...]
    """Days of the clean checks in the window."""
    hold_left: int
    failed: Failed | None
    """The last failed check, also when its hold is over."""
    cleared_on: date | None
    valid_until: date | None
    checks_in_a_row: int
    """Checks in the window on the day of the last clearance."""
    last_success: date | None
    peer_failed_on: date | None
    """The last attempt on the clearance rung since the clearance in which a peer saw a critical step missed."""
    off_ladder: int
    """Attempts on a trainer that the ladder does not have on that rung."""


class Rules:
    """A skill's rules, made ready once for all learners."""

    def __init__(self, skill: Skill) -> None:
        clearance = skill.clearance
        self.skill = skill
        self.ladder: tuple[RungPlan, ...] = skill.ladder
        self.places: dict[tuple[str, str], int] = {}
        for place, plan in enumerate(skill.ladder):
            self.places.setdefault((plan.rung, plan.trainer), place)
        self.needs = tuple(max(1, plan.pass_rule.clean_in_a_row) for plan in skill.ladder)
        self.by_instructor = tuple(plan.pass_rule.scored_by == "instructor" for plan in skill.ladder)
        rungs = [plan.rung for plan in skill.ladder]
        self.check_place = rungs.index(clearance.rung) if clearance.rung in rungs else None
        """First plan on the clearance rung; None when the ladder has none, and then any trainer will do."""
        first = len(rungs) if self.check_place is None else self.check_place
        self.before_check = tuple(
            place
            for place, plan in enumerate(skill.ladder)
            if place < first or (plan.rung == clearance.rung and plan.pass_rule.scored_by == "peer")
        )
        """Plans to pass before a check."""
        self.checks = max(1, clearance.clean_in_a_row)
        self.days = max(1, clearance.different_days)
        self.remedy = clearance.clean_after_a_fail

    def is_on_check_rung(self, rung: str, trainer: str) -> bool:
        """Whether an instructor's marks there are a check."""
        return rung == self.skill.clearance.rung and (self.check_place is None or (rung, trainer) in self.places)

    def oldest(self, on: date) -> date:
        """The first day that the window of a check on this day reaches back to."""
        if self.skill.clearance.within_days is not None:
            return _days_before(on, max(0, self.skill.clearance.within_days - 1))
        return months_after(on, -self.skill.clearance.valid_months) if on.year > 100 else date.min


def _days_before(on: date, days: int) -> date:
    return on - timedelta(days=days) if days < on.toordinal() else date.min


def follow(rules: Rules, history: Sequence[Attempt], *, on: date) -> Trail:
    """Run the machine over a history, oldest first, and look at it on a day."""
    in_a_row = [0] * len(rules.ladder)
    passed = [False] * len(rules.ladder)
    window: list[date] = []
    hold = off_ladder = checks = 0
    failed: Failed | None = None
    cleared_on = last_success = peer_failed_on = None
    for one in history:
        is_clean = one.is_clean
        is_instructor = one.role == "instructor"
        place = rules.places.get((one.rung, one.trainer))
        is_on_check_rung = rules.is_on_check_rung(one.rung, one.trainer)
        if place is None and not is_on_check_rung:
            off_ladder += 1
            continue
        if place is not None and (is_instructor or not rules.by_instructor[place]):
            in_a_row[place] = in_a_row[place] + 1 if is_clean else 0
            passed[place] = passed[place] or in_a_row[place] >= rules.needs[place]
        if is_on_check_rung and is_clean:
            last_success = one.on
        if is_on_check_rung and is_instructor and not is_clean:
            window.clear()
            if one.failing:
                failed, hold, cleared_on = Failed(one.on, one.failing), rules.remedy, None
        elif is_clean and hold:
            hold -= 1
        elif is_on_check_rung and is_instructor:
            oldest = rules.oldest(one.on)
            window = [day for day in window if day >= oldest]
            window.append(one.on)
            if len(window) >= rules.checks and len(set(window)) >= rules.days:
                cleared_on, checks, peer_failed_on = one.on, len(window), None
        elif is_on_check_rung and one.failing:
            peer_failed_on = one.on
    valid_until = months_after(cleared_on, rules.skill.clearance.valid_months) if cleared_on else None
    return Trail(
        status=_status(rules, history, hold=hold, valid_until=valid_until, passed=passed, on=on),
        in_a_row=tuple(in_a_row),
        passed=tuple(passed),
        window=tuple(day for day in window if day >= rules.oldest(on)),
        hold_left=hold,
        failed=failed,
        cleared_on=cleared_on,
        valid_until=valid_until,
        checks_in_a_row=checks,
        last_success=last_success,
        peer_failed_on=peer_failed_on if cleared_on else None,
        off_ladder=off_ladder,
    )


def _status(
    rules: Rules, history: Sequence[Attempt], *, hold: int, valid_until: date | None, passed: Sequence[bool], on: date
) -> Status:
    if hold:
        return Status.ON_HOLD
    if valid_until is not None:
        return Status.CLEARED if on <= valid_until else Status.REFRESH_DUE
    if not history:
        return Status.NOT_STARTED
    has_clean = any(one.is_clean for one in history)
    if all(passed[place] for place in rules.before_check) and has_clean:
        return Status.READY
    return Status.PRACTISING
