"""What the three cards of a scenario print, as plain data: facilitator, patient, observer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from generator.analysis.scenario.debrief import bound_of, needs_of
from generator.analysis.scenario.flow import Box, flow_of
from generator.analysis.scenario.machine import if_nobody_acts, length, machine_of
from generator.analysis.scenario.numbers import worked_numbers
from generator.analysis.scenario.prerequisites import prerequisites
from generator.model import Curriculum, Scenario, State
from generator.rendering.directions import bare, unstopped
from generator.rendering.flow_figure import Figure, figure_of, sliced
from generator.rendering.scenario_words import before_said, clock, idle_says, length_says, patient_line, when
from generator.rendering.sheets import words
from generator.rendering.sheets.deciding import minutes
from generator.rendering.sheets.lines import filler, item_of, short_of

FLOW_WIDTH = 520
"""Points: a little less than the safe width of the sheets."""
FLOW_SIZE = 11
"""Points: over the floor of 10 for body text (CAP 676 ch. 7)."""
FLOW_HEIGHT = 585
"""Points: what a page of either paper leaves below a heading and the key; higher figures run over pages."""


def _doubt(curriculum: Curriculum, checked: str) -> str | None:
    if checked == "memory":
        return curriculum.say("from memory")
    return curriculum.say("seen quoted") if checked == "secondary" else None


def facilitator_of(curriculum: Curriculum, scenario: Scenario, seed: int | None) -> dict[str, Any]:
    """All that the facilitator holds: set-up, brief, flow, states, debrief."""
    text = filler(curriculum)
    before = prerequisites(curriculum, scenario)
    trainer = curriculum.trainers.get(scenario.trainer)
    cheaper = scenario.cheaper
    cheaper_trainer = curriculum.trainers.get(cheaper.trainer) if cheaper else None
    return _of_every(curriculum, scenario, seed) | {
        "words": dict(words.FACILITATOR),
        "facts": [
            {"label": label, "text": f"{value}."}
            for label, value in (
                ("Trainer", trainer.name if trainer else scenario.trainer),
                ("Time", curriculum.say("{minutes} planned", minutes=minutes(curriculum, scenario.minutes))),
                ("Crew", _crew(curriculum, scenario)),
                ("Levels", ", ".join(short_of(curriculum.program.levels, level) for level in scenario.levels)),
            )
        ],
        "lengths": length_says(curriculum, length(machine_of(scenario))),
        "provisional": [text(scenario.provisional)] if scenario.provisional else [],
        "brief": text(scenario.brief),
        "dispatch": text(scenario.dispatch),
        "scene": text(scenario.scene),
        "about": text(scenario.patient.about),
        "numbers": [
            {
                "name": one.name,
                "value": one.value,
                "doubt": _doubt(curriculum, one.basis.checked),
                "caveat": one.caveat,
            }
            for one in worked_numbers(scenario, curriculum.say)
        ],
        "before": [
            {
                "skill": curriculum.skills[one.skill].title,
                "rung": before_said(curriculum, one),
                "taught": bool(one.taught_by),
            }
            for one in before.before
        ],
        "needed_for": [text(line) for line in scenario.needed_for],
        "cheaper": {
            "trainer": cheaper_trainer.name if cheaper_trainer else cheaper.trainer,
            "how": text(cheaper.how),
            "loses": text(cheaper.loses),
        }
        if cheaper
        else None,
        "bring": "; ".join(item_of(curriculum, id) for id in scenario.equipment),
        "flow": [_figure(part) for part in sliced(_flow(curriculum, scenario), FLOW_HEIGHT)],
        "states": _states(curriculum, scenario),
        "idle": idle_says(curriculum, scenario, if_nobody_acts(scenario)),
        "targets": _targets(curriculum, scenario),
        "phases": _phases(curriculum, scenario),
        "end": curriculum.say("End of facilitator card: {title}.", title=scenario.title),
    }


def patient_of(curriculum: Curriculum, scenario: Scenario, seed: int | None) -> dict[str, Any]:
    """For the live actor, or for whoever is the simulator's voice: history, answers, findings in each state."""
    text = filler(curriculum)
    return _of_every(curriculum, scenario, seed) | {
        "words": dict(words.PATIENT),
        "scene": text(scenario.scene),
        "about": text(scenario.patient.about),
        "answers": [
            {"asked": text(one.asked), "answer": text(one.answer), "by": text(one.by) if one.by else None}
            for one in scenario.patient.answers
        ],
        "states": [_as_patient(state) for state in _states(curriculum, scenario) if not state["is_end"]],
        "end": curriculum.say("End of patient card: {title}.", title=scenario.title),
    }


def _as_patient(state: Mapping[str, Any]) -> dict[str, Any]:
    """A state without what the team should do: who plays the patient is not told."""
    return {key: value for key, value in state.items() if key not in ("say", "needs", "moves")}


