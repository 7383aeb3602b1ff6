"""A sheet as a value: what is printed on it, and the revision that names exactly that."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any, Literal, get_args

from generator.model import Paper
from generator.model.skill import EvaluatorRole

Kind = Literal[
    "checklist",
    "practice",
    "trainer",
    "station",
    "poster",
    "timetable",
    "worth",
    "facilitator",
    "patient",
    "observer",
]
KINDS: tuple[Kind, ...] = get_args(Kind)

LAYOUT = 1
"""Raised by hand whenever boxes move in the layout, so that an old print is never read with new places."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Address:
    """For whom one print of a checklist is, so that its marks need no typing when it is read back."""

    learner: str
    """A code of capitals, digits, dots and hyphens."""
    role: EvaluatorRole
    on: date
    rung: str
    trainer: str | None = None
    """Given only where the ladder has several trainers on the rung."""
    copy: int = 1

    @property
    def code(self) -> str:
        """What the sheet code says after the sheet's own part."""
        rung = f"{self.rung}.{self.trainer}" if self.trainer else self.rung
        return f"{self.learner}:{self.role[0]}:{self.on:%Y%m%d}:{rung}:{self.copy}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One printable. `data` is all that is printed, apart from the revision, the paper and the two codes."""

    kind: Kind
    id: str
    """Id of the skill or of the trainer."""
    title: str
    page: str
    """Address of its page, relative to the handbook's address."""
    data: Mapping[str, Any] = field(hash=False)
    revision: str
    """First 8 hexadecimal digits of SHA-256 over the canonical JSON of `data`."""
    address: Address | None = None
    """For whom this print is; no part of the revision, because the sheet is the same."""

    @property
    def name(self) -> tuple[str, str, str]:
        """What tells this print from others of one edition: kind, id and address."""
        return self.kind, self.id, self.address.code if self.address else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Typeset:
    """A finished sheet: a tagged PDF, and where its boxes, corners and codes stand (millimetres from top left)."""

    pdf: bytes
    geometry: dict[str, Any] = field(hash=False)
    places: tuple[Path, Path] | None = field(default=None, compare=False)
    """Where the PDF and its geometry lie in the store, if they could be kept there."""

    def geometry_json(self) -> bytes:
        """The geometry as the file that stands beside the PDF, which it names: the same bytes for the same places."""
        named = {**self.geometry, "pdf_sha256": hashlib.sha256(self.pdf).hexdigest()}
        return (json.dumps(named, sort_keys=True, ensure_ascii=False, indent=1) + "\n").encode()


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """A sheet to be typeset on a paper."""

    sheet: Sheet
    paper: Paper


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetChange:
    """A sheet whose printed content is not what it was. Revisions are None where the sheet did not exist."""

    what: Literal["added", "removed", "changed"]
    kind: Kind
    id: str
    title: str
    old_revision: str | None
    new_revision: str | None

    def __str__(self) -> str:
        """One line for a terminal: `changed: checklist choking, 1a2b3c4d → 5e6f7a8b (Choking, adult)`."""
        revisions = " → ".join(revision for revision in (self.old_revision, self.new_revision) if revision)
        return f"{self.what}: {self.kind} {self.id}, {revisions} ({self.title})"


def canonical(value: Any) -> str:
    """JSON with sorted keys and no spaces: the same text for the same content."""
    return json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":"))


def revision_of(data: Mapping[str, Any]) -> str:
    """The revision that names exactly this printed content."""
    return digest(canonical(data))[:8]


def digest(text: str) -> str:
    """SHA-256 in hexadecimal; text that UTF-8 cannot carry is marked, not refused."""
    return hashlib.sha256(text.encode("utf-8", "backslashreplace")).hexdigest()


def file_name(sheet: Sheet, paper: Paper, ending: Literal["pdf", "json"] = "pdf") -> str:
    """Where the site keeps a sheet, such as `sheets/checklist-choking-a4.pdf`; `json` is its geometry."""
    return f"sheets/{sheet.kind}-{sheet.id}-{paper}.{ending}"


def changes(old: Sequence[Sheet], new: Sequence[Sheet]) -> tuple[SheetChange, ...]:
    """Sheets to reprint or to withdraw, by kind and id."""
    before = {(sheet.kind, sheet.id): sheet for sheet in old}
    after = {(sheet.kind, sheet.id): sheet for sheet in new}
    found: list[SheetChange] = []
    for name in sorted(before.keys() | after.keys()):
        was, now = before.get(name), after.get(name)
        if was and now and was.revision == now.revision:
            continue
        found.append(
            SheetChange(
                what="changed" if was and now else "added" if now else "removed",
                kind=name[0],
                id=name[1],
                title=now.title if now else was.title if was else "",
                old_revision=was.revision if was else None,
                new_revision=now.revision if now else None,
            )
        )
    return tuple(found)
