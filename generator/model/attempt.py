"""One scored attempt of one learner, and a row of a file that could not be taken for one.

These are plain slotted records, not validated models: a file may hold a million of them, and the reader has looked at
every field already. Learners and evaluators are codes, never names.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from generator.model.skill import EvaluatorRole


@dataclass(frozen=True, slots=True, kw_only=True)
class Attempt:
    """What one evaluator marked of one attempt. Every step of the rung was done but `missed` and `unseen`.

    Two evaluators who watched the same attempt write its id in `attempt` twice, each with their own marks.
    """

    line: int
    """Line of the file on which the row begins, from 1."""
    on: date
    learner: str
    skill: str
    rung: str
    trainer: str
    evaluator: str
    role: EvaluatorRole
    team_role: str
    """Role in the team; empty in a skill for one person."""
    attempt: str
    """Id of the attempt. Attempts of one day are taken in the order of their ids, with 2 before 10."""
    revision: str
    """Revision of the sheet that was marked; empty when it was not written down."""
    missed: tuple[str, ...] = ()
    """Step ids, each once, in the order of the sheet."""
    unseen: tuple[str, ...] = ()
    """Steps that nobody could see."""
    failing: tuple[str, ...] = ()
    """The critical ones among the missed steps, by the sheet that was marked."""
    note: str = ""
    flag: str = ""
    """Why a person should look at this row although it was judged; empty when there is nothing to look at."""

    @property
    def is_clean(self) -> bool:
        """Whether every step was seen to be done."""
        return not self.missed and not self.unseen

    @property
    def is_failed(self) -> bool:
        """Whether a critical step was missed. A critical step that was not seen is neither clean nor failed."""
        return bool(self.failing)


@dataclass(frozen=True, slots=True, kw_only=True)
class SetAside:
    """A row that was not judged: kept as it was typed, with the reason and what to do about it."""

    line: int
    text: str
    """The row as it stands in the file."""
    rule: str
    """Name of the reason, such as `date-unreadable`: the same for every row with this trouble."""
    reason: str
    remedy: str


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownRevision:
    """What a printed sheet of a skill listed, so that a row marked on it is judged by its own steps."""

    revision: str
    skill: str
    steps: tuple[str, ...]
    critical: tuple[str, ...]
    is_current: bool = False
    """Whether today's curriculum prints exactly this sheet."""
