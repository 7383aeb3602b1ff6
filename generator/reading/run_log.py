"""The log of a run, as the run page saves it: CSV, one row an event, read row by row. No row is lost without a word.

Columns: `second,clock,event,move,state,words`. The clock is the second once more, for people; it is not read. Cells
that a spreadsheet would run as a formula carry a leading apostrophe, which is taken off.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from pathlib import Path

from generator.diagnostics import Location, Problem, Severity
from generator.model import Scenario
from generator.model.run import HAPPENINGS, RunEvent
from generator.reading.attempt_rows import plain
from generator.reading.text import shown

COLUMNS = ("second", "clock", "event", "move", "state", "words")
MOST_SECONDS = 24 * 60 * 60
"""Ours: a run of more than a day is a slip of typing."""


def read_run_log(path: Path, scenario: Scenario) -> tuple[tuple[RunEvent, ...], tuple[Problem, ...]]:
    """The events of a log, and each row that is not one, or that this scenario does not know, with its line.

    Errors: OSError when the file cannot be opened.
    """
    data = path.read_bytes()
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        return (), (_problem(path, line, "This file is not UTF-8.", "Save it again as the run page gave it."),)
    try:
        return _read(path, text, scenario)
    except csv.Error as error:
        return (), (_problem(path, 1, f"This file is not CSV: {error}.", "Save it again as the run page gave it."),)


def _read(path: Path, text: str, scenario: Scenario) -> tuple[tuple[RunEvent, ...], tuple[Problem, ...]]:
    rows = _rows(text)
    line, header = next(rows, (1, []))
    names = [name.strip().lower() for name in header]
    if not {"second", "event"} <= set(names):
        remedy = f"The first line must be `{','.join(COLUMNS)}`."
        return (), (_problem(path, line, "The first line does not name the columns of a log.", remedy),)
    events: list[RunEvent] = []
    problems: list[Problem] = []
    for line, row in rows:
        found = _event(line, dict(zip(names, map(plain, row), strict=False))) if len(row) == len(names) else None
        if len(row) != len(names):
            message = f"This row has {len(row)} cells, not {len(names)}: {','.join(row)[:80]}"
            problems.append(_problem(path, line, message, "Put right the commas and quotes of this line."))
        elif isinstance(found, RunEvent):
            problems += _unknown(path, found, scenario)
            if events and found.second < events[-1].second:
                message = f"This row is at second {found.second}, before the one above it."
                problems.append(_problem(path, line, message, "It is read as it stands; check it.", is_error=False))
            events.append(found)
        else:
            problems.append(_problem(path, line, found or "", "It is left out; put it right and read the log again."))
    return tuple(events), tuple(problems)


def _rows(text: str) -> Iterator[tuple[int, list[str]]]:
    """Rows that are not empty, with the line that each begins on."""
    reader = csv.reader(io.StringIO(text, newline=""))
    before = 0
    for row in reader:
        if any(cell.strip() for cell in row):
            yield before + 1, row
        before = reader.line_num


def _event(line: int, cells: dict[str, str]) -> RunEvent | str:
    """The event of a row, or why it is none."""
    typed, kind = cells["second"], cells["event"]
    if not (typed.isascii() and typed.isdigit()) or len(typed) > 9 or int(typed) > MOST_SECONDS:
        return f"“{typed[:40]}” is not a number of whole seconds."
    known = next((one for one in HAPPENINGS if one == kind), None)
    if known is None:
        return f"“{kind[:40]}” is not an event; events are {', '.join(HAPPENINGS)}."
    id = cells.get("move") or None
    if known in ("move", "seen") and id is None:
        return f"This {known} does not say which."
    return RunEvent(
        line=line, second=int(typed), kind=known, id=id, to=cells.get("state") or None, words=cells.get("words", "")
    )


def _unknown(path: Path, event: RunEvent, scenario: Scenario) -> list[Problem]:
    """What the scenario does not know: the log may be of another one, or of an older state of this one."""
    moves = {move.id for state in scenario.states for move in state.moves}
    states = {state.id for state in scenario.states}
    found: Sequence[str] = [
        *([f"the move “{event.id}”"] if event.kind == "move" and event.id not in moves else []),
        *([f"the state “{event.to}”"] if event.to is not None and event.to not in states else []),
    ]
    return [
        _problem(
            path,
            event.line,
            f"The scenario `{scenario.id}` does not know {what}.",
            "Name the scenario that was run; if it has changed since, the row counts for nothing.",
            is_error=False,
        )
        for what in found
    ]


def _problem(path: Path, line: int, message: str, remedy: str, *, is_error: bool = True) -> Problem:
    severity = Severity.ERROR if is_error else Severity.WARNING
    said = shown(message, 400)
    return Problem(
        location=Location(path.name, line), rule="run-log", message=said, remedy=remedy, severity=severity
    )
