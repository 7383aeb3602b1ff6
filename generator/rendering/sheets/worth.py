"""What the worth table prints, of the whole lab or of one skill, as plain data."""

from __future__ import annotations

from typing import Any

from generator.analysis.inventory import Inventory
from generator.analysis.worth import WorthTable, lab_worth, skill_worth
from generator.model import Curriculum, Skill
from generator.rendering.sheets import words

ACROSS = 7
"""Trainers beside each other: as many as the safe width holds in type that can be read."""


def lab_worth_of(curriculum: Curriculum) -> dict[str, Any]:
    """The lab's table, one strand after another."""
    strands = curriculum.program.strands
    parts = [
        part
        for table in lab_worth(curriculum)
        for part in _parts(
            curriculum,
            table,
            curriculum.name_of(strands, table.strand) if table.strand else curriculum.say("Not in use yet"),
        )
    ]
    lead = curriculum.say("Every technique in use, by strand, against the trainers that say something of it.")
    return _data(curriculum, parts, lead)


def skill_worth_of(curriculum: Curriculum, inventory: Inventory, skill: Skill) -> dict[str, Any]:
    """A skill's table: its critical steps against the trainers of its ladder and the owned ones that fit."""
    parts = _parts(curriculum, skill_worth(curriculum, inventory, skill), curriculum.say("Critical steps"))
    lead = curriculum.say("The trainers of the ladder come first, then the owned ones that would fit.")
    return _data(curriculum, parts, lead)


def _data(curriculum: Curriculum, parts: list[dict[str, Any]], lead: str) -> dict[str, Any]:
    fits = any(cell["worth"] == "unfit" for part in parts for row in part["rows"] for cell in row["cells"])
    return {
        "words": dict(words.WORTH),
        "lead": lead,
        "key": [
            {"worth": str(worth), "word": curriculum.say(word), "means": f"{means}."}
            for worth, word, means in words.WORTHS
        ]
        + ([{"worth": "unfit", "word": words.WORTH["unfit"], "means": words.WORTH["unfit_means"]}] if fits else []),
        "parts": parts,
        "end": curriculum.say("End of worth table."),
    }


def _parts(curriculum: Curriculum, table: WorthTable, heading: str) -> list[dict[str, Any]]:
    """The table cut into pieces that fit the paper; rows on which a whole piece is silent are named below it."""
    starts = range(0, len(table.columns), ACROSS)
    found = []
    for number, start in enumerate(starts, 1):
        columns = table.columns[start : start + ACROSS]
        rows, left_out = [], []
        for row in table.rows:
            cells = [str(cell) if cell else "unfit" for cell in row.cells[start : start + ACROSS]]
            if set(cells) <= {"silent", "unfit"}:
                step = curriculum.say("step {number} {name}", number=row.number, name=row.name)
                left_out.append(step if row.step else row.name)
                continue
            rows.append(
                {
                    "step": f"{row.number}" if row.step else None,
                    "name": row.name,
                    "cells": [{"worth": cell, "word": curriculum.say(_WORDS[cell])} for cell in cells],
                }
            )
        if rows:
            found.append(
                {
                    "heading": heading
                    + (
                        curriculum.say(", {number} of {count}", number=number, count=len(starts))
                        if len(starts) > 1
                        else ""
                    ),
                    "columns": [
                        {"name": column.name, "note": _note(curriculum, column.rungs, is_owned=column.is_owned)}
                        for column in columns
                    ],
                    "rows": rows,
                    "left_out": _left_out(curriculum, left_out),
                }
            )
    return found


_WORDS = {str(worth): word.lower() for worth, word, _ in words.WORTHS} | {"unfit": words.WORTH["unfit"]}


def _note(curriculum: Curriculum, rungs: tuple[int, ...], *, is_owned: bool) -> str | None:
    if rungs:
        return curriculum.say("rung {numbers}", numbers=", ".join(str(number) for number in rungs))
    return None if is_owned else curriculum.say("not owned")


def _left_out(curriculum: Curriculum, names: list[str]) -> str | None:
    return curriculum.say("None of these trainers answers for: {names}.", names="; ".join(names)) if names else None
