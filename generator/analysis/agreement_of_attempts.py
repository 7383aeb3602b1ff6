"""Peers beside instructors: what each marked on one and the same attempt.

**A pair** is a peer's row and an instructor's row of the same learner, skill and attempt id. Every peer's row stands
beside every instructor's row, so the order of rows and the codes of evaluators change nothing. Where rung, trainer or
revision of the two rows differ they are not the same attempt: such a pair is set apart and counted.

**A mark** is one step in a pair. It counts when the step is practised on the rung and neither side says `unseen`.

**An attempt** is passed when no critical step was missed, which is what fails an attempt. An attempt with a critical
step that a side did not see has no verdict from that side, unless that side saw another critical step missed. A row
marked on an older sheet is judged by that sheet where it is known; where it is not, its steps are left out.

What can hurt comes first: the peer passed what the instructor failed. Agreement on passes and agreement on fails stand
apart, because nearly all attempts pass and one figure for both would hide the fails.

**Too few.** Common practice, no source: fewer than 30 pairs, or fewer than 5 that the instructor failed, say nothing
about agreement. The figures that such numbers give are kept, and whoever shows them must show the warning instead. For
scale: with 20 pairs a kappa of 0.57 has an interval from 0.14 to 1.00 (Fleiss, Cohen and Everitt 1969).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from generator.analysis.statistics.agreement import Ac1, Kappa, cohen_kappa, gwet_ac1
from generator.analysis.statistics.proportions import PairedTest, exact_mcnemar, wilson
from generator.analysis.statistics.result import Interval, Undefined
from generator.analysis.statistics.same_verdict import SameVerdict, same_verdict
from generator.model import Skill, Step
from generator.model.attempt import Attempt, KnownRevision

FEWEST_PAIRS = 30
FEWEST_FAILS = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Directions:
    """How peers' and instructors' verdicts fell, counted in pairs."""

    both_passed: int
    peer_passed_instructor_failed: int
    peer_failed_instructor_passed: int
    both_failed: int

    @property
    def pairs(self) -> int:
        """All pairs."""
        return self.both_passed + self.both_failed + self.disagreed

    @property
    def disagreed(self) -> int:
        """Pairs in which one passed what the other failed."""
        return self.peer_passed_instructor_failed + self.peer_failed_instructor_passed

    @property
    def instructor_failed(self) -> int:
        """Pairs that the instructor failed."""
        return self.peer_passed_instructor_failed + self.both_failed

    @property
    def instructor_passed(self) -> int:
        """Pairs that the instructor passed."""
        return self.both_passed + self.peer_failed_instructor_passed

    @property
    def table(self) -> tuple[tuple[int, int], tuple[int, int]]:
        """Rows are the peer's verdict, columns the instructor's; pass before fail."""
        return (
            (self.both_passed, self.peer_passed_instructor_failed),
            (self.peer_failed_instructor_passed, self.both_failed),
        )

    @property
    def is_too_few(self) -> bool:
        """Whether there is too little to say anything about agreement (common practice, no source)."""
        return self.pairs < FEWEST_PAIRS or self.instructor_failed < FEWEST_FAILS


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """What the directions say, each part with its interval or the reason why it has no value."""

    directions: Directions
    passed_a_fail: Interval | Undefined
    """Share of the instructors' fails that the peer passed."""
    failed_a_pass: Interval | Undefined
    """Share of the instructors' passes that the peer failed."""
    on_fails: SameVerdict | Undefined
    on_passes: SameVerdict | Undefined
    kappa: Kappa | Undefined
    ac1: Ac1 | Undefined
    lean: PairedTest | Undefined
    """Whether peers are harsher or milder than instructors: exact McNemar on the pairs that disagree."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StepAgreement:
    """One step of a skill."""

    skill: str
    step: str
    critical: bool
    unseen: int
    """Pairs in which a side did not see this step."""
    agreement: Agreement


@dataclass(frozen=True, slots=True, kw_only=True)
class Peers:
    """Peers beside instructors over all attempts that both scored."""

    pairs: int
    unlike: int
    """Pairs set apart because the two rows name different rungs, trainers or revisions."""
    attempts: Agreement
    by_skill: Mapping[str, Agreement]
    """Whole attempts, skill by skill; only skills with pairs."""
    steps: tuple[StepAgreement, ...]
    """Steps with pairs; most often passed by a peer and failed by an instructor first, critical ones before others."""


def peers_beside_instructors(
    attempts: Iterable[Attempt], skills: Mapping[str, Skill], known: Iterable[KnownRevision] = ()
) -> Peers:
    """Return how peers mark beside instructors. Attempts of unknown skills count for nothing here.

    `known` holds the sheets whose steps are known; without any, every row is taken to be marked on today's sheet.
    """
    sheets = {(sheet.skill, sheet.revision): sheet for sheet in known}
    verdicts: dict[str, list[tuple[bool, bool]]] = defaultdict(list)
    marks: dict[tuple[str, str], list[tuple[bool, bool]]] = defaultdict(list)
    unseen: dict[tuple[str, str], int] = defaultdict(int)
    steps: dict[tuple[str, str], Step] = {}
    pairs = unlike = 0
    for skill, peer, instructor in _pairs(attempts, skills):
        if (peer.rung, peer.trainer, peer.revision) != (instructor.rung, instructor.trainer, instructor.revision):
            unlike += 1
            continue
        pairs += 1
        practised = practised_steps(skill, peer.rung, peer.trainer)
        if sheets and peer.revision:
            sheet = sheets.get((skill.id, peer.revision))
            practised = tuple(step for step in practised if sheet and step.id in sheet.steps)
        verdict = (_fails(peer, practised), _fails(instructor, practised))
        if verdict[0] is not None and verdict[1] is not None:
            verdicts[skill.id].append((verdict[0], verdict[1]))
        for step in practised:
            key = (skill.id, step.id)
            steps[key] = step
            if step.id in peer.unseen or step.id in instructor.unseen:
                unseen[key] += 1
            else:
                marks[key].append((step.id in peer.missed, step.id in instructor.missed))
    by_step = [
        StepAgreement(
            skill=key[0],
            step=key[1],
            critical=step.critical,
            unseen=unseen[key],
            agreement=agreement_of(directions_of(marks[key])),
        )
        for key, step in steps.items()
    ]
    return Peers(
        pairs=pairs,
        unlike=unlike,
        attempts=agreement_of(directions_of([pair for of_skill in verdicts.values() for pair in of_skill])),
        by_skill={id: agreement_of(directions_of(verdicts[id])) for id in skills if id in verdicts},
        steps=tuple(sorted(by_step, key=_worst_first)),
    )


def directions_of(fails: Iterable[tuple[bool, bool]]) -> Directions:
    """Count pairs of (the peer failed it, the instructor failed it)."""
    counts = [0, 0, 0, 0]
    for peer, instructor in fails:
        counts[2 * peer + instructor] += 1
    return Directions(
        both_passed=counts[0],
        peer_passed_instructor_failed=counts[1],
        peer_failed_instructor_passed=counts[2],
        both_failed=counts[3],
    )


def agreement_of(directions: Directions) -> Agreement:
    """All figures of a table of directions; each is Undefined where it has no value."""
    return Agreement(
        directions=directions,
        passed_a_fail=wilson(directions.peer_passed_instructor_failed, directions.instructor_failed),
        failed_a_pass=wilson(directions.peer_failed_instructor_passed, directions.instructor_passed),
        on_fails=same_verdict(both=directions.both_failed, only_one=directions.disagreed),
        on_passes=same_verdict(both=directions.both_passed, only_one=directions.disagreed),
        kappa=cohen_kappa(directions.table),
        ac1=gwet_ac1(directions.table),
        lean=exact_mcnemar(directions.peer_passed_instructor_failed, directions.peer_failed_instructor_passed),
    )


def practised_steps(skill: Skill, rung: str, trainer: str) -> tuple[Step, ...]:
    """The steps practised on a rung; all of them where the ladder has no such rung."""
    plans = [plan for plan in skill.ladder if plan.rung == rung]
    plan = next((plan for plan in plans if plan.trainer == trainer), plans[0] if plans else None)
    return skill.steps_on(plan) if plan else skill.steps


def _pairs(attempts: Iterable[Attempt], skills: Mapping[str, Skill]) -> Iterator[tuple[Skill, Attempt, Attempt]]:
    scored: dict[tuple[str, str, str], tuple[list[Attempt], list[Attempt]]] = defaultdict(lambda: ([], []))
    for one in attempts:
        if one.attempt and one.skill in skills:
            scored[one.skill, one.learner, one.attempt][one.role == "instructor"].append(one)
    for (skill, _, _), (peers, instructors) in scored.items():
        for peer in peers:
            for instructor in instructors:
                yield skills[skill], peer, instructor


def _fails(one: Attempt, practised: Sequence[Step]) -> bool | None:
    """Whether a side failed the attempt; None where it did not see enough to say."""
    if one.is_failed:
        return True
    is_blind = not practised or any(step.critical and step.id in one.unseen for step in practised)
    return None if is_blind else False


def _worst_first(step: StepAgreement) -> tuple[bool, int, int, str, str]:
    found = step.agreement.directions
    return (not step.critical, -found.peer_passed_instructor_failed, -found.disagreed, step.skill, step.step)
