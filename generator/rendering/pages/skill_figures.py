"""What each skill rests on, in numbers: steps, critical steps, sources, provisional items, reading grade."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from generator.analysis.reading_grade import grade_of_steps
from generator.analysis.wording import mentioned, words_of
from generator.model import Curriculum, Skill
from generator.rendering.pages.uses import skills_in_order


@dataclass(frozen=True, slots=True, kw_only=True)
class SkillFigures:
    """One row of the table on the health page."""

    skill: Skill
    steps: int
    critical: int
    sources: frozenset[str]
    """Known sources that its steps, cautions, levels, numbers or the skill itself cite."""
    provisional: int
    """Marked steps, numbers from memory, and the levels when they are marked."""
    grade: float | None


def figures_of(curriculum: Curriculum) -> tuple[SkillFigures, ...]:
    """A row a skill, in the order of the handbook."""
    return tuple(_figures(skill, curriculum) for skill in skills_in_order(curriculum))


def all_sources(rows: Iterable[SkillFigures]) -> int:
    """How many different sources the skills cite together."""
    return len(frozenset[str]().union(*(row.sources for row in rows)))


def _figures(skill: Skill, curriculum: Curriculum) -> SkillFigures:
    named = {id for text in words_of(skill) for id in mentioned(text)} | {step.pace for step in skill.steps}
    numbers = [quantity for id, quantity in curriculum.quantities.items() if id in named]
    cited = {
        *skill.evidence,
        *skill.levels_evidence,
        *(id for step in skill.steps for id in step.evidence),
        *(id for caution in skill.cautions for id in caution.evidence),
        *(id for quantity in numbers for id in quantity.sources),
    }
    return SkillFigures(
        skill=skill,
        steps=len(skill.steps),
        critical=len(skill.critical_steps),
        sources=frozenset(cited & curriculum.sources.keys()),
        provisional=sum(step.provisional is not None for step in skill.steps)
        + sum(quantity.checked == "memory" for quantity in numbers)
        + (skill.levels_provisional is not None),
        grade=grade_of_steps(skill, curriculum.quantities),
    )
