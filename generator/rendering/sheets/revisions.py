"""Which steps each printed sheet listed, by its revision, so that a later program can judge marks made on it."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping

from generator.model.attempt import KnownRevision
from generator.rendering.sheets.sheet import Sheet

FILE = "revisions.json"
"""Name of the file that stands beside the sheets."""


def known_revisions(sheets: Iterable[Sheet], *, is_current: bool = True) -> dict[str, KnownRevision]:
    """Steps and critical steps of checklists and practice cards, by revision."""
    return {
        sheet.revision: KnownRevision(
            revision=sheet.revision,
            skill=sheet.id,
            steps=tuple(step["id"] for step in sheet.data["steps"]),
            critical=tuple(step["id"] for step in sheet.data["steps"] if step["critical"]),
            is_current=is_current,
        )
        for sheet in sheets
        if sheet.kind in ("checklist", "practice")
    }


def revisions_json(known: Mapping[str, KnownRevision]) -> str:
    """The file: revision to skill, steps and critical steps. Whether one is current is not kept; it changes."""
    return (
        json.dumps(
            {
                revision: {"skill": one.skill, "steps": one.steps, "critical": one.critical}
                for revision, one in sorted(known.items())
            },
            indent=1,
        )
        + "\n"
    )
