"""Inside a station: who performs, who lends a hand and who evaluates in each attempt, shared out evenly.

An attempt has one performer, or one for each team role of the skill. Some peers lend a hand as partners; all the
others evaluate. Seats are dealt one attempt after the other to those who have sat there least, over the whole day, and
then improved by swaps of two learners within an attempt while that makes the shares more even.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

ALONE = "performer"
"""The seat of the one who performs, in a skill without team roles."""
PERFORM, ASSIST, EVALUATE = "perform ", "assist", "evaluate"


@dataclass(frozen=True, slots=True, kw_only=True)
class Attempt:
    """One attempt of a group at a station. `number` counts those of the visit; `performers` are (seat, learner).

    Attempts of one `round` go on at the same time on several units. A seat with learner 0 is filled by the instructor:
    the group is smaller than the team.
    """

    number: int
    round: int
    performers: tuple[tuple[str, int], ...]
    partners: tuple[int, ...]
    evaluators: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Duty:
    """A learner's day: how often they perform, lend a hand and evaluate, and their minutes hands on."""

    group: int
    learner: int
    performs: int
    assists: int
    evaluates: int
    minutes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """What one visit asks for: rounds of attempts on so many units at once, the team's seats, partners for each."""

    station: str
    rounds: int
    units: int = 1
    seats: tuple[str, ...] = (ALONE,)
    partners: int = 0
    minutes: int = 0
    """Of one attempt."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seating:
    """One round of one visit: what each place is for, and who sits there (learners from 0)."""

    visit: int
    kinds: tuple[str, ...]
    """`perform <seat>`, `assist` or `evaluate`, one for each learner of the group."""
    lanes: tuple[int, ...]
    """The unit of each place."""
    who: list[int]


def share_out(tasks: Sequence[Task], learners: int) -> tuple[tuple[Attempt, ...], ...]:
    """The attempts of each visit of a group of so many learners, with everyone's role. Learners count from 1."""
    if learners < 1:
        return tuple(() for _ in tasks)
    rounds = list(_first_seating(tasks, learners))
    _even_out(rounds, learners)
    found = []
    for visit, task in enumerate(tasks):
        attempts: list[Attempt] = []
        for turn, seating in enumerate((r for r in rounds if r.visit == visit), 1):
            attempts += _attempts_of(seating, task, turn, len(attempts))
        found.append(tuple(attempts))
    return tuple(found)


def _lanes(task: Task, learners: int) -> int:
    """How many attempts a group can make at once: each needs its team."""
    return max(1, min(task.units, learners // len(task.seats)))


def _first_seating(tasks: Sequence[Task], learners: int) -> Iterator[_Seating]:
    """Everyone moves on by one place each round, all day long."""
    shift = 0
    for visit, task in enumerate(tasks):
        lanes = _lanes(task, learners)
        places = [(f"{PERFORM}{seat}", lane) for lane in range(lanes) for seat in task.seats][:learners]
        places += [(ASSIST, lane) for _ in range(task.partners) for lane in range(lanes)][: learners - len(places)]
        spare = learners - len(places)
        places += [(EVALUATE, lane % lanes) for lane in range(spare)]
        for _ in range(task.rounds):
            yield _Seating(
                visit=visit,
                kinds=tuple(kind for kind, _ in places),
                lanes=tuple(lane for _, lane in places),
                who=[(place + shift) % learners for place in range(learners)],
            )
            shift += 1


class _Shares:
    """How often each learner had each kind of place, and how uneven that is."""

    def __init__(self, rounds: Sequence[_Seating]) -> None:
        self.counts: Counter[tuple[object, ...]] = Counter()
        for seating in rounds:
            for kind, learner in zip(seating.kinds, seating.who, strict=True):
                for key, _ in _keys(kind, seating.visit):
                    self.counts[(*key, learner)] += 1

    def swap_gain(self, seating: _Seating, one: int, other: int) -> int:
        """How much less uneven the shares are when two places of a round change their learners."""
        gain = 0
        first, second = seating.who[one], seating.who[other]
        ours = dict(_keys(seating.kinds[one], seating.visit))
        theirs = dict(_keys(seating.kinds[other], seating.visit))
        for key, weight in ours.items() | theirs.items():
            if key in ours and key in theirs:
                continue
            giver, taker = (first, second) if key in ours else (second, first)
            # A sum of squares falls by this when one passes from the giver to the taker.
            gain += 2 * weight * (self.counts[(*key, giver)] - self.counts[(*key, taker)] - 1)
        return gain

    def swap(self, seating: _Seating, one: int, other: int) -> None:
        """Let two places change their learners."""
        for place, sign in ((one, -1), (other, -1), (one, 1), (other, 1)):
            if place == one and sign == 1:
                seating.who[one], seating.who[other] = seating.who[other], seating.who[one]
            for key, _ in _keys(seating.kinds[place], seating.visit):
                self.counts[(*key, seating.who[place])] += sign


def _keys(kind: str, visit: int) -> Iterator[tuple[tuple[object, ...], int]]:
    """What is shared out evenly, with its weight: performing in a visit before all, then in the day, then the rest."""
    role = PERFORM if kind.startswith(PERFORM) else kind
    yield ("day", role), {PERFORM: 64, ASSIST: 32, EVALUATE: 16}[role]
    yield ("visit", visit, role), {PERFORM: 256, ASSIST: 2, EVALUATE: 1}[role]
    if role == PERFORM:
        yield ("seat", visit, kind), 2


def _even_out(rounds: Sequence[_Seating], learners: int) -> None:
    """Swap two learners of a round while the shares get more even."""
    shares = _Shares(rounds)
    pairs = list(combinations(range(learners), 2))
    is_better = True
    while is_better:
        is_better = False
        for seating in rounds:
            for one, other in pairs:
                if seating.kinds[one] != seating.kinds[other] and shares.swap_gain(seating, one, other) > 0:
                    shares.swap(seating, one, other)
                    is_better = True


def _attempts_of(seating: _Seating, task: Task, turn: int, before: int) -> Iterator[Attempt]:
    lanes = max(seating.lanes) + 1
    for lane in range(lanes):
        here = [
            (kind, learner + 1)
            for kind, place, learner in zip(seating.kinds, seating.lanes, seating.who, strict=True)
            if place == lane
        ]
        sitting = {kind.removeprefix(PERFORM): who for kind, who in here if kind.startswith(PERFORM)}
        yield Attempt(
            number=before + lane + 1,
            round=turn,
            performers=tuple((seat, sitting.get(seat, 0)) for seat in task.seats),
            partners=tuple(who for kind, who in here if kind == ASSIST),
            evaluators=tuple(who for kind, who in here if kind == EVALUATE),
        )
