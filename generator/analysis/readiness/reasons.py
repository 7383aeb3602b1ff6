"""The sentences of a standing: why, and what comes next."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from generator.analysis.phrases import counted, listed
from generator.analysis.readiness.results import Next, Status
from generator.analysis.readiness.status import Rules, Trail
from generator.analysis.wording import fill
from generator.model import Curriculum
from generator.model.attempt import Attempt

SOON = timedelta(days=31)
"""A clearance that ends within this time is said to end soon."""


class Words:
    """Names of one skill's rungs, trainers and steps, as a sentence uses them."""

    def __init__(self, curriculum: Curriculum, rules: Rules) -> None:
        self.rules = rules
        self._curriculum = curriculum
        self._steps = {step.id: fill(step.do, curriculum.quantities).rstrip(".") for step in rules.skill.steps}
        self.check_rung = self.rung(rules.skill.clearance.rung)
        self.after_a_fail = fill(rules.skill.clearance.after_a_fail, curriculum.quantities)

    def rung(self, id: str) -> str:
        """The name of a rung."""
        return self._curriculum.name_of(self._curriculum.program.rungs, id)

    def place(self, place: int) -> str:
        """A rung of the ladder with its trainer: `Combine (Read-out torso)`."""
        plan = self.rules.ladder[place]
        trainer = self._curriculum.trainers.get(plan.trainer)
        return f"{self.rung(plan.rung)} ({trainer.name if trainer else plan.trainer})"

    def steps(self, ids: Sequence[str]) -> str:
        """Steps in quotation marks; one that today's sheet no longer has is named by its id."""
        return listed([f"“{self._steps.get(id, id)}”" for id in ids])


def reasons_of(
    words: Words, trail: Trail, place: int | None, history: Sequence[Attempt], *, on: date
) -> tuple[str, ...]:
    """Why a learner stands where they stand, the deciding sentence first. `place` is the rung being worked on."""
    match trail.status:
        case Status.ON_HOLD:
            found = _hold_reasons(words, trail)
        case Status.CLEARED:
            found = _cleared_reasons(words, trail, on=on)
        case Status.REFRESH_DUE:
            found = [
                f"The clearance of {trail.cleared_on} ended on {trail.valid_until}.",
                f"To renew it: {_rule(words)}.",
                *_window_reasons(words, trail),
            ]
        case Status.READY:
            below = words.rules.before_check
            said = f"{listed([words.place(one) for one in below])} {'is' if len(below) == 1 else 'are'} passed."
            found = [
                said if below else "There is no rung to pass before the check, and a clean attempt was made.",
                f"The check: {_rule(words)}.",
                *_window_reasons(words, trail),
            ]
        case _:
            found = _practice_reasons(words, trail, place, history)
    if trail.off_ladder:
        are = "1 attempt was" if trail.off_ladder == 1 else f"{trail.off_ladder} attempts were"
        found.append(f"{are} made on a trainer that the ladder does not have on that rung; they move nothing.")
    return tuple(found)


def _hold_reasons(words: Words, trail: Trail) -> list[str]:
    assert trail.failed is not None
    made = words.rules.remedy - trail.hold_left
    since = "No clean attempt" if made == 0 else counted(made, "clean attempt")
    return [
        f"Missed {words.steps(trail.failed.steps)} in the check on {trail.failed.on}: a critical step, so the rest of "
        "that check does not count.",
        f"{since} since; {words.rules.remedy} end the hold.",
        words.after_a_fail,
    ]


def _cleared_reasons(words: Words, trail: Trail, *, on: date) -> list[str]:
    assert trail.valid_until is not None
    row = f"{counted(trail.checks_in_a_row, 'clean check')}{' in a row' if trail.checks_in_a_row > 1 else ''}"
    soon = ", which is soon" if trail.valid_until - on <= SOON else ""
    found = [f"{row} on {words.check_rung}, the last on {trail.cleared_on}. Valid until {trail.valid_until}{soon}."]
    if trail.failed and trail.cleared_on and trail.failed.on <= trail.cleared_on:
        found.append(f"A check was failed on {trail.failed.on} and has been made good since.")
    if trail.peer_failed_on:
        found.append(
            f"A peer saw a critical step missed on {trail.peer_failed_on}. It takes nothing away; it is worth a look."
        )
    unpassed = [place for place in words.rules.before_check if not trail.passed[place]]
    if unpassed:
        found.append(f"{listed([words.place(place) for place in unpassed])} was never passed.")
    return found


