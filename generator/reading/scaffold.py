"""First files: a valid record of each kind, with every sentence still to be written."""

from __future__ import annotations

import os
import re
from pathlib import Path

from generator.model import Curriculum
from generator.model.base import ID_PATTERN
from generator.reading import read_curriculum

TO_WRITE = "To be written."


class ScaffoldError(Exception):
    """The file cannot be made; the text says why and what to do."""


def scaffold(folder: Path, kind: str, id: str, *, strand: str | None = None) -> Path:
    """Write the first file of a record and return its path. An existing file is never touched.

    Raises ScaffoldError when the id or strand will not do, or the curriculum lacks what the record must name.
    """
    if not re.fullmatch(ID_PATTERN, id):
        raise ScaffoldError(f"{id!r} is not an id. Use small letters, digits and single hyphens, such as oral-adjunct.")
    curriculum, problems = read_curriculum(folder)
    if curriculum is None:
        where = problems[0].location if problems else folder
        raise ScaffoldError(f"The program cannot be read ({where}). Run `rungbook check` first.")
    makers = {"skill": _skill, "trainer": _trainer, "station": _station, "lab": _lab}
    path, text = makers[kind](curriculum, id, strand)
    target = folder / path
    target.parent.mkdir(parents=True, exist_ok=True)
    try:
        with os.fdopen(os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o644), "w", encoding="utf-8") as stream:
            stream.write(text)
    except FileExistsError:
        raise ScaffoldError(f"{target} is already there and was left as it is.") from None
    return target


def _first(found: object, what: str) -> str:
    names = list(found)  # type: ignore[call-overload]
    if not names:
        raise ScaffoldError(f"Write a {what} first: this record must name one.")
    return str(names[0])


def _skill(curriculum: Curriculum, id: str, strand: str | None) -> tuple[str, str]:
    strands = [known.id for known in curriculum.program.strands]
    chosen = strand or _first(strands, "strand")
    if chosen not in strands:
        raise ScaffoldError(f"No strand is called {chosen}. Strands: {', '.join(strands)}.")
    rung = curriculum.program.rungs[0].id if curriculum.program.rungs else ""
    last = curriculum.program.rungs[-1].id if curriculum.program.rungs else ""
    trainer = _first(curriculum.trainers, "trainer")
    level = _first([known.id for known in curriculum.program.levels], "level")
    text = f"""\
# yaml-language-server: $schema=../../.schema/skill.json
id: {id}
title: {_title(id)}
also_called: []
strand: {chosen}
levels: [{level}]
levels_provisional: {TO_WRITE}
minutes_per_attempt: 5
summary: {TO_WRITE}
cautions:
  - level: caution
    what: {TO_WRITE}
    why: {TO_WRITE}
steps:
  - id: first-step
    do: Say what you are about to do.
    see: {TO_WRITE}
ladder:
  - rung: {rung}
    trainer: {trainer}
    aim: {TO_WRITE}
    pass_rule: {{clean_in_a_row: 3, scored_by: peer}}
  - rung: {last}
    trainer: {trainer}
    aim: {TO_WRITE}
    pass_rule: {{clean_in_a_row: 3, scored_by: instructor}}
clearance:
  rung: {last}
  clean_in_a_row: 3
  scored_by: instructor
  valid_months: 12
  after_a_fail: {TO_WRITE}
evidence: []
reviewed:
  on: 2000-01-01
  by: Nobody yet
"""
    return f"skills/{chosen}/{id}.yaml", text


def _trainer(curriculum: Curriculum, id: str, strand: str | None) -> tuple[str, str]:
    technique = _first(curriculum.techniques, "technique")
    text = f"""\
# yaml-language-server: $schema=../.schema/trainer.json
id: {id}
name: {_title(id)}
summary: {TO_WRITE}
feedback:
  {technique}:
    worth: silent
    shows: {TO_WRITE}
accepts: []
setup_minutes: 5
setup:
  - {TO_WRITE}
cleaning:
  - {TO_WRITE}
wear:
  purchase: 0
  rated_attempts: 1
units: 0
"""
    return f"trainers/{id}.yaml", text


def _station(curriculum: Curriculum, id: str, strand: str | None) -> tuple[str, str]:
    skill = curriculum.skills[_first(curriculum.skills, "skill")]
    plan = skill.ladder[0] if skill.ladder else None
    if plan is None:
        raise ScaffoldError(f"Give the skill {skill.id} a ladder first: a station stands on one of its rungs.")
    text = f"""\
# yaml-language-server: $schema=../.schema/station.json
id: {id}
title: {_title(id)}
skill: {skill.id}
rung: {plan.rung}
trainer: {plan.trainer}
minutes: 20
set_up:
  - {TO_WRITE}
brief: {TO_WRITE}
peers: {TO_WRITE}
reset:
  - {TO_WRITE}
"""
    return f"stations/{id}.yaml", text


def _lab(curriculum: Curriculum, id: str, strand: str | None) -> tuple[str, str]:
    station = _first(curriculum.stations, "station")
    text = f"""\
# yaml-language-server: $schema=../.schema/lab.json
id: {id}
title: {_title(id)}
on: 2000-01-01
start: "09:00"
block_minutes: 20
change_over_minutes: 5
learners: 4
group_size: 4
stations:
  - station: {station}
"""
    return f"labs/{id}.yaml", text


def _title(id: str) -> str:
    words = id.replace("-", " ")
    return words[0].upper() + words[1:]
