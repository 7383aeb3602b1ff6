"""Every place where one record names another by its id."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Set
from itertools import chain
from typing import NamedTuple

from generator.analysis.wording import mentioned
from generator.checks.support.kept import kept
from generator.checks.support.texts import passages
from generator.diagnostics import Location
from generator.model import Curriculum, Lab, LocalRules, Path, Scenario, Skill, Standard, Station, Trainer


class Reference(NamedTuple):
    """A use of an id: `wanted` is the kind of record it must name, `owner` and `owner_id` say who names it, at `path`.

    Steps and roles belong to a skill, stops to a lab day: `within` is the id of that skill or day.
    """

    wanted: str
    id: str
    owner: str
    owner_id: str
    path: Path
    within: str = ""

    def at(self, curriculum: Curriculum) -> Location:
        """Where it was typed."""
        return curriculum.at(self.owner, self.owner_id, *self.path)


@kept
def references(curriculum: Curriculum) -> tuple[Reference, ...]:
    """All uses of ids in the order of the records, quantities named in texts included."""
    return tuple(_all(curriculum))


def known(curriculum: Curriculum, wanted: str, within: str = "") -> Set[str]:
    """The ids of a kind that a reference may name, those of records that could not be read included."""
    return known_ids(curriculum).get((wanted, within), frozenset())


@kept
def known_ids(curriculum: Curriculum) -> Mapping[tuple[str, str], frozenset[str]]:
    """Ids by (kind, skill they belong to or nothing)."""
    program = curriculum.program
    ids: dict[tuple[str, str], frozenset[str]] = {
        ("level", ""): frozenset(named.id for named in program.levels),
        ("rung", ""): frozenset(named.id for named in program.rungs),
        ("strand", ""): frozenset(named.id for named in program.strands),
        ("population", ""): frozenset(named.id for named in program.populations),
        ("technique", ""): frozenset(curriculum.techniques),
        ("equipment", ""): frozenset(curriculum.equipment),
        ("quantity", ""): frozenset(curriculum.quantities),
        ("source", ""): frozenset(curriculum.sources),
        ("trainer", ""): frozenset(curriculum.trainers),
        ("skill", ""): frozenset(curriculum.skills),
        ("station", ""): frozenset(curriculum.stations),
        ("reading", ""): frozenset(curriculum.readings),
        ("scenario", ""): frozenset(curriculum.scenarios),
    }
    for kind, id in curriculum.unread:
        ids[kind, ""] = ids.get((kind, ""), frozenset()) | {id}
    for skill in curriculum.skills.values():
        ids["step", skill.id] = frozenset(step.id for step in skill.steps)
        ids["role", skill.id] = frozenset(role.id for role in skill.roles)
    for lab in curriculum.labs.values():
        ids["stop", lab.id] = frozenset(stop.station for stop in lab.stations)
    for scenario in curriculum.scenarios.values():
        ids["state", scenario.id] = frozenset(state.id for state in scenario.states)
        ids["move", scenario.id] = frozenset(move.id for state in scenario.states for move in state.moves)
    return ids


@kept
def used(curriculum: Curriculum) -> Mapping[str, Set[str]]:
    """The ids that something names, by kind."""
    found: dict[str, set[str]] = {}
    for reference in references(curriculum):
        found.setdefault(reference.wanted, set()).add(reference.id)
    return found


def _all(curriculum: Curriculum) -> Iterator[Reference]:
    for id, quantity in curriculum.quantities.items():
        yield from _each("population", quantity.populations, "quantity", id, ("populations",))
        yield from _each("source", quantity.sources, "quantity", id, ("sources",))
        for index, other in enumerate(quantity.others):
            yield from _each("source", (other.source,), "quantity", id, ("others", index, "source"), one=True)
    for id, source in curriculum.sources.items():
        newer = source.custom.superseded_by
        yield from _each("source", (newer,), "source", id, ("custom", "superseded_by"), one=True)
    for trainer in curriculum.trainers.values():
        yield from _of_trainer(trainer)
    for skill in curriculum.skills.values():
        yield from _of_skill(skill)
    for station in curriculum.stations.values():
        yield from _of_station(station)
    for lab in curriculum.labs.values():
        yield from _of_lab(lab)
    for reading in curriculum.readings.values():
        yield from _each("source", reading.sources, "reading", reading.id, ("sources",))
    for scenario in curriculum.scenarios.values():
        yield from _of_scenario(scenario, curriculum)
    yield from chain.from_iterable(map(_of_standard, curriculum.standards.values()))
    if curriculum.local is not None:
        yield from _of_local(curriculum.local, curriculum)
    for passage in passages(curriculum):
        # A label has parts of its own in braces; no quantity is filled in there.
        if "{" in passage.text and passage.path[:1] != ("labels",):
            yield from _mentions(passage.kind, passage.id, passage.path, passage.text)


def _mentions(owner: str, owner_id: str, path: Path, text: str) -> Iterator[Reference]:
    for id in mentioned(text):
        yield Reference("quantity", id, owner, owner_id, path)


def _of_trainer(trainer: Trainer) -> Iterator[Reference]:
    for technique in trainer.feedback:
        yield Reference("technique", technique, "trainer", trainer.id, ("feedback", technique))
    yield from _each("equipment", trainer.accepts, "trainer", trainer.id, ("accepts",))
    yield from _each("population", trainer.populations, "trainer", trainer.id, ("populations",))


def _of_skill(skill: Skill) -> Iterator[Reference]:
    def each(wanted: str, ids: Iterable[str], *path: str | int) -> Iterator[Reference]:
        return _each(wanted, ids, "skill", skill.id, path)

    def one(wanted: str, id: str | None, *path: str | int, within: str = "") -> Iterator[Reference]:
        if id is not None:
            yield Reference(wanted, id, "skill", skill.id, path, within)

    yield from one("strand", skill.strand, "strand")
    yield from each("level", skill.levels, "levels")
    yield from each("source", skill.levels_evidence, "levels_evidence")
    yield from each("population", skill.populations, "populations")
    for index, caution in enumerate(skill.cautions):
        yield from each("source", caution.evidence, "cautions", index, "evidence")
    yield from each("equipment", skill.equipment, "equipment")
    yield from each("skill", skill.prerequisites, "prerequisites")
    for index, step in enumerate(skill.steps):
        yield from one("role", step.by, "steps", index, "by", within=skill.id)
        yield from each("technique", step.rests_on, "steps", index, "rests_on")
        yield from each("equipment", step.uses, "steps", index, "uses")
        yield from each("population", step.populations, "steps", index, "populations")
        yield from one("quantity", step.pace, "steps", index, "pace")
        yield from each("source", step.evidence, "steps", index, "evidence")
    for index, plan in enumerate(skill.ladder):
        yield from one("rung", plan.rung, "ladder", index, "rung")
        yield from one("trainer", plan.trainer, "ladder", index, "trainer")
        for number, id in enumerate(plan.steps):
            yield from one("step", id, "ladder", index, "steps", number, within=skill.id)
    yield from one("rung", skill.clearance.rung, "clearance", "rung")
    yield from each("source", skill.evidence, "evidence")


def _of_station(station: Station) -> Iterator[Reference]:
    for wanted, id in (("skill", station.skill), ("rung", station.rung), ("trainer", station.trainer)):
        yield Reference(wanted, id, "station", station.id, (wanted,))


def _of_lab(lab: Lab) -> Iterator[Reference]:
    for index, stop in enumerate(lab.stations):
        yield Reference("station", stop.station, "lab", lab.id, ("stations", index, "station"))
    for index, instructor in enumerate(lab.instructors):
        yield from _each("station", instructor.runs, "lab", lab.id, ("instructors", index, "runs"))
    for index, visit in enumerate(lab.fixed):
        yield Reference("stop", visit.station, "lab", lab.id, ("fixed", index, "station"), lab.id)
    for index, order in enumerate(lab.orders):
        for number, id in enumerate(order.stations):
            yield Reference("stop", id, "lab", lab.id, ("orders", index, "stations", number), lab.id)


def _of_scenario(scenario: Scenario, curriculum: Curriculum) -> Iterator[Reference]:
    def each(wanted: str, ids: Iterable[str], *path: str | int) -> Iterator[Reference]:
        return _each(wanted, ids, "scenario", scenario.id, path)

    def one(wanted: str, id: str | None, *path: str | int, within: str = "") -> Iterator[Reference]:
        if id is not None:
            yield Reference(wanted, id, "scenario", scenario.id, path, within)

    yield from one("strand", scenario.strand, "strand")
    yield from each("level", scenario.levels, "levels")
    yield from one("trainer", scenario.trainer, "trainer")
    if scenario.cheaper is not None:
        yield from one("trainer", scenario.cheaper.trainer, "cheaper", "trainer")
    yield from each("equipment", scenario.equipment, "equipment")
    yield from each("skill", scenario.skills, "skills")
    yield from each("source", scenario.evidence, "evidence")
    yield from one("state", scenario.start, "start", within=scenario.id)
    for index, state in enumerate(scenario.states):
        for id in state.readings:
            yield from one("reading", id, "states", index, "readings", id)
        for number, need in enumerate(state.calls_for):
            yield from one("skill", need.skill, "states", index, "calls_for", number, "skill")
            # Steps of a skill that is unknown or could not be read are not looked for: one slip, one problem.
            for place, step in enumerate(need.steps if need.skill in curriculum.skills else ()):
                yield from one("step", step, "states", index, "calls_for", number, "steps", place, within=need.skill)
        for number, move in enumerate(state.moves):
            yield from one("skill", move.skill, "states", index, "moves", number, "skill")
            if move.skill in curriculum.skills:
                yield from one("step", move.step, "states", index, "moves", number, "step", within=move.skill or "")
            yield from one("state", move.to, "states", index, "moves", number, "to", within=scenario.id)
    for index, target in enumerate(scenario.targets):
        if target.since != "start":
            yield from one("move", target.since, "targets", index, "since", within=scenario.id)
        yield from one("move", target.until, "targets", index, "until", within=scenario.id)
        yield from one("quantity", target.within, "targets", index, "within")
    if scenario.variants is not None:
        for index, id in enumerate(scenario.variants.starts):
            yield from one("state", id, "variants", "starts", index, within=scenario.id)


def _of_standard(standard: Standard) -> Iterator[Reference]:
    yield Reference("source", standard.source, "standard", standard.id, ("source",))
    for index, outcome in enumerate(standard.outcomes):
        yield from _each("level", outcome.levels, "standard", standard.id, ("outcomes", index, "levels"))
        yield from _each("skill", outcome.skills, "standard", standard.id, ("outcomes", index, "skills"))


def _of_local(local: LocalRules, curriculum: Curriculum) -> Iterator[Reference]:
    for index, rule in enumerate(local.rules):
        yield Reference("skill", rule.skill, "local", "local", ("rules", index, "skill"))
        # Steps of a skill that is unknown or could not be read are not looked for: one slip, one problem.
        if rule.step is not None and rule.skill in curriculum.skills:
            yield Reference("step", rule.step, "local", "local", ("rules", index, "step"), rule.skill)
        yield from _each("level", rule.levels, "local", "local", ("rules", index, "levels"))


def _each(
    wanted: str, ids: Iterable[str | None], owner: str, owner_id: str, path: Path, *, one: bool = False
) -> Iterator[Reference]:
    for index, id in enumerate(ids):
        if id is not None:
            yield Reference(wanted, id, owner, owner_id, path if one else (*path, index))
