"""Scenarios for the terminal: the list, the check of one, the numbers of a variant, and a debrief from a log."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from textwrap import wrap

from generator.analysis.scenario.debrief import Log, Took
from generator.analysis.scenario.flow import in_flow_order
from generator.analysis.scenario.machine import endings, if_nobody_acts, length, machine_of, reachable
from generator.analysis.scenario.numbers import worked_numbers
from generator.analysis.scenario.prerequisites import prerequisites
from generator.analysis.wording import fill
from generator.model import Curriculum, Scenario
from generator.model.run import RunEvent
from generator.rendering.scenario_words import (
    before_said,
    clock,
    ending_said,
    idle_says,
    length_says,
    patient_line,
    took_said,
)

ACROSS = 100


def list_text(curriculum: Curriculum) -> str:
    """All scenarios by strand, one line each."""
    lines = []
    for strand in curriculum.program.strands:
        inside = sorted((s for s in curriculum.scenarios.values() if s.strand == strand.id), key=lambda s: s.title)
        if inside:
            lines.append(strand.name)
        for scenario in inside:
            size = f"{scenario.minutes} min, {len(scenario.states)} states, crew of {scenario.learners}"
            lines.append(f"  {scenario.id:<26} {scenario.title} ({size})")
    return "\n".join(lines or ["No scenario has been written yet."]) + "\n"


def check_text(curriculum: Curriculum, scenario: Scenario) -> str:
    """One scenario as a machine: what can be reached, how long it lasts, how it ends, and what must come before."""
    return "\n".join(_check(curriculum, scenario)) + "\n"


def _check(curriculum: Curriculum, scenario: Scenario) -> Iterator[str]:
    machine = machine_of(scenario)
    entered = reachable(machine)
    yield f"{scenario.title} ({scenario.id})"
    yield ""
    unmet = [state.title for state in scenario.states if state.id not in entered]
    told = f"never entered from the start: {', '.join(unmet)}" if unmet else "every one can be reached"
    yield f"{len(scenario.states)} states; {told}."
    yield length_says(curriculum, length(machine))
    yield from _folded(f"If nobody acts: {idle_says(curriculum, scenario, if_nobody_acts(scenario))}", "  ")
    for ending in endings(machine, scenario):
        state = scenario.state(ending.state)
        always, sometimes = ending_said(curriculum, scenario, ending)
        yield ""
        yield f"End: {state.title if state else ending.state}"
        yield from _listed("every run to it does", always)
        yield from _listed("some runs do", sometimes)
    yield ""
    yield "Before it, the crew has passed:"
    found = prerequisites(curriculum, scenario)
    for one in found.before:
        under = ", ".join(curriculum.skills[id].title for id in one.needed_by)
        yield from _folded(
            f"{curriculum.skills[one.skill].title}: {before_said(curriculum, one)}"
            + (f"; needed for {under}" if under else "")
            + (
                f"; taught on {curriculum.labs[one.taught_by[0]].title}" if one.taught_by else "; NO LAB DAY TEACHES IT"
            ),
            "    ",
            first="  - ",
        )
    if found.ready_after:
        yield f"All of it is taught by the end of {curriculum.labs[found.ready_after].title}."


def numbers_text(curriculum: Curriculum, scenario: Scenario, seed: int | None) -> str:
    """Patient and worked numbers of a scenario or of one of its variants, each with what it rests on."""
    lines = [f"Seed {seed}" if seed is not None else "As written", f"Patient: {patient_line(curriculum, scenario)}"]
    if scenario.cylinder is not None:
        cylinder = scenario.cylinder
        lines.append(f"Cylinder: {cylinder.size.upper()}, {cylinder.gauge_psi} psi, {cylinder.litres_per_minute} L/min")
    start = scenario.state(scenario.start)
    lines.append(f"Start: {start.title if start else scenario.start}")
    for one in worked_numbers(scenario, curriculum.say):
        doubt = {"memory": "; from memory", "secondary": "; seen quoted"}.get(one.basis.checked, "")
        sources = f" [{', '.join(one.basis.sources)}{doubt}]" if one.basis.sources or doubt else ""
        lines.append(f"{one.name}: {one.value}{sources}")
        lines += _folded(one.caveat, "    ", first="    ") if one.caveat else []
    return "\n".join(lines) + "\n"


def debrief_text(curriculum: Curriculum, scenario: Scenario, log: Log, events: Sequence[RunEvent]) -> str:
    """The debrief from a log: times beside published numbers, stops, steps never marked, questions, what happened."""
    text = "\n".join(_debrief(curriculum, scenario, log, events)) + "\n"
    # A log is typed and passed on by hand: what would move a terminal's cursor prints as its number.
    return "".join(one if one == "\n" or one.isprintable() else f"\\x{ord(one):02x}" for one in text)


def _debrief(curriculum: Curriculum, scenario: Scenario, log: Log, events: Sequence[RunEvent]) -> Iterator[str]:
    numbers = {state.id: number for number, state in enumerate(in_flow_order(scenario), 1)}
    titles = {state.id: state.title for state in scenario.states}
    yield f"Debrief: {scenario.title}"
    way = " → ".join(f"{numbers[id]} {titles[id]}" for id in log.entered if id in numbers)
    yield from _folded(f"The way it went: {way or 'no state was entered'}.", "  ")
    yield ""
    yield "Times"
    for took in log.times:
        yield from _folded(
            f"{fill(took.target.name, curriculum)}: {took_said(curriculum, took)}{_source(took)}", "    ", first="  - "
        )
    if not log.times:
        yield "  No time is set for this scenario."
    at = f", at {', '.join(clock(second) for second in log.stops)} on the clock, which stood still" if log.stops else ""
    yield f"Safety stops: {len(log.stops)}{at}"
    yield ""
    if log.missed:
        yield "Critical steps that were called for and never marked"
        for one in log.missed:
            skill = curriculum.skills[one.skill].title
            yield from _folded(
                f"{fill(one.step.do, curriculum)} ({skill}; {_in(one.states, numbers)})", "    ", first="  - "
            )
    else:
        yield "Every critical step that was called for was marked."
    for phase in scenario.debrief:
        yield ""
        yield f"{phase.name}, {phase.minutes} min: {fill(phase.aim, curriculum)}"
        for question in phase.questions:
            yield from _folded(fill(question, curriculum), "    ", first="  - ")
    yield ""
    yield "What happened"
    for event in events:
        word = {"seen": "seen: ", "note": "note: ", "stop": "STOP: "}.get(event.kind, "")
        yield from _folded(f"{clock(event.second):>6}  {word}{event.words or event.id or event.kind}", "        ")


def _in(states: Iterable[str], numbers: dict[str, int]) -> str:
    found = [str(numbers[id]) for id in states if id in numbers]
    return f"state {', '.join(found)}" if len(found) == 1 else f"states {', '.join(found)}"


def _source(took: Took) -> str:
    if took.bound is None:
        return ""
    doubt = "from memory" if took.bound.is_provisional else ""
    said = ", ".join((*took.bound.sources, *([doubt] if doubt else [])))
    return f" [{said}]" if said else ""


def _listed(label: str, items: Sequence[str]) -> Iterator[str]:
    if items:
        yield f"  {label}:"
    for item in items:
        yield from _folded(item, "      ", first="    - ")


def _folded(text: str, indent: str, *, first: str = "") -> list[str]:
    return wrap(text, ACROSS, initial_indent=first, subsequent_indent=indent, break_on_hyphens=False)