def observer_of(curriculum: Curriculum, scenario: Scenario, seed: int | None) -> dict[str, Any]:
    """For peers who watch: critical steps with boxes, times to note, questions to bring."""
    states = []
    for box, state in _in_order(scenario):
        steps = [
            {
                "id": f"{state.id}:{need.skill.id}/{step.id}",
                "skill": need.skill.title,
                "do": filler(curriculum)(step.do),
            }
            for need in needs_of(curriculum, state)
            for step in need.steps
            if step.critical
        ]
        if state.exit is None:
            states.append({"number": box.row + 1, "title": filler(curriculum)(state.title), "steps": steps})
    return _of_every(curriculum, scenario, seed) | {
        "words": dict(words.OBSERVER),
        "states": states,
        "targets": _targets(curriculum, scenario),
        "questions": [phase["questions"] for phase in _phases(curriculum, scenario)],
        "end": curriculum.say("End of observer sheet: {title}.", title=scenario.title),
    }


def _of_every(curriculum: Curriculum, scenario: Scenario, seed: int | None) -> dict[str, Any]:
    return {
        "seed": None if seed is None else str(seed),
        "stop": filler(curriculum)(scenario.safety_stop),
        "patient": f"{patient_line(curriculum, scenario)}.",
    }


def _crew(curriculum: Curriculum, scenario: Scenario) -> str:
    crew = curriculum.many(scenario.learners, "{count} learner", "{count} learners")
    return f"{crew}: {', '.join(role.name for role in scenario.roles)}" if scenario.roles else crew


def _in_order(scenario: Scenario) -> list[tuple[Box, State]]:
    """States as they are numbered in the flow."""
    return [(box, scenario.states[box.state]) for box in flow_of(scenario).boxes]


def _states(curriculum: Curriculum, scenario: Scenario) -> list[dict[str, Any]]:
    text = filler(curriculum)
    return [
        {
            "number": box.row + 1,
            "title": text(state.title),
            "is_start": state.id == scenario.start,
            "is_end": state.exit is not None,
            "exit": text(state.exit) if state.exit is not None else None,
            "findings": [text(line) for line in state.findings],
            "vitals": [
                {"short": known.short if known else id, "value": str(value), "unit": known.unit if known else ""}
                for id, value in state.readings.items()
                for known in [curriculum.readings.get(id)]
            ],
            "over": clock(state.over_seconds) if state.over_seconds and state.readings else None,
            "say": [text(line) for line in state.say],
            "needs": [
                {
                    "skill": need.skill.title,
                    "steps": [{"do": unstopped(text(step.do)), "critical": step.critical} for step in need.steps],
                }
                for need in needs_of(curriculum, state)
            ],
            "moves": [
                {
                    "cause": arrow.move.on,
                    "when": when(curriculum.say, arrow.move),
                    "says": text(arrow.move.says),
                    "to": None if arrow.to is None else arrow.to + 1,
                }
                for arrow in box.arrows
            ],
        }
        for box, state in _in_order(scenario)
    ]


def _targets(curriculum: Curriculum, scenario: Scenario) -> list[dict[str, Any]]:
    said = {move.id: filler(curriculum)(move.says) for state in scenario.states for move in state.moves}
    found = []
    for target in scenario.targets:
        bound = bound_of(curriculum, target)
        found.append(
            {
                "id": target.id,
                "name": filler(curriculum)(target.name),
                "since": said.get(target.since, curriculum.say("the start")),
                "until": said.get(target.until, target.until),
                "published": bound.says + (curriculum.say(" (from memory)") if bound.is_provisional else "")
                if bound
                else None,
            }
        )
    return found


def _phases(curriculum: Curriculum, scenario: Scenario) -> list[dict[str, Any]]:
    text = filler(curriculum)
    return [
        {
            "name": text(phase.name),
            "minutes": minutes(curriculum, phase.minutes),
            "aim": text(phase.aim),
            "questions": [text(question) for question in phase.questions],
        }
        for phase in scenario.debrief
    ]


def _flow(curriculum: Curriculum, scenario: Scenario) -> Figure:
    fill_in = filler(curriculum)

    def text(words: str) -> str:
        return bare(fill_in(words))

    return figure_of(scenario, width=FLOW_WIDTH, size=FLOW_SIZE, text=text, say=curriculum.say)


def _figure(figure: Figure) -> dict[str, Any]:
    """A figure as plain data, in points to a tenth."""

    def rounded(value: Any) -> Any:
        if isinstance(value, float):
            return round(value, 1)
        if isinstance(value, dict):
            return {key: rounded(item) for key, item in value.items() if key not in ("moves", "state")}
        return [rounded(item) for item in value] if isinstance(value, (list, tuple)) else value

    return {
        "width": figure.width,
        "height": round(figure.height, 1),
        "size": figure.size,
        "frames": [rounded(asdict(frame)) for frame in figure.frames],
        "lines": [rounded(asdict(line)) for line in figure.lines],
        "strokes": [rounded(asdict(stroke)) for stroke in figure.strokes],
    }
