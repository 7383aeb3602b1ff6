"""Pages of scenarios: what a facilitator reads before, and the page that runs one on a tablet."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from math import floor
from typing import Any

from generator.analysis.addresses import SCENARIOS_PAGE, run_page, scenario_page
from generator.analysis.scenario.debrief import bound_of, needs_of
from generator.analysis.scenario.flow import in_flow_order
from generator.analysis.scenario.machine import Ending, endings, if_nobody_acts, length, machine_of
from generator.analysis.scenario.numbers import Worked, minutes_left, worked_numbers
from generator.analysis.scenario.prerequisites import Before, prerequisites
from generator.analysis.scenario.variants import variant_of
from generator.analysis.wording import beat_of, fill
from generator.model import Curriculum, Lab, Scenario, Skill, State
from generator.rendering.pages.flow import flow_svg
from generator.rendering.pages.skill import Pacer, pacer_of
from generator.rendering.pages.writing import Handbook, Writer
from generator.rendering.scenario_words import (
    before_said,
    clock,
    ending_said,
    idle_says,
    length_says,
    patient_line,
    when,
)

SEEDS = range(1, 9)
"""Variants that the run page offers."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EndingView:
    """One way to end, with the steps that lead there in words."""

    state: State
    always: tuple[str, ...]
    sometimes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BeforeView:
    """A skill that the group must bring, the rung in words, and the first lab day that teaches it."""

    skill: Skill
    rung: str
    needed_by: tuple[Skill, ...]
    lab: Lab | None


def scenarios_markdown(book: Handbook) -> str:
    """All scenarios by strand."""
    scenarios = sorted(book.curriculum.scenarios.values(), key=lambda one: one.title)
    strands = [strand for strand in book.curriculum.program.strands if any(s.strand == strand.id for s in scenarios)]
    groups = tuple((strand, tuple(s for s in scenarios if s.strand == strand.id)) for strand in strands)
    return Writer(book=book, page=SCENARIOS_PAGE).write(
        "scenarios.md.j2", title=book.curriculum.say("Scenarios"), groups=groups
    )


def scenario_markdown(book: Handbook, scenario: Scenario) -> str:
    """What a facilitator reads before: the patient, the course of the call, how it can end, and the debrief."""
    curriculum = book.curriculum
    machine = machine_of(scenario)
    found = length(machine)
    idle = if_nobody_acts(scenario)
    found_before = prerequisites(curriculum, scenario)
    return Writer(book=book, page=scenario_page(scenario)).write(
        "scenario.md.j2",
        title=scenario.title,
        meta={"description": fill(scenario.dispatch, curriculum)},
        scenario=scenario,
        run=run_page(scenario),
        numbers=worked_numbers(scenario, curriculum.say),
        patient=patient_line(curriculum, scenario),
        states=tuple((state, needs_of(curriculum, state)) for state in in_flow_order(scenario)),
        titles={state.id: state.title for state in scenario.states},
        endings=tuple(_ending(curriculum, scenario, ending) for ending in endings(machine, scenario)),
        lengths=length_says(curriculum, found),
        idle=idle_says(curriculum, scenario, idle),
        before=tuple(_before(curriculum, one) for one in found_before.before),
        ready_after=curriculum.labs.get(found_before.ready_after or ""),
        flow=flow_svg(curriculum, scenario),
        targets=tuple((target, bound_of(curriculum, target)) for target in scenario.targets),
        when=partial(when, curriculum.say),
        clock=clock,
    )


def run_markdown(book: Handbook, scenario: Scenario) -> str:
    """The page for the facilitator's tablet. Without its script it shows the states as a list."""
    curriculum = book.curriculum
    writer = Writer(book=book, page=run_page(scenario))
    return writer.write(
        "scenario-run.md.j2",
        title=curriculum.say("Run: {title}", title=scenario.title),
        meta={"hide": ["navigation", "toc", "footer"], "search": {"exclude": True}},
        scenario=scenario,
        data=json.dumps(_run_data(curriculum, scenario), ensure_ascii=False, separators=(",", ":")),
        pacers=_pacers(curriculum, scenario),
        titles={state.id: state.title for state in scenario.states},
        when=partial(when, curriculum.say),
    )


