"""What was kept of one run of a scenario: the log that the run page saves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

Happening = Literal["start", "move", "seen", "note", "stop", "go", "end"]
HAPPENINGS: tuple[Happening, ...] = get_args(Happening)
"""`seen` is a step that was seen to be done; `stop` and `go` hold the clock and let it run; `end` ends by hand."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RunEvent:
    """One row of the log."""

    line: int
    """Line of the file."""
    second: int
    """Whole seconds on the scenario's clock."""
    kind: Happening
    id: str | None
    """The move that happened, or `skill/step` of a step that was seen."""
    to: str | None
    """The state that was entered."""
    words: str
