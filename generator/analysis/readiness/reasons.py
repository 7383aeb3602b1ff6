"""The sentences of a standing: why, and what comes next."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from generator.analysis.phrases import listed
from generator.analysis.readiness.results import Next, Status
from generator.analysis.readiness.status import Rules, Trail
from generator.analysis.wording import fill
from generator.model import Curriculum
from generator.model.attempt import Attempt

SOON = timedelta(days=31)
"""A clearance that ends within this time is said to end soon."""


class Words:
    """Names of one skill's rungs, trainers and steps, as a sentence uses them, and the program's own words."""

    def __init__(self, curriculum: Curriculum, rules: Rules) -> None:
        self.rules = rules
        self.say = curriculum.say
        self.many = curriculum.many
        self._curriculum = curriculum
        self._steps = {step.id: fill(step.do, curriculum).rstrip(".") for step in rules.skill.steps}
        self.check_rung = self.rung(rules.skill.clearance.rung)
        self.after_a_fail = fill(rules.skill.clearance.after_a_fail, curriculum)

    def rung(self, id: str) -> str:
        """The name of a rung."""
        return self._curriculum.name_of(self._curriculum.program.rungs, id)

    def place(self, place: int) -> str:
        """A rung of the ladder with its trainer: `Combine (Read-out torso)`."""
        plan = self.rules.ladder[place]
        trainer = self._curriculum.trainers.get(plan.trainer)
        name = trainer.name if trainer else plan.trainer
        return self.say("{rung} ({trainer})", rung=self.rung(plan.rung), trainer=name)

    def places(self, places: Sequence[int]) -> str:
        """Several of them in a row."""
        return listed([self.place(place) for place in places], self.say)

    def steps(self, ids: Sequence[str]) -> str:
        """Steps in quotation marks; one that today's sheet no longer has is named by its id."""
        return listed([self.say("“{step}”", step=self._steps.get(id, id)) for id in ids], self.say)

    def attempts(self, count: int) -> str:
        """`2 clean attempts`."""
        return self.many(count, "{count} clean attempt", "{count} clean attempts")

    def attempts_in_a_row(self, count: int) -> str:
        """`1 clean attempt`, `2 clean attempts in a row`."""
        return self.many(count, "{count} clean attempt", "{count} clean attempts in a row")

    def checks(self, count: int) -> str:
        """`2 clean checks`."""
        return self.many(count, "{count} clean check", "{count} clean checks")

    def days(self, count: int) -> str:
        """`2 days`."""
        return self.many(count, "{count} day", "{count} days")


def reasons_of(
    words: Words, trail: Trail, place: int | None, history: Sequence[Attempt], *, on: date
) -> tuple[str, ...]:
    """Why a learner stands where they stand, the deciding sentence first. `place` is the rung being worked on."""
    say = words.say
    match trail.status:
        case Status.ON_HOLD:
            found = _hold_reasons(words, trail)
        case Status.CLEARED:
            found = _cleared_reasons(words, trail, on=on)
        case Status.REFRESH_DUE:
            found = [
                say("The clearance of {day} ended on {end}.", day=trail.cleared_on, end=trail.valid_until),
                say("To renew it: {rule}.", rule=_rule(words)),
                *_window_reasons(words, trail),
            ]
        case Status.READY:
            below = words.rules.before_check
            found = [
                words.many(len(below), "{places} is passed.", "{places} are passed.", places=words.places(below))
                if below
                else say("There is no rung to pass before the check, and a clean attempt was made."),
                say("The check: {rule}.", rule=_rule(words)),
                *_window_reasons(words, trail),
            ]
        case _:
            found = _practice_reasons(words, trail, place, history)
    if trail.off_ladder:
        found.append(
            words.many(
                trail.off_ladder,
                "{count} attempt was made on a trainer that the ladder does not have on that rung; they move nothing.",
                "{count} attempts were made on a trainer that the ladder does not have on that rung; they move "
                "nothing.",
            )
        )
    return tuple(found)


def _hold_reasons(words: Words, trail: Trail) -> list[str]:
    assert trail.failed is not None
    made = words.rules.remedy - trail.hold_left
    return [
        words.say(
            "Missed {steps} in the check on {day}: a critical step, so the rest of that check does not count.",
            steps=words.steps(trail.failed.steps),
            day=trail.failed.on,
        ),
        words.say("{attempts} since; {needed} end the hold.", attempts=words.attempts(made), needed=words.rules.remedy)
        if made
        else words.say("No clean attempt since; {needed} end the hold.", needed=words.rules.remedy),
        words.after_a_fail,
    ]


def _cleared_reasons(words: Words, trail: Trail, *, on: date) -> list[str]:
    assert trail.valid_until is not None
    say = words.say
    row = words.many(
        trail.checks_in_a_row,
        "{count} clean check on {rung}, the last on {day}.",
        "{count} clean checks in a row on {rung}, the last on {day}.",
        rung=words.check_rung,
        day=trail.cleared_on,
    )
    is_soon = trail.valid_until - on <= SOON
    until = say("Valid until {day}, which is soon." if is_soon else "Valid until {day}.", day=trail.valid_until)
    found = [f"{row} {until}"]
    if trail.failed and trail.cleared_on and trail.failed.on <= trail.cleared_on:
        found.append(say("A check was failed on {day} and has been made good since.", day=trail.failed.on))
    if trail.peer_failed_on:
        seen = "A peer saw a critical step missed on {day}. It takes nothing away; it is worth a look."
        found.append(say(seen, day=trail.peer_failed_on))
    unpassed = [place for place in words.rules.before_check if not trail.passed[place]]
    if unpassed:
        found.append(say("{places} was never passed.", places=words.places(unpassed)))
    return found


