"""What a group must have passed before a scenario: one rung of each of its skills, and of the skills under those.

A scenario is a top rung. Of each skill it takes for granted the rung just below the higher of two: the rung of the
scenario's own trainer, where the skill's ladder has one, and the rung on which the skill is cleared. A ladder of a
single rung has nothing below it; then that rung itself is asked for.

Prerequisites of the scenario's skills are asked for in the same way, and theirs, down to skills that have none.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from generator.model import Curriculum, RungPlan, Scenario, Skill
from generator.model.lab import Lab


@dataclass(frozen=True, slots=True, kw_only=True)
class Before:
    """One skill that the group must bring. `needed_by` is empty for a skill of the scenario itself."""

    skill: str
    rung: str
    trainer: str
    needed_by: tuple[str, ...]
    taught_by: tuple[str, ...]
    """Lab days that have a station of this skill on this rung or a higher one, the earliest first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Prerequisites:
    """All that must come before. `ready_after` is the lab day after which the last of it has been taught."""

    before: tuple[Before, ...]
    ready_after: str | None
    """None when something is taught on no lab day, or when nothing is asked for."""

    @property
    def untaught(self) -> tuple[Before, ...]:
        """What no lab day teaches."""
        return tuple(one for one in self.before if not one.taught_by)


def prerequisites(curriculum: Curriculum, scenario: Scenario) -> Prerequisites:
    """What must come before a scenario, its own skills first, then those under them. Unknown skills are left out."""
    needed_by: dict[str, list[str]] = {id: [] for id in scenario.skills if id in curriculum.skills}
    waiting = list(needed_by)
    while waiting:
        id = waiting.pop(0)
        for under in curriculum.skills[id].prerequisites:
            if under not in curriculum.skills:
                continue
            if under not in needed_by:
                needed_by[under] = []
                waiting.append(under)
            needed_by[under].append(id)
    before = tuple(
        Before(
            skill=id,
            rung=plan.rung,
            trainer=plan.trainer,
            needed_by=() if id in scenario.skills else tuple(users),
            taught_by=tuple(lab.id for lab in _teaching(curriculum, curriculum.skills[id], plan)),
        )
        for id, users in needed_by.items()
        for plan in [rung_before(curriculum.skills[id], scenario.trainer)]
        if plan is not None
    )
    firsts = [one.taught_by[0] for one in before if one.taught_by]
    is_all = bool(before) and len(firsts) == len(before)
    last = max(firsts, key=lambda id: (curriculum.labs[id].on, id)) if is_all else None
    return Prerequisites(before=before, ready_after=last)


def rung_before(skill: Skill, trainer: str) -> RungPlan | None:
    """The rung that a scenario on `trainer` takes for granted; None for a skill without a ladder."""
    tops = [
        place for place, plan in enumerate(skill.ladder) if plan.trainer == trainer or plan.rung == skill.clearance.rung
    ]
    if not skill.ladder:
        return None
    return skill.ladder[max(max(tops, default=len(skill.ladder) - 1) - 1, 0)]


def _teaching(curriculum: Curriculum, skill: Skill, plan: RungPlan) -> Iterator[Lab]:
    at_least = curriculum.rung_order(plan.rung)
    for lab in sorted(curriculum.labs.values(), key=lambda lab: (lab.on, lab.id)):
        stations = [curriculum.stations.get(entry.station) for entry in lab.stations]
        if any(
            station is not None and station.skill == skill.id and curriculum.rung_order(station.rung) >= at_least
            for station in stations
        ):
            yield lab
