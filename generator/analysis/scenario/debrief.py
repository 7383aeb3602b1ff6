"""What a debrief reads from the log of a run: times beside published numbers, stops, and critical steps never marked.

The run page works out the same from the same events (`readLog` of its script); a test holds the two together.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from generator.analysis.phrases import in_english
from generator.analysis.wording import Numbers, says
from generator.model import Curriculum, Scenario, Skill, State, Step
from generator.model.run import RunEvent
from generator.model.scenario import Target

SECONDS_IN: Mapping[str, int] = {"second": 1, "seconds": 1, "minute": 60, "minutes": 60}


@dataclass(frozen=True, slots=True, kw_only=True)
class Bound:
    """A published number beside a target."""

    quantity: str
    says: str
    seconds: float | None
    """The most, or for a time that should be long the least; None where the number is not a plain time."""
    sources: tuple[str, ...]
    is_provisional: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Took:
    """How long one target took. `seconds` is None when it did not happen."""

    target: Target
    seconds: int | None
    bound: Bound | None
    is_outside: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """Steps of one skill that a state calls for, in the order of the skill."""

    skill: Skill
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Missed:
    """A critical step that an entered state called for and that nobody marked."""

    skill: str
    step: Step
    states: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Log:
    """What a log comes to. `stops` are the seconds of safety stops."""

    times: tuple[Took, ...]
    stops: tuple[int, ...]
    missed: tuple[Missed, ...]
    entered: tuple[str, ...]
    """States in the order in which they were entered."""


def bound_of(numbers: Numbers, target: Target) -> Bound | None:
    """The published number that a target is set beside; None without one."""
    quantities, say = (numbers.quantities, numbers.say) if isinstance(numbers, Curriculum) else (numbers, in_english)
    quantity = quantities.get(target.within or "")
    if quantity is None or target.within is None:
        return None
    if target.lower_is_better:
        ends = (quantity.high, quantity.value, quantity.at_most)
    else:
        ends = (quantity.low, quantity.value, quantity.at_least)
    limit = next((end for end in ends if end is not None), None)
    scale = SECONDS_IN.get(quantity.unit or "")
    return Bound(
        quantity=target.within,
        says=says(quantity, say),
        seconds=float(limit) * scale if limit is not None and scale else None,
        sources=quantity.sources,
        is_provisional=quantity.checked == "memory",
    )


def needs_of(curriculum: Curriculum, state: State) -> tuple[Need, ...]:
    """The steps that a state calls for; unknown skills and steps are left out."""
    needs = []
    for need in state.calls_for:
        skill = curriculum.skills.get(need.skill)
        if skill is not None:
            steps = tuple(s for s in skill.steps if (s.id in need.steps if need.steps else s.critical))
            needs.append(Need(skill=skill, steps=steps))
    return tuple(needs)


def read_log(curriculum: Curriculum, scenario: Scenario, events: Sequence[RunEvent]) -> Log:
    """What the events of a run come to, in their own order. Unknown moves and states count for nothing."""
    moves = {move.id: move for state in scenario.states for move in state.moves}
    marked: set[tuple[str, str]] = set()
    entered: list[str] = []
    for event in events:
        move = moves.get(event.id or "")
        if event.kind == "move" and move is not None and move.on == "action" and move.skill and move.step:
            marked.add((move.skill, move.step))
        if event.kind == "seen":
            skill, _, seen = (event.id or "").partition("/")
            marked.add((skill, seen))
        if event.to:
            entered.append(event.to)
    found: dict[tuple[str, str], Missed] = {}
    for state in scenario.states:
        for need in needs_of(curriculum, state) if state.id in entered else ():
            for step in need.steps:
                key = (need.skill.id, step.id)
                if step.critical and key not in marked:
                    before = found[key].states if key in found else ()
                    found[key] = Missed(skill=need.skill.id, step=step, states=(*before, state.id))
    return Log(
        times=tuple(_took(curriculum, target, events) for target in scenario.targets),
        stops=tuple(event.second for event in events if event.kind == "stop"),
        missed=tuple(found.values()),
        entered=tuple(entered),
    )


def _took(curriculum: Curriculum, target: Target, events: Sequence[RunEvent]) -> Took:
    since = 0 if target.since == "start" else _second(events, target.since, 0)
    until = _second(events, target.until, since or 0)
    took = None if since is None or until is None else until - since
    bound = bound_of(curriculum, target)
    limit = bound.seconds if bound else None
    is_outside = took is not None and limit is not None and (took > limit if target.lower_is_better else took < limit)
    return Took(target=target, seconds=took, bound=bound, is_outside=is_outside)


def _second(events: Sequence[RunEvent], id: str, since: int) -> int | None:
    return next((event.second for event in events if event.id == id and event.second >= since), None)