def _practice_reasons(words: Words, trail: Trail, place: int | None, history: Sequence[Attempt]) -> list[str]:
    rules = words.rules
    if place is None or place not in rules.before_check:
        return ["No clean attempt yet."]
    row, need = trail.in_a_row[place], rules.needs[place]
    who = " scored by an instructor" if rules.by_instructor[place] else ""
    in_a_row = " in a row" if need > 1 else ""
    takes = f"passing it takes {need}{in_a_row}{who}"
    here = [
        one for one in history if (one.rung, one.trainer) == (rules.ladder[place].rung, rules.ladder[place].trainer)
    ]
    if row:
        run = in_a_row if row > 1 else ""
        found = [f"{counted(row, 'clean attempt')}{run} on {words.place(place)}; {takes}."]
    elif any(one.is_clean for one in here):
        found = [f"The run on {words.place(place)} starts again; {takes}."]
    else:
        found = [f"{'No clean attempt' if here else 'No attempt'} yet on {words.place(place)}; {takes}."]
    last = here[-1] if here else None
    if last is not None and not last.is_clean:
        marks = last.missed or last.unseen
        found.append(
            f"The last attempt there, on {last.on}, {'missed' if last.missed else 'left unseen'} {words.steps(marks)}."
        )
    if trail.window:
        found.append(f"{counted(len(trail.window), 'clean check')} already on {words.check_rung}.")
    return found


def _window_reasons(words: Words, trail: Trail) -> list[str]:
    if not trail.window:
        return ["No clean check counts yet."]
    days = len(set(trail.window))
    return [f"{counted(len(trail.window), 'clean check')} so far, on {counted(days, 'day')}."]


def _rule(words: Words) -> str:
    rules, clearance = words.rules, words.rules.skill.clearance
    row = f"{counted(rules.checks, 'clean attempt')}{' in a row' if rules.checks > 1 else ''}"
    days = f", on {rules.days} different days" if rules.days > 1 else ""
    within = f", within {counted(clearance.within_days, 'day')}" if clearance.within_days is not None else ""
    return f"{row} on {words.check_rung}{days}{within}, scored by an instructor"


def next_of(words: Words, trail: Trail, place: int | None) -> Next | None:
    """What the learner does next; None for one who is cleared, or whose skill has no ladder."""
    if trail.status is Status.CLEARED or place is None:
        return None
    if trail.status in (Status.READY, Status.REFRESH_DUE):
        rules = words.rules
        left = max(0, rules.checks - len(trail.window))
        days = max(0, rules.days - len(set(trail.window)))
        what = f"{counted(max(left, days), 'clean check')} more" if trail.window else counted(left, "clean check")
        plan = rules.ladder[place]
        tail = ", on another day" if trail.window and days else ""
        return Next(rung=plan.rung, trainer=plan.trainer, what=f"{what} on {words.place(place)}{tail}", is_check=True)
    if trail.status is Status.ON_HOLD:
        plan = words.rules.ladder[place]
        what = f"{counted(trail.hold_left, 'clean attempt')} on {words.place(place)}, then a new check"
        return Next(rung=plan.rung, trainer=plan.trainer, what=what)
    return next_practice(words, place, trail.in_a_row[place])


def next_practice(words: Words, place: int, in_a_row: int) -> Next:
    """Practice on the rung at `place`, after so many clean attempts in a row."""
    plan, need = words.rules.ladder[place], words.rules.needs[place]
    more = "more " if in_a_row else ""
    left = need - in_a_row if in_a_row < need else need
    what = f"{left} {more}clean {'attempt' if left == 1 else 'attempts'}{' in a row' if left > 1 or more else ''}"
    who = ", scored by an instructor" if words.rules.by_instructor[place] else ""
    return Next(rung=plan.rung, trainer=plan.trainer, what=f"{what} on {words.place(place)}{who}")
