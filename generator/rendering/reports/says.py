"""Numbers as people say them: plain words first, then the number, then how sure."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from generator.analysis.statistics.result import Interval, Undefined
from generator.analysis.wording import fill
from generator.model import Curriculum, Skill
from generator.rendering.reports.plots import interval_bar

_OFTEN = (
    (0.02, "hardly ever"),
    (0.07, "about 1 time in 20"),
    (0.115, "about 1 time in 10"),
    (0.155, "about 1 time in 7"),
    (0.183, "about 1 time in 6"),
    (0.225, "about 1 time in 5"),
    (0.29, "about 1 time in 4"),
    (0.415, "about 1 time in 3"),
    (0.585, "about half the time"),
    (0.72, "about 2 times in 3"),
    (0.86, "about 4 times in 5"),
    (0.98, "nearly always"),
)


def often(events: int, trials: int) -> str:
    """How often, in words: `about 1 time in 5`."""
    if trials == 0:
        return "not yet seen"
    if events == 0:
        return "never so far"
    if events == trials:
        return "every time so far"
    return next((words for limit, words in _OFTEN if events / trials <= limit), "nearly always")


def percent(share: float) -> str:
    """A share in percent without places; never 0% or 100% unless it is exactly that."""
    if 0 < share < 0.005:
        return "under 1%"
    if 0.995 <= share < 1:
        return "over 99%"
    return f"{share * 100:.0f}%"


def sure(interval: Interval | Undefined | None) -> str:
    """How sure: `likely between 12% and 32%`, or why nobody can say."""
    if interval is None:
        return "nothing to go by yet"
    if isinstance(interval, Undefined):
        return f"cannot be said: {interval.why}"
    return f"likely between {percent(max(0.0, interval.low))} and {percent(min(1.0, interval.high))}"


def sure_beyond(interval: Interval) -> str:
    """How sure of a coefficient that runs from -1 to 1, cut at its limits for showing."""
    return f"likely between {max(-1.0, interval.low):.2f} and {min(1.0, interval.high):.2f}"


def worded_share(events: int, trials: int, interval: Interval | Undefined) -> dict[str, Any]:
    """A share as the report shows it: words, number, how sure, and a bar; no interval where it has none."""
    if isinstance(interval, Undefined) or trials == 0:
        return {"often": often(events, trials), "number": f"{events} of {trials}", "sure": "", "bar": ""}
    return {
        "often": often(events, trials),
        "number": f"{events} of {trials} ({percent(events / trials)})",
        "sure": sure(interval),
        "bar": interval_bar(interval.low, events / trials, interval.high),
    }


def counted(count: int, one: str, many: str) -> str:
    """`1 learner`, `24 learners`, `1,540 attempts`."""
    return f"{count:,} {one if count == 1 else many}"


def stepper(curriculum: Curriculum) -> Callable[[str, str], str]:
    """How a step is named: `7. Press the mask to the face with both thumbs.`; its id when it is not known."""

    def name(skill: str, step: str) -> str:
        found: Skill | None = curriculum.skills.get(skill)
        for number, one in enumerate(found.steps if found else (), 1):
            if one.id == step:
                return f"{number}. {fill(one.do, curriculum.quantities)}"
        return step

    return name


def place(curriculum: Curriculum, rung: str, trainer: str) -> str:
    """Where something was practised: `Combine, read-out torso`."""
    known = curriculum.trainers.get(trainer)
    return f"{curriculum.name_of(curriculum.program.rungs, rung)}, {known.name if known else trainer}"
