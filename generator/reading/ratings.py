"""Raters' estimates for a skill's cut score, from a CSV that a person can type.

Three columns, named in the first line in any order: `step` (its id, or its number on the sheet), `rater` (a code, no
name) and `estimate`: of 100 learners who are only just ready, how many would do this step, from 0 to 100.
A row that cannot be read is set aside with its line and reason; nothing is guessed.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from generator.diagnostics import Location, Problem, Related, Severity
from generator.model import Skill

COLUMNS = ("step", "rater", "estimate")
_LARGEST = 5_000_000
"""Bytes; ratings of one skill take a few thousand."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ratings:
    """Estimates of one skill. Raters in the order in which they first appear in the file."""

    skill: str
    raters: tuple[str, ...]
    estimates: Mapping[tuple[str, str], float]
    """Chance from 0 to 1 by (step id, rater)."""


def read_ratings(path: Path, skill: Skill) -> tuple[Ratings | None, tuple[Problem, ...]]:
    """Read a file of estimates. None when no row of it could be used; the problems say why."""
    try:
        content = path.read_bytes()
    except OSError as error:
        return None, (_problem(path, 1, f"it cannot be opened: {error.strerror}", "Name a CSV file that exists."),)
    return ratings_of(content, path.name, skill)


def ratings_of(content: bytes, name: str, skill: Skill) -> tuple[Ratings | None, tuple[Problem, ...]]:
    """The same from the bytes of a file; `name` is how problems call it."""
    path = Path(name)
    if len(content) > _LARGEST:
        return None, (_problem(path, 1, "it is far too large for ratings of one skill", "Keep only the ratings."),)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        return None, (_problem(path, line, "it is not UTF-8 text", "Save it as CSV UTF-8."),)
    problems: list[Problem] = []
    rows = _rows(text, path, problems)
    header = [cell.strip().lower() for cell in rows[0][1]] if rows else []
    missing = [column for column in COLUMNS if header.count(column) != 1]
    if missing:
        found = f"the first line must name each of {', '.join(COLUMNS)} once; look at {', '.join(missing)}"
        return None, (*problems, _problem(path, 1, found, "Start the file with: step,rater,estimate"))
    at = {column: header.index(column) for column in COLUMNS}
    estimates: dict[tuple[str, str], float] = {}
    lines: dict[tuple[str, str], int] = {}
    for line, cells in rows[1:]:
        if len(cells) != len(header):
            said = f"{len(cells)} cells where the first line has {len(header)}"
            problems.append(_problem(path, line, said, "Give each row a step, a rater and an estimate."))
            continue
        step, rater, typed = (cells[at[column]].strip() for column in COLUMNS)
        id, estimate = _step(step, skill), _estimate(typed)
        if id is None:
            problems.append(_problem(path, line, f"{skill.id} has no step {step!r}", _steps_hint(skill)))
        elif not rater:
            problems.append(_problem(path, line, "the rater is missing", "Give each rater a code, never a name."))
        elif estimate is None:
            problems.append(_problem(path, line, f"{typed!r} is no estimate", "Write a number from 0 to 100."))
        elif (id, rater) in estimates:
            first = Related(location=Location(name, lines[id, rater]), message="the first one, which counts")
            said = f"rater {rater} has rated step {id} before"
            problems.append(_problem(path, line, said, "Keep one of the two.", (first,)))
        else:
            estimates[id, rater], lines[id, rater] = estimate / 100, line
    if estimates and 0 < max(estimates.values()) <= 0.01:
        said = "no estimate is above 1; they are counted out of 100, so this looks like shares"
        return None, (*problems, _problem(path, 1, said, "Write 80 for 80 of 100, not 0.8."))
    if not estimates:
        return None, (*problems, _problem(path, 1, "no estimate could be read", "Type one row a step and rater."))
    raters = tuple(dict.fromkeys(rater for _, rater in estimates))
    return Ratings(skill=skill.id, raters=raters, estimates=estimates), tuple(problems)


def _rows(text: str, path: Path, problems: list[Problem]) -> list[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text.replace("\0", "\ufffd"), newline=""))
    rows: list[tuple[int, list[str]]] = []
    line = 1
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return rows
        except csv.Error as error:
            problems.append(_problem(path, line, f"the row cannot be split into cells: {error}", "Mend its quotes."))
            cells = []
        if any(cell.strip() for cell in cells):
            rows.append((line, cells))
        line = reader.line_num + 1


def _step(typed: str, skill: Skill) -> str | None:
    ids = [step.id for step in skill.steps]
    if re.fullmatch(r"[0-9]{1,4}", typed):
        return ids[int(typed) - 1] if 1 <= int(typed) <= len(ids) else None
    return typed if typed in ids else None


def _estimate(typed: str) -> float | None:
    if not re.fullmatch(r"[0-9]{1,3}(\.[0-9]{1,4})?", typed):
        return None
    return float(typed) if float(typed) <= 100 else None


def _steps_hint(skill: Skill) -> str:
    return f"Write a number from 1 to {len(skill.steps)}, or one of: {', '.join(step.id for step in skill.steps)}."


def _problem(path: Path, line: int, message: str, remedy: str, related: tuple[Related, ...] = ()) -> Problem:
    return Problem(
        location=Location(path.name, line),
        rule="rating-unread",
        message=message,
        remedy=remedy,
        severity=Severity.ERROR,
        related=related,
    )
