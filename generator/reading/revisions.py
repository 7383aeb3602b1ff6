"""The file that says which steps each printed sheet listed."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from generator.diagnostics import Location, Problem
from generator.model.attempt import KnownRevision


def read_revisions(path: Path) -> tuple[dict[str, KnownRevision], tuple[Problem, ...]]:
    """Known revisions by revision, and what in the file is not one. A file that is not there knows none."""
    try:
        data = json.loads(path.read_bytes())
    except FileNotFoundError:
        return {}, ()
    except (ValueError, RecursionError) as error:
        return {}, (_problem(path, f"This file is not JSON: {error}."),)
    if not isinstance(data, dict):
        return {}, (_problem(path, "This file does not hold revisions by name."),)
    known: dict[str, KnownRevision] = {}
    problems: list[Problem] = []
    for revision, value in data.items():
        one = _revision(revision, value)
        if one is None:
            problems.append(
                _problem(path, f"Revision {revision[:40]} does not say its skill, steps and critical steps.")
            )
        else:
            known[revision] = one
    return known, tuple(problems)


def _revision(revision: str, value: Any) -> KnownRevision | None:
    if not isinstance(value, dict) or not isinstance(value.get("skill"), str):
        return None
    steps, critical = _texts(value.get("steps")), _texts(value.get("critical"))
    if steps is None or critical is None or not set(critical) <= set(steps):
        return None
    return KnownRevision(revision=revision, skill=value["skill"], steps=steps, critical=critical)


def _texts(value: Any) -> tuple[str, ...] | None:
    return tuple(value) if isinstance(value, list) and all(isinstance(one, str) for one in value) else None


def _problem(path: Path, message: str) -> Problem:
    return Problem(
        location=Location(path.name),
        rule="revisions-unreadable",
        message=message,
        remedy="Take the file that `rungbook print` keeps beside the sheets.",
    )
