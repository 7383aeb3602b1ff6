"""The whole analysis of a curriculum in one call, for pages and commands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from generator.analysis.absence import Absence, absences
from generator.analysis.course import Course, course_of
from generator.analysis.feedback import (
    Finding,
    LabTable,
    Meeting,
    SkillTable,
    fit,
    honest_first,
    lab_table,
    meetings,
    proof,
    skill_table,
    thrift,
)
from generator.analysis.gaps import Gaps, find_gaps
from generator.analysis.inventory import Inventory, inventory_of
from generator.analysis.ladders import Comparison, compare
from generator.analysis.wear import Planned, Saving, TrainerWear, planned_attempts, savings, wear_of
from generator.model import Curriculum


@dataclass(frozen=True, slots=True, kw_only=True)
class SkillAnalysis:
    """What is computed about one skill. `findings` go by rule: honest-first, proof, fit, thrift."""

    table: SkillTable
    meetings: tuple[Meeting, ...]
    findings: tuple[Finding, ...]
    comparison: Comparison


@dataclass(frozen=True, slots=True, kw_only=True)
class Analysis:
    """Everything that is computed about trainers, ladders and the course. Skills by id."""

    inventory: Inventory
    table: LabTable
    skills: Mapping[str, SkillAnalysis]
    gaps: Gaps
    absences: tuple[Absence, ...]
    course: Course
    planned: tuple[Planned, ...]
    wear: tuple[TrainerWear, ...]
    savings: tuple[Saving, ...]


def analyse(curriculum: Curriculum) -> Analysis:
    """All of it. Pure, and the same for the same curriculum."""
    inventory = inventory_of(curriculum)
    planned = planned_attempts(curriculum)
    skills = {
        id: SkillAnalysis(
            table=skill_table(curriculum, skill),
            meetings=meetings(curriculum, skill),
            findings=(
                *honest_first(curriculum, inventory, skill),
                *proof(curriculum, inventory, skill),
                *fit(curriculum, skill),
                *thrift(curriculum, inventory, skill),
            ),
            comparison=compare(curriculum, inventory, skill),
        )
        for id, skill in curriculum.skills.items()
    }
    return Analysis(
        inventory=inventory,
        table=lab_table(curriculum),
        skills=skills,
        gaps=find_gaps(curriculum),
        absences=absences(curriculum, {id: one.comparison.best for id, one in skills.items()}),
        course=course_of(curriculum),
        planned=planned,
        wear=wear_of(curriculum, planned),
        savings=savings(curriculum, planned),
    )