def _practice_reasons(words: Words, trail: Trail, place: int | None, history: Sequence[Attempt]) -> list[str]:
    rules, say = words.rules, words.say
    if place is None or place not in rules.before_check:
        return [say("No clean attempt yet.")]
    row, where, takes = trail.in_a_row[place], words.place(place), _takes(words, place)
    here = [
        one for one in history if (one.rung, one.trainer) == (rules.ladder[place].rung, rules.ladder[place].trainer)
    ]
    if row:
        run = words.attempts_in_a_row(row) if rules.needs[place] > 1 else words.attempts(row)
        found = [say("{attempts} on {place}; {takes}.", attempts=run, place=where, takes=takes)]
    elif any(one.is_clean for one in here):
        found = [say("The run on {place} starts again; {takes}.", place=where, takes=takes)]
    else:
        none = "No clean attempt yet on {place}; {takes}." if here else "No attempt yet on {place}; {takes}."
        found = [say(none, place=where, takes=takes)]
    last = here[-1] if here else None
    if last is not None and not last.is_clean:
        marked = (
            "The last attempt there, on {day}, missed {steps}."
            if last.missed
            else "The last attempt there, on {day}, left unseen {steps}."
        )
        found.append(say(marked, day=last.on, steps=words.steps(last.missed or last.unseen)))
    if trail.window:
        found.append(
            words.many(
                len(trail.window),
                "{count} clean check already on {rung}.",
                "{count} clean checks already on {rung}.",
                rung=words.check_rung,
            )
        )
    return found


def _takes(words: Words, place: int) -> str:
    need = words.rules.needs[place]
    if words.rules.by_instructor[place]:
        return words.many(
            need,
            "passing it takes {count} scored by an instructor",
            "passing it takes {count} in a row scored by an instructor",
        )
    return words.many(need, "passing it takes {count}", "passing it takes {count} in a row")


def _window_reasons(words: Words, trail: Trail) -> list[str]:
    if not trail.window:
        return [words.say("No clean check counts yet.")]
    days = len(set(trail.window))
    return [words.say("{checks} so far, on {days}.", checks=words.checks(len(trail.window)), days=words.days(days))]


def _rule(words: Words) -> str:
    rules, within = words.rules, words.rules.skill.clearance.within_days
    if rules.days > 1 and within is not None:
        rule = "{attempts} on {rung}, on {days} different days, within {within}, scored by an instructor"
    elif rules.days > 1:
        rule = "{attempts} on {rung}, on {days} different days, scored by an instructor"
    elif within is not None:
        rule = "{attempts} on {rung}, within {within}, scored by an instructor"
    else:
        rule = "{attempts} on {rung}, scored by an instructor"
    return words.say(
        rule,
        attempts=words.attempts_in_a_row(rules.checks),
        rung=words.check_rung,
        days=rules.days,
        within="" if within is None else words.days(within),
    )


def next_of(words: Words, trail: Trail, place: int | None) -> Next | None:
    """What the learner does next; None for one who is cleared, or whose skill has no ladder."""
    if trail.status is Status.CLEARED or place is None:
        return None
    plan, where = words.rules.ladder[place], words.place(place)
    if trail.status in (Status.READY, Status.REFRESH_DUE):
        return Next(rung=plan.rung, trainer=plan.trainer, what=_next_checks(words, trail, where), is_check=True)
    if trail.status is Status.ON_HOLD:
        then = "{attempts} on {place}, then a new check"
        what = words.say(then, attempts=words.attempts(trail.hold_left), place=where)
        return Next(rung=plan.rung, trainer=plan.trainer, what=what)
    return next_practice(words, place, trail.in_a_row[place])


def _next_checks(words: Words, trail: Trail, where: str) -> str:
    left = max(0, words.rules.checks - len(trail.window))
    if not trail.window:
        return words.say("{checks} on {place}", checks=words.checks(left), place=where)
    days = max(0, words.rules.days - len(set(trail.window)))
    more = "{checks} more on {place}, on another day" if days else "{checks} more on {place}"
    return words.say(more, checks=words.checks(max(left, days)), place=where)


def next_practice(words: Words, place: int, in_a_row: int) -> Next:
    """Practice on the rung at `place`, after so many clean attempts in a row."""
    plan, need = words.rules.ladder[place], words.rules.needs[place]
    left = need - in_a_row if in_a_row < need else need
    attempts = (
        words.many(left, "{count} more clean attempt in a row", "{count} more clean attempts in a row")
        if in_a_row
        else words.attempts_in_a_row(left)
    )
    by_instructor = words.rules.by_instructor[place]
    where = "{attempts} on {place}, scored by an instructor" if by_instructor else "{attempts} on {place}"
    what = words.say(where, attempts=attempts, place=words.place(place))
    return Next(rung=plan.rung, trainer=plan.trainer, what=what)
