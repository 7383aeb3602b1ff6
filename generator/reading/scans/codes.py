"""What the code on a sheet says: which sheet and page it is and, where it was printed for someone, for whom."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

from generator.model import Paper
from generator.model.skill import EvaluatorRole

_PART = r"([a-z0-9][a-z0-9.\-]*)"
_CODE = re.compile(
    rf"{_PART}:{_PART}:([0-9a-f]{{8}}):(a4|us-letter):(\d{{1,3}})(?::{_PART}:([pi]):(\d{{8}}):{_PART}:(\d{{1,6}}))?"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Address:
    """For whom a sheet was printed. Codes are in capitals, as the code on paper holds them."""

    learner: str
    role: EvaluatorRole
    on: date
    rung: str
    """Id of the rung, with `:` and the trainer where the ladder has several trainers on it."""
    copy: int
    """Number of the print, so that two sheets for one learner at one rung on one day stay apart."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetCode:
    """One page of one sheet."""

    kind: str
    id: str
    revision: str
    paper: Paper
    page: int
    address: Address | None = None

    @property
    def key(self) -> tuple[str, str, str, str]:
        """What a geometry is found by."""
        return self.kind, self.id, self.revision, self.paper


def parse_code(text: str) -> SheetCode | None:
    """The sheet that a code names, or None for any other code."""
    match = _CODE.fullmatch(text.strip().lower()) if len(text) < 400 else None
    if match is None:
        return None
    kind, id, revision, paper, page, learner, role, day, rung, copy = match.groups()
    address = None
    if learner is not None:
        try:
            on = date(int(day[:4]), int(day[4:6]), int(day[6:]))
        except ValueError:
            return None
        address = Address(
            learner=learner.upper(),
            role="instructor" if role == "i" else "peer",
            on=on,
            rung=rung.replace(".", ":"),
            copy=int(copy),
        )
    return SheetCode(
        kind=kind,
        id=id,
        revision=revision,
        paper="a4" if paper == "a4" else "us-letter",
        page=int(page),
        address=address,
    )
