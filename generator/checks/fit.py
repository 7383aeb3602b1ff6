"""A trainer that does not accept a device which the steps on its rung use.

Why: the step cannot be done there. Learners skip it or mime it, and practise that.

To put it right: choose a trainer that accepts it, name in the rung's `steps` only those that it can host, or add the
device to the trainer's `accepts` if it does take it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date

from generator.analysis.practice import not_accepted
from generator.checks.support.nearest import in_words
from generator.diagnostics import Location, Problem, Related
from generator.model import Curriculum, Skill, Step

RULE = "fit"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each fitted device that a rung's or a station's trainer does not accept."""
    for skill in curriculum.skills.values():
        for index, plan in enumerate(skill.ladder):
            location = curriculum.at("skill", skill.id, "ladder", index, "trainer")
            steps = skill.steps_on(plan)
            yield from _misfits(
                curriculum, skill, steps, trainer=plan.trainer, at=location, where=f"on the rung `{plan.rung}`"
            )
    for station in curriculum.stations.values():
        run = curriculum.skills.get(station.skill)
        if run is None or any((p.rung, p.trainer) == (station.rung, station.trainer) for p in run.ladder):
            continue  # a station that follows the ladder is judged there
        plans = [plan for plan in run.ladder if plan.rung == station.rung]
        steps = run.steps_on(plans[0]) if plans else run.steps
        location = curriculum.at("station", station.id, "trainer")
        yield from _misfits(curriculum, run, steps, trainer=station.trainer, at=location, where="at this station")


def _misfits(
    curriculum: Curriculum, skill: Skill, steps: Iterable[Step], *, trainer: str, at: Location, where: str
) -> Iterator[Problem]:
    record = curriculum.trainers.get(trainer)
    if record is None:
        return
    named: set[str] = set()
    numbers = {step.id: number for number, step in enumerate(skill.steps)}
    for step in steps:
        number = numbers[step.id]
        for item in not_accepted(curriculum, record, (step,)):
            if item in named:
                continue
            named.add(item)
            others = [one.id for one in curriculum.trainers.values() if item in one.accepts]
            accepted = f"Accepted by {in_words(others)}." if others else "No trainer here accepts it."
            yield Problem(
                location=at,
                rule=RULE,
                message=f"The trainer `{trainer}` does not accept `{item}`, which the step `{step.id}` uses {where}.",
                remedy=f"{accepted} Or name in `steps` only the steps that this trainer can host.",
                related=(
                    Related(
                        location=curriculum.at("skill", skill.id, "steps", number, "uses", step.uses.index(item)),
                        message=f"`{step.id}` uses it here",
                    ),
                ),
            )
