"""The worth tables for a spreadsheet: everything against everything, one file for the lab and one for each skill."""

from __future__ import annotations

from collections.abc import Iterable

from generator.analysis.feedback import lab_table, skill_table
from generator.model import Curriculum, Skill
from generator.rendering.tables.csv import csv_text

NO_FIT = "no fit"
"""The trainer does not take what the step fits, or stands for other patients."""


def worth_path(skill: str | None = None) -> str:
    """Where the site keeps a table: `tables/worth-lab.csv`, or `tables/worth-skill-choking.csv` for a skill."""
    return f"tables/worth-skill-{skill}.csv" if skill else "tables/worth-lab.csv"


def worth_tables(curriculum: Curriculum) -> dict[str, str]:
    """All worth tables by path relative to the site."""
    return {
        worth_path(): lab_csv(curriculum),
        **{worth_path(skill.id): skill_csv(curriculum, skill) for skill in curriculum.skills.values()},
    }


def lab_csv(curriculum: Curriculum) -> str:
    """Techniques against all trainers."""
    table = lab_table(curriculum)
    return csv_text(
        ("technique id", "technique", *_heads(curriculum, table.trainers)),
        [(row.technique, _name(curriculum, row.technique), *row.worths) for row in table.rows],
    )


def skill_csv(curriculum: Curriculum, skill: Skill) -> str:
    """Critical steps and the techniques that they rest on against all trainers."""
    table = skill_table(curriculum, skill)
    numbers = {step.id: number for number, step in enumerate(skill.steps, 1)}
    rows = []
    for row in table.rows:
        cells = (worth if fits else NO_FIT for worth, fits in zip(row.worths, row.accepts, strict=True))
        rows.append((numbers[row.step], row.step, row.technique, _name(curriculum, row.technique), *cells))
    return csv_text(
        ("step", "step id", "technique id", "technique", *_heads(curriculum, table.trainers)),
        rows,
    )


def _heads(curriculum: Curriculum, trainers: Iterable[str]) -> list[str]:
    return [f"{curriculum.trainers[id].name} ({id})" for id in trainers]


def _name(curriculum: Curriculum, technique: str) -> str:
    record = curriculum.techniques.get(technique)
    return record.name if record else technique
