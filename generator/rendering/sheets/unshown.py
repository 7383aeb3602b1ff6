"""Characters that no font of the sheets can show, told as problems: their numbers are printed in their place."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from pathlib import PurePosixPath
from typing import Any

from generator.diagnostics import Location, Problem, Severity

KEY = "not_shown"
"""In the geometry of a sheet: what could not be shown. Absent where all could, which is the usual case."""
RULE = "sheet-letter-missing"


def unshown(geometries: Iterable[tuple[str, Mapping[str, Any]]]) -> tuple[Problem, ...]:
    """A warning for each sheet with such characters, whatever its papers, from the geometries of PDFs by their path."""
    found: dict[tuple[str, str], Problem] = {}
    for file, geometry in geometries:
        for problem in unshown_in(file, geometry):
            found.setdefault((geometry["kind"], geometry["id"]), problem)
    return tuple(found.values())


def unshown_in(file: str, geometry: Mapping[str, Any]) -> tuple[Problem, ...]:
    """One warning, if a PDF of this geometry has such characters."""
    return (_problem(file, geometry[KEY]),) if KEY in geometry else ()


def _problem(file: str, texts: Sequence[str]) -> Problem:
    letters = ", ".join(f"“{text}” ({_numbers(text)})" for text in texts)
    return Problem(
        location=Location(file),
        rule=RULE,
        message=f"No font of the sheets has {letters}. {PurePosixPath(file).name} prints the number instead.",
        remedy="Write it otherwise. The fonts have Latin, Greek, Cyrillic, Hebrew and Arabic letters and common signs.",
        severity=Severity.WARNING,
    )


def _numbers(text: str) -> str:
    return " ".join(f"U+{ord(character):04X}" for character in text)
