"""What readiness gives back. Plain records; nothing is rounded here and no text is marked up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from generator.analysis.statistics.result import Interval, Undefined
from generator.analysis.statistics.runs import AttemptsNeeded, MeanWait


class Status(StrEnum):
    """How a learner stands on a skill. The text is ready to be shown."""

    NOT_STARTED = "not started"
    PRACTISING = "practising"
    READY = "ready to check"
    CLEARED = "cleared"
    REFRESH_DUE = "refresh due"
    ON_HOLD = "on hold"

    @property
    def height(self) -> int:
        """How far along it is, from 0: a clean attempt that is added never lowers it."""
        return _HEIGHTS[self]


_HEIGHTS = {
    Status.NOT_STARTED: 0,
    Status.ON_HOLD: 1,
    Status.PRACTISING: 2,
    Status.READY: 3,
    Status.REFRESH_DUE: 4,
    Status.CLEARED: 5,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Next:
    """What the learner does next: this rung on this trainer. With `is_check` an instructor scores it for clearance."""

    rung: str
    trainer: str
    what: str
    """In words: `3 more clean attempts in a row on Combine with the Read-out torso`."""
    is_check: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Coach:
    """A step to coach: missed in `missed` of the learner's last `attempts` attempts at the skill."""

    step: str
    missed: int
    attempts: int
    is_critical: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """One learner on one skill, on the day that was asked about."""

    learner: str
    skill: str
    status: Status
    reasons: tuple[str, ...]
    """Sentences, the deciding one first."""
    rung: str | None = None
    """The rung being worked on: the lowest that is not passed, or the clearance rung. None before the first attempt."""
    trainer: str | None = None
    """The trainer of that rung."""
    clean_in_a_row: int = 0
    """Clean attempts in a row at this moment on that rung, by those whose marks count there."""
    needed_in_a_row: int = 0
    passed: tuple[tuple[str, str], ...] = ()
    """(rung, trainer) of the ladder that are passed, lowest first."""
    next: Next | None = None
    coach: tuple[Coach, ...] = ()
    """Critical steps first."""
    cleared_on: date | None = None
    """The last day on which the clearance rule was met."""
    valid_until: date | None = None
    failed_on: date | None = None
    """The last failed check."""
    last_success: date | None = None
    """The last clean attempt on the clearance rung, whoever scored it."""
    practise_by: date | None = None
    """As long after the last success as a clearance is valid: a peer's clean attempt moves this, not `valid_until`."""
    first_on: date | None = None
    last_on: date | None = None
    attempts: int = 0
    clean: int = 0
    """Clean ones among `attempts`, on every rung."""
    share_clean: int = 0
    share_of: int = 0
    """Clean attempts and attempts on the rung being worked on: what `interval` is about."""
    interval: Interval | Undefined | None = None
    """Wilson's 95% interval for the share of clean attempts on that rung; None before the first attempt."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Refresh:
    """A clearance and the last day on which it holds."""

    learner: str
    skill: str
    valid_until: date
    last_success: date | None
    practise_by: date | None
    is_over: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ToCheck:
    """A learner to be checked in a skill on a lab day."""

    learner: str
    skill: str
    status: Status
    why: str
    rung: str
    trainer: str
    stations: tuple[str, ...]
    """Stations of that day with this skill; one at the clearance rung stands first."""
    is_at_rung: bool
    """Whether one of these stations is at the clearance rung; otherwise somebody must bring the trainer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LabList:
    """Whom to check on one lab day, by skill in the curriculum's order, then by learner."""

    lab: str
    on: date
    checks: tuple[ToCheck, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StepMisses:
    """How often one step was missed on one rung and trainer, by all learners."""

    skill: str
    step: str
    rung: str
    trainer: str
    is_critical: bool
    missed: int
    seen: int
    """Attempts in which the step was practised and seen."""
    unseen: int
    interval: Interval | Undefined
    """Wilson's 95% interval for missed / seen."""
    may_go: bool
    """Whether one may ask if the list needs it: hardly ever missed, and not critical. Never set on a critical step."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """Learners on one side of a comparison: `share` is the mean of their own shares of attempts with a miss."""

    learners: tuple[str, ...]
    attempts: int
    missed: int
    share: float | None
    """None without learners."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CarryOverSeen:
    """A technique, and how often it was missed by those who first met it on a `given` trainer and by the others.

    The learner is the unit, not the attempt. `difference` is given first minus honest first.
    """

    technique: str
    given_first: Side
    honest_first: Side
    undecided: tuple[str, ...]
    """Learners who met both on their first day, so that nobody knows which came first."""
    difference: float | None
    interval: Interval | Undefined
    """Welch's 95% interval for the difference."""
    says: str
    """One sentence with its doubt."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleChance:
    """What a rule does with a learner whose every attempt is clean with chance `success`."""

    success: float
    by_attempt: tuple[float, ...]
    """At index m: the chance of being let through within m attempts."""
    mean_wait: MeanWait | Undefined


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleWorth:
    """What one rule of the program, such as 3 in a row, lets through. Days and windows are not counted in."""

    clean_in_a_row: int
    skills: tuple[str, ...]
    """Skills that clear by this rule."""
    chances: tuple[RuleChance, ...]
    shows: float
    """The success chance that this many clean attempts, none missed, support with 95% confidence: 0.05^(1/n)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cohort:
    """Learners by status, for one skill."""

    skill: str
    counts: Mapping[Status, int] = field(hash=False)
    """Every status is a key."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Flagged:
    """A row that was judged although a person should look at it."""

    line: int
    learner: str
    skill: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Readiness:
    """Everything that is computed from a file of attempts on one day."""

    on: date
    learners: tuple[str, ...]
    """Codes, in natural order: L2 before L10."""
    skills: tuple[str, ...]
    """All skills of the curriculum, in its order."""
    standings: Mapping[tuple[str, str], Standing] = field(hash=False)
    """By (learner, skill), for every learner and every skill, in that order."""
    cohort: tuple[Cohort, ...]
    labs: tuple[LabList, ...]
    """Lab days from the day asked about on, in date order, also those with nobody to check."""
    refreshes: tuple[Refresh, ...]
    """Clearances by the day on which they end."""
    steps: tuple[StepMisses, ...]
    """Most missed first (by the lower end of the interval)."""
    carry_over: tuple[CarryOverSeen, ...]
    rules: tuple[RuleWorth, ...]
    needed: tuple[AttemptsNeeded, ...]
    """Clean attempts without a miss that support success chances of 0.7, 0.8, 0.9 and 0.95 with 95% confidence."""
    flagged: tuple[Flagged, ...]
    rows: int
    """Rows that were judged."""
    attempts: int
    """Attempts among them: an attempt that two evaluators marked counts once."""

    def standing(self, learner: str, skill: str) -> Standing:
        """How a learner stands on a skill. KeyError when either is not known."""
        return self.standings[learner, skill]

    def of(self, learner: str) -> tuple[Standing, ...]:
        """All standings of one learner, in the order of the skills."""
        return tuple(self.standings[learner, skill] for skill in self.skills)
