"""Which published outcomes the skills of a handbook cover, level by level."""

from __future__ import annotations

from dataclasses import dataclass

from generator.model import Curriculum, Outcome, Skill, Standard


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelCover:
    """One level of one outcome: the skills that meet it and that this level may perform."""

    level: str
    skills: tuple[Skill, ...]

    @property
    def is_covered(self) -> bool:
        """Whether any skill meets it."""
        return bool(self.skills)


@dataclass(frozen=True, slots=True, kw_only=True)
class Coverage:
    """One outcome of one list, with its levels in the program's order."""

    standard: Standard
    outcome: Outcome
    skills: tuple[Skill, ...]
    """The known ones among the skills that it names."""
    levels: tuple[LevelCover, ...]
    """The levels that the list asks it of; where it names none, those that its skills permit."""

    @property
    def missing(self) -> tuple[str, ...]:
        """Levels that no skill covers."""
        return tuple(cover.level for cover in self.levels if not cover.is_covered)

    @property
    def is_covered(self) -> bool:
        """Whether there is a skill for it at every level that the list asks."""
        return bool(self.skills) and not self.missing


def coverage(curriculum: Curriculum) -> tuple[Coverage, ...]:
    """Every outcome of every list, in the order of the files and of the lists."""
    return tuple(
        _covered(curriculum, standard, outcome)
        for standard in curriculum.standards.values()
        for outcome in standard.outcomes
    )


def _covered(curriculum: Curriculum, standard: Standard, outcome: Outcome) -> Coverage:
    skills = tuple(curriculum.skills[id] for id in outcome.skills if id in curriculum.skills)
    asked = outcome.levels or tuple(dict.fromkeys(level for skill in skills for level in skill.levels))
    order = {level.id: place for place, level in enumerate(curriculum.program.levels)}
    return Coverage(
        standard=standard,
        outcome=outcome,
        skills=skills,
        levels=tuple(
            LevelCover(level=level, skills=tuple(skill for skill in skills if level in skill.levels))
            for level in sorted(asked, key=lambda level: order.get(level, len(order)))
        ),
    )
