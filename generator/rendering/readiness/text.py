"""Readiness for a terminal: what a colleague would say first, first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from generator.analysis.readiness import Readiness, Standing, Status
from generator.analysis.statistics.result import Interval
from generator.analysis.wording import fill
from generator.model import Curriculum

_ORDER = (
    Status.ON_HOLD,
    Status.REFRESH_DUE,
    Status.READY,
    Status.PRACTISING,
    Status.CLEARED,
    Status.NOT_STARTED,
)
"""What needs somebody first."""
MOST = 10
"""Steps and clearances that the short report lists."""


def readiness_text(readiness: Readiness, curriculum: Curriculum, standings: Sequence[Standing]) -> str:
    """The cohort: counts by skill, who needs what, the lab days, the steps missed most, and what the rules let through.

    `standings` are those that were asked for. Learners are codes.
    """
    return "\n".join(
        "".join(f"{line}\n" for line in part)
        for part in (
            _board(readiness, curriculum, standings),
            _calls(curriculum, standings),
            _labs(readiness, curriculum, standings),
            _refreshes(readiness, curriculum, standings),
            _steps(readiness, curriculum, standings),
            [one.says for one in readiness.carry_over if isinstance(one.interval, Interval)],
            _rules(readiness),
        )
        if part
    )


def learner_text(curriculum: Curriculum, standings: Iterable[Standing]) -> str:
    """Standings in full: status, reasons, what comes next, what to coach, and how sure the share of clean ones is."""
    parts: list[str] = []
    untried: list[str] = []
    for one in standings:
        if one.status is Status.NOT_STARTED:
            untried.append(curriculum.skills[one.skill].title)
        else:
            parts.append("".join(f"{line}\n" for line in _full(curriculum, one)))
    if untried:
        parts.append(f"Not started: {'; '.join(untried)}.\n")
    return "\n".join(parts)


def _full(curriculum: Curriculum, one: Standing) -> Iterator[str]:
    yield f"{one.learner}, {curriculum.skills[one.skill].title}: {one.status}"
    yield from (f"  {reason}" for reason in one.reasons)
    if one.next:
        yield f"  Next: {one.next.what}."
    if one.coach:
        coached = ", ".join(
            f"{_step(curriculum, one.skill, coach.step)}{' (critical)' if coach.is_critical else ''}"
            for coach in one.coach[:3]
        )
        yield f"  Coach: {coached}."
    if isinstance(one.interval, Interval):
        low, high = round(one.interval.low * 100), round(one.interval.high * 100)
        yield (
            f"  {one.share_clean} of {one.share_of} attempts on this rung were clean: "
            f"a true share from {low} to {high}% would fit (95%)."
        )


def _board(readiness: Readiness, curriculum: Curriculum, standings: Sequence[Standing]) -> list[str]:
    counts: dict[str, dict[Status, int]] = {}
    for one in standings:
        mine = counts.setdefault(one.skill, dict.fromkeys(Status, 0))
        mine[one.status] += 1
    started = {
        skill: mine for skill, mine in counts.items() if any(n for s, n in mine.items() if s is not Status.NOT_STARTED)
    }
    lines = [
        f"On {readiness.on}: {_many(len(readiness.learners), 'learner')}, {_many(readiness.attempts, 'attempt')} "
        f"from {_many(readiness.rows, 'row')}."
    ]
    if readiness.flagged:
        first = readiness.flagged[0]
        lines.append(f"{_many(len(readiness.flagged), 'row')} to look at; line {first.line}: {first.why}")
    if not started:
        return [*lines, "Nobody has tried any of these skills."]
    width = max(len(curriculum.skills[skill].title) for skill in started)
    columns = [status for status in _ORDER if any(mine[status] for mine in started.values())]
    lines += ["", " " * width + "  " + "  ".join(columns)]
    for skill, mine in started.items():
        cells = "  ".join(f"{mine[status] or '-':>{len(status)}}" for status in columns)
        lines.append(f"{curriculum.skills[skill].title:<{width}}  {cells}")
    return lines


def _calls(curriculum: Curriculum, standings: Sequence[Standing]) -> list[str]:
    lines = []
    for status in (Status.ON_HOLD, Status.REFRESH_DUE, Status.READY):
        mine: dict[str, list[str]] = {}
        for one in standings:
            if one.status is status:
                mine.setdefault(one.skill, []).append(one.learner)
        if mine:
            lines.append(f"{status[0].upper()}{status[1:]}:")
            lines += [f"  {curriculum.skills[skill].title}: {', '.join(learners)}" for skill, learners in mine.items()]
    return lines


def _labs(readiness: Readiness, curriculum: Curriculum, standings: Sequence[Standing]) -> list[str]:
    asked = {(one.learner, one.skill) for one in standings}
    placed: set[tuple[str, str]] = set()
    lines = []
    for place, lab in enumerate(readiness.labs):
        checks = [check for check in lab.checks if (check.learner, check.skill) in asked]
        placed.update((check.learner, check.skill) for check in checks)
        if place and not checks:
            continue
        lines.append(f"To check on {lab.on}, {curriculum.labs[lab.lab].title}:{'' if checks else ' nobody.'}")
        for skill in dict.fromkeys(check.skill for check in checks):
            mine = [check for check in checks if check.skill == skill]
            where = "" if mine[0].is_at_rung else " (no station of the day is on the clearance rung)"
            codes = ", ".join(
                f"{one.learner}{' after clean attempts' if one.status is Status.ON_HOLD else ''}" for one in mine
            )
            lines.append(f"  {curriculum.skills[skill].title}{where}: {codes}")
    waiting: dict[str, list[str]] = {}
    for one in standings:
        if one.status in (Status.READY, Status.REFRESH_DUE) and (one.learner, one.skill) not in placed:
            waiting.setdefault(one.skill, []).append(one.learner)
    if waiting:
        lines.append("Waiting for a check, and no lab day ahead has a station of the skill:")
        lines += [f"  {curriculum.skills[skill].title}: {', '.join(learners)}" for skill, learners in waiting.items()]
    return lines


def _refreshes(readiness: Readiness, curriculum: Curriculum, standings: Sequence[Standing]) -> list[str]:
    asked = {(one.learner, one.skill) for one in standings}
    coming = [one for one in readiness.refreshes if not one.is_over and (one.learner, one.skill) in asked]
    if not coming:
        return []
    lines = ["Clearances that end next:"]
    for one in coming[:MOST]:
        lines.append(
            f"  {one.valid_until}  {one.learner}, {curriculum.skills[one.skill].title} "
            f"(last clean on the clearance rung {one.last_success})"
        )
    return [*lines, f"  and {len(coming) - MOST} later"] if len(coming) > MOST else lines


def _steps(readiness: Readiness, curriculum: Curriculum, standings: Sequence[Standing]) -> list[str]:
    skills = {one.skill for one in standings}
    missed = [one for one in readiness.steps if one.missed and one.skill in skills]
    if not missed:
        return []
    lines = ["Steps missed most, with 95% intervals:"]
    for one in missed[:MOST]:
        if isinstance(one.interval, Interval):
            low, high = round(one.interval.low * 100), round(one.interval.high * 100)
            critical = ", critical" if one.is_critical else ""
            lines.append(
                f"  {one.missed} of {one.seen} ({low} to {high}%)  {curriculum.skills[one.skill].title}, {one.rung} on "
                f"{one.trainer}: {_step(curriculum, one.skill, one.step)}{critical}"
            )
    return lines


def _rules(readiness: Readiness) -> list[str]:
    lines = []
    for rule in readiness.rules:
        run, within = rule.clean_in_a_row, len(rule.chances[0].by_attempt) - 1
        chances = ", ".join(f"{round(c.by_attempt[-1] * 100)}% at {c.success:g}" for c in rule.chances)
        lines.append(
            f"{run} clean in a row, within {within} checks, lets through {chances} (share of learners, by their true "
            f"chance of a clean attempt)."
        )
        lines.append(
            f"  {run} clean and none missed support a chance of {rule.shows:.0%} or more, with 95% confidence."
        )
    needed = ", ".join(f"{one.reliability:g}: {one.attempts}" for one in readiness.needed)
    return [*lines, f"Clean attempts, none missed, that support a chance with 95% confidence: {needed}."]


def _step(curriculum: Curriculum, skill: str, id: str) -> str:
    do = next((step.do for step in curriculum.skills[skill].steps if step.id == id), id)
    return fill(do, curriculum).rstrip(".")


def _many(count: int, one: str) -> str:
    return f"{count:,} {one if count == 1 else f'{one}s'}"
