"""The worth tables as people look at them: only the trainers that have something to say, in an order that helps.

`feedback.lab_table` and `feedback.skill_table` hold everything against everything, which is what a computer wants. A
reader of a skill asks about the trainers of its ladder and the owned ones that would fit; a reader of the lab asks
about one strand at a time.
"""

from __future__ import annotations

from dataclasses import dataclass

from generator.analysis.inventory import Inventory
from generator.analysis.practice import hosts, rests_on
from generator.model import Curriculum, Skill, Trainer, Worth

THE_LAB = "lab"
"""Id of the sheet and the file that hold the lab's table; those of a skill go by `skill-` and its id."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WorthColumn:
    """A trainer. `rungs` are the numbers, from 1, of the rungs of the written ladder that stand on it."""

    trainer: str
    name: str
    is_owned: bool
    rungs: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class WorthRow:
    """One technique, of a skill's critical step with its number or of the lab (`step` is None there).

    A cell is None where the trainer cannot host the step: it does not take what the step fits, or stands for others.
    """

    step: str | None
    number: int
    technique: str
    name: str
    cells: tuple[Worth | None, ...]

    @property
    def silent(self) -> int:
        """How many of the trainers shown are silent about it."""
        return sum(cell is Worth.SILENT for cell in self.cells)


@dataclass(frozen=True, slots=True, kw_only=True)
class WorthTable:
    """Techniques against trainers. `strand` is set for a part of the lab's table, None for techniques not in use."""

    columns: tuple[WorthColumn, ...]
    rows: tuple[WorthRow, ...]
    strand: str | None = None


def skill_worth(curriculum: Curriculum, inventory: Inventory, skill: Skill) -> WorthTable:
    """The trainers of the written ladder from the lowest rung up, then the owned ones that fit, cheapest first.

    A trainer that fits but is silent about every technique of the skill has nothing to say here and is left out.
    """
    rungs: dict[str, list[int]] = {}
    for number, plan in enumerate(skill.ladder, 1):
        rungs.setdefault(plan.trainer, []).append(number)
    numbered = [(number, step) for number, step in enumerate(skill.steps, 1) if step.critical]
    places = [(number, step, technique) for number, step in numbered for technique in step.rests_on]
    chosen = [curriculum.trainers[id] for id in rungs if id in curriculum.trainers]
    others = [curriculum.trainers[owned.id] for owned in inventory.trainers if owned.id not in rungs]
    hosted = {step.id: hosts(curriculum, others, skill, step) for _, step in numbered}
    for index, trainer in enumerate(others):
        told = (trainer.worth_of(technique) for _, step, technique in places if hosted[step.id][index])
        if any(worth is not Worth.SILENT for worth in told):
            chosen.append(trainer)
    fits = {step.id: hosts(curriculum, chosen, skill, step) for _, step in numbered}
    return WorthTable(
        columns=tuple(_column(trainer, tuple(rungs.get(trainer.id, ()))) for trainer in chosen),
        rows=tuple(
            WorthRow(
                step=step.id,
                number=number,
                technique=technique,
                name=_name(curriculum, technique),
                cells=tuple(
                    trainer.worth_of(technique) if takes else None
                    for trainer, takes in zip(chosen, fits[step.id], strict=True)
                ),
            )
            for number, step, technique in places
        ),
    )


def lab_worth(curriculum: Curriculum) -> tuple[WorthTable, ...]:
    """One table a strand, as the program lists them, of the techniques that critical steps of its skills rest on.

    A table's trainers are those that are not silent about all of it, owned ones first. Techniques that no critical
    step rests on come last, in a table without a strand.
    """
    known = [strand.id for strand in curriculum.program.strands]
    strands = dict.fromkeys([*known, *(skill.strand for skill in curriculum.skills.values())])
    used: dict[str | None, tuple[str, ...]] = {
        strand: tuple(dict.fromkeys(t for skill in curriculum.skills_in(strand) for t in rests_on(skill.steps)))
        for strand in strands
    }
    seen = {technique for techniques in used.values() for technique in techniques}
    used[None] = tuple(technique for technique in curriculum.techniques if technique not in seen)
    return tuple(_part(curriculum, strand, techniques) for strand, techniques in used.items() if techniques)


def _part(curriculum: Curriculum, strand: str | None, techniques: tuple[str, ...]) -> WorthTable:
    chosen = [
        trainer
        for trainer in sorted(curriculum.trainers.values(), key=lambda trainer: not trainer.is_owned)
        if any(trainer.worth_of(technique) is not Worth.SILENT for technique in techniques)
    ]
    return WorthTable(
        strand=strand,
        columns=tuple(_column(trainer) for trainer in chosen),
        rows=tuple(
            WorthRow(
                step=None,
                number=number,
                technique=technique,
                name=_name(curriculum, technique),
                cells=tuple(trainer.worth_of(technique) for trainer in chosen),
            )
            for number, technique in enumerate(techniques, 1)
        ),
    )


def _column(trainer: Trainer, rungs: tuple[int, ...] = ()) -> WorthColumn:
    return WorthColumn(trainer=trainer.id, name=trainer.name, is_owned=trainer.is_owned, rungs=rungs)


def _name(curriculum: Curriculum, technique: str) -> str:
    record = curriculum.techniques.get(technique)
    return record.name if record else technique
