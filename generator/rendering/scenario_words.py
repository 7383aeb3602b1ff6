"""A scenario in words: what pages, sheets and the command say alike."""

from __future__ import annotations

from collections.abc import Callable
from math import inf

from generator.analysis.scenario.debrief import Took
from generator.analysis.scenario.machine import Ending, Idle, Length
from generator.analysis.scenario.prerequisites import Before
from generator.analysis.wording import fill
from generator.model import Curriculum, Scenario
from generator.model.scenario import Move


def patient_line(curriculum: Curriculum, scenario: Scenario) -> str:
    """`Man, 62 years, 178 cm`."""
    patient = scenario.patient
    child = patient.age_years < 18
    who = (
        curriculum.say("Girl" if child else "Woman")
        if patient.sex == "female"
        else curriculum.say("Boy" if child else "Man")
    )
    parts = [who, curriculum.many(patient.age_years, "{count} year", "{count} years")]
    if patient.height_cm is not None:
        parts.append(curriculum.say("{count} cm", count=patient.height_cm))
    if patient.weight_kg is not None:
        parts.append(curriculum.say("{count} kg", count=patient.weight_kg))
    return ", ".join(parts)


def when(say: Callable[..., str], move: Move) -> str:
    """What brings a move about: `when done`, `after 1:30`, `after 1:30 without it`."""
    if move.on == "action":
        return say("when done")
    time = clock(move.after_seconds or 0)
    return say("after {time} without it" if move.on == "omission" else "after {time}", time=time)


def clock(seconds: float) -> str:
    """Seconds as minutes and seconds: `1:30`."""
    return f"{int(seconds) // 60}:{int(seconds) % 60:02d}"


def length_says(curriculum: Curriculum, found: Length) -> str:
    """How long runs last, in words."""
    if found.shortest is None or found.longest is None:
        return curriculum.say("No run reaches an end.")
    quickest = clock(found.shortest)
    if found.longest == inf:
        endless = "The quickest run takes {quickest}. A group can also go on without end."
        return curriculum.say(endless, quickest=quickest)
    slowest = clock(found.longest)
    return curriculum.say(
        "The quickest run takes {quickest}, the slowest {slowest}.", quickest=quickest, slowest=slowest
    )


def idle_says(curriculum: Curriculum, scenario: Scenario, idle: Idle) -> str:
    """What happens if nobody acts, in words."""
    titles = {state.id: state.title for state in scenario.states}
    say = curriculum.say
    course = say("; then ").join(say("{state} at {time}", state=titles[id], time=clock(s)) for id, s in idle.states)
    return f"{course}{'' if idle.ends else say(', and there it stays')}."


def steps_said(curriculum: Curriculum, scenario: Scenario, done: frozenset[tuple[str, str]]) -> tuple[str, ...]:
    """Steps in words, in the order of the scenario's skills."""
    found = []
    for id in scenario.skills:
        skill = curriculum.skills.get(id)
        for step in skill.steps if skill else ():
            if (id, step.id) in done:
                found.append(fill(step.do, curriculum))
    return tuple(found)


def ending_said(curriculum: Curriculum, scenario: Scenario, ending: Ending) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The steps that every run to an end does, and those that only some do."""
    return (
        steps_said(curriculum, scenario, ending.always),
        steps_said(curriculum, scenario, ending.sometimes - ending.always),
    )


def before_said(curriculum: Curriculum, before: Before) -> str:
    """`Combine, on Read-out torso`."""
    trainer = curriculum.trainers.get(before.trainer)
    rung = curriculum.name_of(curriculum.program.rungs, before.rung)
    return curriculum.say("{rung}, on {trainer}", rung=rung, trainer=trainer.name if trainer else before.trainer)


def took_said(curriculum: Curriculum, took: Took) -> str:
    """`0:12; published: at most 10 seconds, longer`."""
    say = curriculum.say
    said = say("did not happen") if took.seconds is None else clock(took.seconds)
    if took.bound is None:
        return said
    published = took.bound.says
    if took.seconds is None or took.bound.seconds is None:
        return say("{time}; published: {published}", time=said, published=published)
    if not took.is_outside:
        return say("{time}; published: {published}, within it", time=said, published=published)
    return say(
        "{time}; published: {published}, longer"
        if took.target.lower_is_better
        else "{time}; published: {published}, shorter",
        time=said,
        published=published,
    )