def _before(curriculum: Curriculum, before: Before) -> BeforeView:
    return BeforeView(
        skill=curriculum.skills[before.skill],
        rung=before_said(curriculum, before),
        needed_by=tuple(curriculum.skills[id] for id in before.needed_by),
        lab=curriculum.labs[before.taught_by[0]] if before.taught_by else None,
    )


def _ending(curriculum: Curriculum, scenario: Scenario, ending: Ending) -> EndingView:
    state = scenario.state(ending.state)
    assert state is not None  # endings are states of this scenario
    always, sometimes = ending_said(curriculum, scenario, ending)
    return EndingView(state=state, always=always, sometimes=sometimes)


def _pacers(curriculum: Curriculum, scenario: Scenario) -> tuple[tuple[str, Pacer], ...]:
    """The beats of the skills in use, each once, by the id of its quantity."""
    found: dict[str, Pacer] = {}
    for id in scenario.skills:
        skill = curriculum.skills.get(id)
        for step in skill.steps if skill else ():
            quantity = curriculum.quantities.get(step.pace or "")
            pacer = pacer_of(quantity, curriculum.say) if quantity is not None and beat_of(quantity) else None
            if step.pace and pacer:
                found.setdefault(step.pace, pacer)
    return tuple(found.items())


def _run_data(curriculum: Curriculum, scenario: Scenario) -> dict[str, Any]:
    def text(words: str) -> str:
        return fill(words, curriculum)

    shown = dict.fromkeys(id for state in scenario.states for id in state.readings if id in curriculum.readings)
    return {
        "id": scenario.id,
        "title": scenario.title,
        "stop": text(scenario.safety_stop),
        "readings": [
            {"id": id, "short": curriculum.readings[id].short, "name": curriculum.readings[id].name,
             "unit": curriculum.readings[id].unit}
            for id in shown
        ],
        "states": [
            _state_data(curriculum, state, text) | {"number": number}
            for number, state in enumerate(in_flow_order(scenario), 1)
        ],
        "targets": [
            {"name": target.name, "since": target.since, "until": target.until,
             "says": bound.says if bound else None, "seconds": bound.seconds if bound else None,
             "least": not target.lower_is_better}
            for target in scenario.targets
            for bound in [bound_of(curriculum, target)]
        ],
        "variants": [
            _variant_data(curriculum, scenario, seed) for seed in ((None, *SEEDS) if scenario.variants else (None,))
        ],
        "debrief": [
            {"name": phase.name, "minutes": phase.minutes, "aim": text(phase.aim),
             "questions": [text(question) for question in phase.questions]}
            for phase in scenario.debrief
        ],
    }  # fmt: skip


def _state_data(curriculum: Curriculum, state: State, text: Callable[[str], str]) -> dict[str, Any]:
    return {
        "id": state.id,
        "title": text(state.title),
        "exit": text(state.exit) if state.exit else None,
        "findings": [text(line) for line in state.findings],
        "say": [text(line) for line in state.say],
        "over": state.over_seconds,
        "readings": {id: float(value) for id, value in state.readings.items() if id in curriculum.readings},
        "needs": [
            {"skill": view.skill.id, "title": view.skill.title,
             "steps": [{"id": step.id, "do": text(step.do), "critical": step.critical} for step in view.steps]}
            for view in needs_of(curriculum, state)
        ],
        "moves": [
            {"id": move.id, "says": text(move.says), "on": move.on, "to": move.to, "after": move.after_seconds,
             "skill": move.skill, "step": move.step}
            for move in state.moves
        ],
    }  # fmt: skip


def _variant_data(curriculum: Curriculum, scenario: Scenario, seed: int | None) -> dict[str, Any]:
    made = scenario if seed is None else variant_of(scenario, seed)
    minutes = minutes_left(made.cylinder)
    return {
        "seed": seed,
        "start": made.start,
        "patient": patient_line(curriculum, made),
        "numbers": [_number(curriculum, worked) for worked in worked_numbers(made, curriculum.say)],
        "cylinder": None if minutes is None else floor(minutes * 60),
    }


def _number(curriculum: Curriculum, worked: Worked) -> dict[str, str]:
    flag = ""
    if worked.basis.checked != "primary":
        flag = curriculum.say("from memory" if worked.basis.checked == "memory" else "seen quoted")
    return {"name": worked.name, "value": worked.value, "flag": flag, "caveat": worked.caveat}
