"""Numbers as people say them: plain words first, then the number, then how sure."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from generator.analysis.statistics.result import Interval, Undefined
from generator.analysis.wording import fill
from generator.model import Curriculum, Skill
from generator.rendering.reports.plots import interval_bar

OFTEN = (
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
    (1.0, "nearly always"),
)
"""Shares up to a limit, in words."""


def often(curriculum: Curriculum, events: int, trials: int) -> str:
    """How often, in words: `about 1 time in 5`."""
    if trials == 0:
        return curriculum.say("not yet seen")
    if events == 0:
        return curriculum.say("never so far")
    if events == trials:
        return curriculum.say("every time so far")
    return curriculum.label(next(words for limit, words in OFTEN if events / trials <= limit))


def percent(curriculum: Curriculum, share: float) -> str:
    """A share in percent without places; never 0% or 100% unless it is exactly that."""
    if 0 < share < 0.005:
        return curriculum.say("under 1%")
    if 0.995 <= share < 1:
        return curriculum.say("over 99%")
    return curriculum.say("{number}%", number=f"{share * 100:.0f}")


def sure(curriculum: Curriculum, interval: Interval | Undefined | None) -> str:
    """How sure: `likely between 12% and 32%`, or why nobody can say."""
    if interval is None:
        return curriculum.say("nothing to go by yet")
    if isinstance(interval, Undefined):
        return unsaid(curriculum, interval)
    low, high = percent(curriculum, max(0.0, interval.low)), percent(curriculum, min(1.0, interval.high))
    return _between(curriculum, low, high)


def unsaid(curriculum: Curriculum, found: Undefined) -> str:
    """Why a figure has no value."""
    return curriculum.say("cannot be said: {why}", why=curriculum.label(found.why))


def sure_beyond(curriculum: Curriculum, interval: Interval) -> str:
    """How sure of a coefficient that runs from -1 to 1, cut at its limits for showing."""
    return _between(curriculum, f"{max(-1.0, interval.low):.2f}", f"{min(1.0, interval.high):.2f}")


def _between(curriculum: Curriculum, low: str, high: str) -> str:
    return curriculum.say("likely between {low} and {high}", low=low, high=high)


def worded_share(curriculum: Curriculum, events: int, trials: int, interval: Interval | Undefined) -> dict[str, Any]:
    """A share as the report shows it: words, number, how sure, and a bar; no interval where it has none."""
    said = {"often": often(curriculum, events, trials)}
    if isinstance(interval, Undefined) or trials == 0:
        number = curriculum.say("{part} of {whole}", part=events, whole=trials)
        return said | {"number": number, "sure": "", "bar": ""}
    share = percent(curriculum, events / trials)
    return said | {
        "number": curriculum.say("{part} of {whole} ({share})", part=events, whole=trials, share=share),
        "sure": sure(curriculum, interval),
        "bar": interval_bar(interval.low, events / trials, interval.high),
    }


def grouped(curriculum: Curriculum, count: int) -> str:
    """A whole number for reading: `1,540` in English; in other languages, where a comma may mean a fraction, `1540`."""
    return f"{count:,}" if curriculum.program.language.startswith("en") else str(count)


def counted(curriculum: Curriculum, count: int, one: str, more: str) -> str:
    """A count with its words: `1 learner`, `24 learners`, `1,540 attempts`."""
    return curriculum.many(count, one, more, count=grouped(curriculum, count))


def stepper(curriculum: Curriculum) -> Callable[[str, str], str]:
    """How a step is named: `7. Press the mask to the face with both thumbs.`; its id when it is not known."""

    def name(skill: str, step: str) -> str:
        found: Skill | None = curriculum.skills.get(skill)
        for number, one in enumerate(found.steps if found else (), 1):
            if one.id == step:
                return f"{number}. {fill(one.do, curriculum)}"
        return step

    return name


def place(curriculum: Curriculum, rung: str, trainer: str) -> str:
    """Where something was practised: `Combine, read-out torso`."""
    known = curriculum.trainers.get(trainer)
    name = curriculum.name_of(curriculum.program.rungs, rung)
    return curriculum.say("{rung}, {trainer}", rung=name, trainer=known.name if known else trainer)
