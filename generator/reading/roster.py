"""A roster: CSV with the column `learner` and, where it is not peers who score, `role`."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path

from generator.diagnostics import Location, Problem
from generator.model.roster import RosterLine
from generator.reading.text import shown

CODE = re.compile(r"[A-Z0-9][A-Z0-9.\-]{0,19}")
"""What a code on paper can hold without loss: ISO/IEC 18004 packs capitals and digits tightly."""


def read_roster(path: Path) -> tuple[tuple[RosterLine, ...], tuple[Problem, ...]]:
    """The lines of a roster in order, and a problem for each that is wrong; OSError when it cannot be opened."""
    text = path.read_bytes().decode("utf-8-sig", "replace")
    reader = csv.DictReader(io.StringIO(text, newline=""))
    if "learner" not in (reader.fieldnames or ()):
        what = "The first line has no column `learner`."
        return (), (_problem(path, 1, what, "Write the names of the columns in the first line: learner,role."),)
    lines: dict[str, RosterLine] = {}
    problems: list[Problem] = []
    for row in reader:
        learner, role = ((row.get(name) or "").strip() for name in ("learner", "role"))
        if not learner and not role:
            continue
        if CODE.fullmatch(learner) is None:
            remedy = "Use a code of at most 20 capitals, digits, dots and hyphens: never a name."
            problems.append(_problem(path, reader.line_num, f"`{shown(learner)}` is not a code for paper.", remedy))
        elif role not in ("", "peer", "instructor"):
            remedy = "Write peer or instructor, or leave it empty for peer."
            problems.append(_problem(path, reader.line_num, f"`{shown(role)}` is not a role.", remedy))
        elif learner in lines:
            remedy = "Keep one of the lines."
            problems.append(_problem(path, reader.line_num, f"{learner} stands here twice.", remedy))
        else:
            lines[learner] = RosterLine(learner=learner, role="instructor" if role == "instructor" else "peer")
    return tuple(lines.values()), tuple(problems)


def _problem(path: Path, line: int, message: str, remedy: str) -> Problem:
    return Problem(location=Location(path.name, line, 1), rule="roster-unread", message=message, remedy=remedy)
