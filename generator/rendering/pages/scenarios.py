"""Pages of scenarios: what a facilitator reads before, and the page that runs one on a tablet."""

from __future__ import annotations

import json
from dataclasses import dataclass
from math import floor, inf
from typing import Any

from generator.analysis.scenario.machine import (
    Ending,
    Idle,
    Length,
    endings,
    if_nobody_acts,
    length,
    machine_of,
)
from generator.analysis.scenario.numbers import Worked, minutes_left, worked_numbers
from generator.analysis.scenario.variants import variant_of
from generator.analysis.wording import beat_of, fill, says
from generator.model import Curriculum, Quantity, Scenario, Skill, State, Step
from generator.model.scenario import Move
from generator.rendering.pages.skill import Pacer, pacer_of
from generator.rendering.pages.writing import Handbook, Writer

SEEDS = range(1, 9)
"""Variants that the run page offers."""


def scenario_page(scenario: Scenario) -> str:
    """The page of a scenario."""
    return f"scenarios/{scenario.id}.md"


def run_page(scenario: Scenario) -> str:
    """The page that runs it."""
    return f"scenarios/{scenario.id}-run.md"


@dataclass(frozen=True, slots=True, kw_only=True)
class NeedView:
    """Steps of one skill that a state calls for."""

    skill: Skill
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class EndingView:
    """One way to end, with the steps that lead there in words."""

    state: State
    always: tuple[str, ...]
    sometimes: tuple[str, ...]


def scenarios_markdown(book: Handbook) -> str:
    """All scenarios by strand."""
    scenarios = sorted(book.curriculum.scenarios.values(), key=lambda one: one.title)
    strands = [strand for strand in book.curriculum.program.strands if any(s.strand == strand.id for s in scenarios)]
    groups = tuple((strand, tuple(s for s in scenarios if s.strand == strand.id)) for strand in strands)
    return Writer(book=book, page="scenarios/index.md").write("scenarios.md.j2", title="Scenarios", groups=groups)


def scenario_markdown(book: Handbook, scenario: Scenario) -> str:
    """What a facilitator reads before: the patient, the course of the call, how it can end, and the debrief."""
    curriculum = book.curriculum
    machine = machine_of(scenario)
    found = length(machine)
    idle = if_nobody_acts(scenario)
    return Writer(book=book, page=scenario_page(scenario)).write(
        "scenario.md.j2",
        title=scenario.title,
        meta={"description": fill(scenario.dispatch, curriculum.quantities)},
        scenario=scenario,
        run=run_page(scenario),
        numbers=worked_numbers(scenario),
        patient=patient_line(scenario),
        states=tuple((state, needs_of(curriculum, state)) for state in scenario.states),
        titles={state.id: state.title for state in scenario.states},
        endings=tuple(_ending(curriculum, scenario, ending) for ending in endings(machine, scenario)),
        lengths=length_says(found),
        idle=idle_says(scenario, idle),
        skills=tuple(curriculum.skills[id] for id in scenario.skills if id in curriculum.skills),
        targets=tuple((target, _within(curriculum.quantities.get(target.within or ""))) for target in scenario.targets),
        when=when,
        clock=clock,
    )


def run_markdown(book: Handbook, scenario: Scenario) -> str:
    """The page for the facilitator's tablet. Without its script it shows the states as a list."""
    curriculum = book.curriculum
    writer = Writer(book=book, page=run_page(scenario))
    return writer.write(
        "scenario-run.md.j2",
        title=f"Run: {scenario.title}",
        meta={"hide": ["navigation", "toc", "footer"], "search": {"exclude": True}},
        scenario=scenario,
        data=json.dumps(_run_data(curriculum, scenario, writer), ensure_ascii=False, separators=(",", ":")),
        pacers=_pacers(curriculum, scenario),
        titles={state.id: state.title for state in scenario.states},
        when=when,
    )


def patient_line(scenario: Scenario) -> str:
    """`Man, 62 years, 178 cm`."""
    patient = scenario.patient
    child = patient.age_years < 18
    who = ("Girl" if child else "Woman") if patient.sex == "female" else ("Boy" if child else "Man")
    parts = [who, f"{patient.age_years} {'year' if patient.age_years == 1 else 'years'}"]
    if patient.height_cm is not None:
        parts.append(f"{patient.height_cm} cm")
    if patient.weight_kg is not None:
        parts.append(f"{patient.weight_kg} kg")
    return ", ".join(parts)


def needs_of(curriculum: Curriculum, state: State) -> tuple[NeedView, ...]:
    """The steps that a state calls for, in the order of each skill; unknown skills and steps are left out."""
    views = []
    for need in state.calls_for:
        skill = curriculum.skills.get(need.skill)
        if skill is not None:
            steps = tuple(s for s in skill.steps if (s.id in need.steps if need.steps else s.critical))
            views.append(NeedView(skill=skill, steps=steps))
    return tuple(views)


def when(move: Move) -> str:
    """What brings a move about: `when done`, `after 1:30`, `after 1:30 without it`."""
    if move.on == "action":
        return "when done"
    after = f"after {clock(move.after_seconds or 0)}"
    return f"{after} without it" if move.on == "omission" else after


def clock(seconds: float) -> str:
    """Seconds as minutes and seconds: `1:30`."""
    return f"{int(seconds) // 60}:{int(seconds) % 60:02d}"


def length_says(found: Length) -> str:
    """How long runs last, in words."""
    if found.shortest is None or found.longest is None:
        return "No run reaches an end."
    if found.longest == inf:
        return f"The quickest run takes {clock(found.shortest)}. A group can also go on without end."
    return f"The quickest run takes {clock(found.shortest)}, the slowest {clock(found.longest)}."


def idle_says(scenario: Scenario, idle: Idle) -> str:
    """What happens if nobody acts, in words."""
    titles = {state.id: state.title for state in scenario.states}
    course = "; then ".join(f"{titles[id]} at {clock(second)}" for id, second in idle.states)
    return f"{course}{'' if idle.ends else ', and there it stays'}."


def _ending(curriculum: Curriculum, scenario: Scenario, ending: Ending) -> EndingView:
    def in_words(done: frozenset[tuple[str, str]]) -> tuple[str, ...]:
        found = []
        for id in scenario.skills:
            skill = curriculum.skills.get(id)
            for step in skill.steps if skill else ():
                if (id, step.id) in done:
                    found.append(fill(step.do, curriculum.quantities))
        return tuple(found)

    state = scenario.state(ending.state)
    assert state is not None  # endings are states of this scenario
    return EndingView(state=state, always=in_words(ending.always), sometimes=in_words(ending.sometimes - ending.always))


def _within(quantity: Quantity | None) -> tuple[str, float | None, tuple[str, ...]] | None:
    """A published number: in words, in seconds where it is a time, and its sources."""
    if quantity is None:
        return None
    most = quantity.high if quantity.high is not None else quantity.value
    scale = {"second": 1, "seconds": 1, "minute": 60, "minutes": 60}.get(quantity.unit or "")
    seconds = float(most) * scale if most is not None and scale else None
    return says(quantity), seconds, quantity.sources


def _pacers(curriculum: Curriculum, scenario: Scenario) -> tuple[tuple[str, Pacer], ...]:
    """The beats of the skills in use, each once, by the id of its quantity."""
    found: dict[str, Pacer] = {}
    for id in scenario.skills:
        skill = curriculum.skills.get(id)
        for step in skill.steps if skill else ():
            quantity = curriculum.quantities.get(step.pace or "")
            pacer = pacer_of(quantity) if quantity is not None and beat_of(quantity) else None
            if step.pace and pacer:
                found.setdefault(step.pace, pacer)
    return tuple(found.items())


def _run_data(curriculum: Curriculum, scenario: Scenario, writer: Writer) -> dict[str, Any]:
    def text(words: str) -> str:
        return fill(words, curriculum.quantities)

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
        "states": [_state_data(curriculum, state, text, writer) for state in scenario.states],
        "targets": [
            {"name": target.name, "since": target.since, "until": target.until,
             "says": within[0] if within else None, "seconds": within[1] if within else None}
            for target in scenario.targets
            for within in [_within(curriculum.quantities.get(target.within or ""))]
        ],
        "variants": [_variant_data(scenario, None), *(_variant_data(scenario, seed) for seed in SEEDS)]
        if scenario.variants
        else [_variant_data(scenario, None)],
        "debrief": [
            {"name": phase.name, "minutes": phase.minutes, "aim": text(phase.aim),
             "questions": [text(question) for question in phase.questions]}
            for phase in scenario.debrief
        ],
    }  # fmt: skip


def _state_data(curriculum: Curriculum, state: State, text: Any, writer: Writer) -> dict[str, Any]:
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


def _variant_data(scenario: Scenario, seed: int | None) -> dict[str, Any]:
    made = scenario if seed is None else variant_of(scenario, seed)
    minutes = minutes_left(made.cylinder)
    return {
        "seed": seed,
        "start": made.start,
        "patient": patient_line(made),
        "numbers": [_number(worked) for worked in worked_numbers(made)],
        "cylinder": None if minutes is None else floor(minutes * 60),
    }


def _number(worked: Worked) -> dict[str, str]:
    flag = {"memory": "from memory", "secondary": "seen quoted"}.get(worked.basis.checked, "")
    return {"name": worked.name, "value": worked.value, "flag": flag, "caveat": worked.basis.caveat or ""}
