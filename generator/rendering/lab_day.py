"""A planned lab day as sheets, pages and tables show it: clock times, who is where, what to set up and bring."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal

from generator.analysis.rotation.clock import Slot
from generator.analysis.rotation.plan import Clash, LabPlan
from generator.analysis.rotation.roles import Attempt
from generator.analysis.told import Told, said
from generator.model import Curriculum, Lab

ATTEMPTS_ON_A_CHECKLIST = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """A group, numbered from 1, at a station in a block, numbered from 1; its attempts there, with everyone's role."""

    block: int
    group: int
    station: str
    instructors: tuple[str, ...] = ()
    attempts: tuple[Attempt, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """What a day asks of one station: attempts in all, the least and most by one learner, checklists, supplies."""

    attempts: int
    attempts_each: tuple[int, int]
    checklists: int
    supplies: tuple[tuple[str, Decimal], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class LabDay:
    """A lab day with its timetable. Without one, `clash` says which requirements forbid it, and what would mend it."""

    lab: Lab
    group_sizes: tuple[int, ...]
    slots: tuple[Slot, ...]
    turns: tuple[Turn, ...]
    verdict: tuple[str, ...] = ()
    """How good the timetable is: bound, proved or not, what honest order costs. Whole sentences."""
    clash: tuple[str, ...] = ()
    loads: Mapping[str, Load] = field(default_factory=dict)
    """By station id."""
    bring: tuple[tuple[str, Decimal], ...] = ()
    """What the whole day uses up: name and amount."""

    def slot(self, block: int) -> Slot:
        """The slot of a block."""
        return next(slot for slot in self.slots if slot.block == block)


def lab_day_of(curriculum: Curriculum, plan: LabPlan | Clash) -> LabDay:
    """What is shown of a plan, or of the reasons why there is none. `in_own_words` says it as the program does."""
    lab = curriculum.labs[plan.lab]
    if isinstance(plan, Clash):
        told = tuple(requirement.what for requirement in plan.requirements)
        late = (Told("No timetable was found in the time given; there may be one."),) if plan.ran_out else ()
        return LabDay(lab=lab, group_sizes=(), slots=(), turns=(), clash=(*late, *told, *plan.mends))
    price = (plan.price.words,) if plan.price and plan.price.words else ()
    return LabDay(
        lab=lab,
        group_sizes=plan.group_sizes,
        slots=plan.slots,
        turns=tuple(
            Turn(block=t.block, group=t.group, station=t.station, instructors=t.instructors, attempts=t.attempts)
            for t in plan.turns
        ),
        verdict=(*plan.verdict, *price),
        loads={
            load.station: Load(
                attempts=load.attempts,
                attempts_each=load.attempts_each,
                checklists=sum(plan.group_sizes) * -(-load.attempts_each[1] // ATTEMPTS_ON_A_CHECKLIST),
                supplies=load.supplies,
            )
            for load in plan.loads
        },
        bring=plan.supplies,
    )


def in_own_words(curriculum: Curriculum, day: LabDay) -> LabDay:
    """A day with its sentences as the program says them."""
    return replace(
        day,
        verdict=tuple(said(curriculum, line) for line in day.verdict),
        clash=tuple(said(curriculum, line) for line in day.clash),
    )


def clock_of(slot: Slot) -> str:
    """Start and end as a clock shows them: `08:30–08:55`."""
    return f"{slot.starts:%H:%M}–{slot.ends:%H:%M}"


def date_said(curriculum: Curriculum, on: date) -> str:
    """A day as the program's language writes it: `Monday 7 September 2026`."""
    return _in_language(curriculum, on, "full") or f"{on:%A} {day_said(curriculum, on)}"


def day_said(curriculum: Curriculum, on: date) -> str:
    """The same without the day of the week: `25 November 2026`, with no order of numbers to mistake."""
    return _in_language(curriculum, on, "long") or f"{on.day} {on:%B} {on.year}"


def _in_language(curriculum: Curriculum, on: date, pattern: str) -> str | None:
    """A day in a language other than English; None for English, and where nobody knows how the language writes it."""
    if not curriculum.program.language.startswith("en"):
        # Most programs write English, and need not wait for the names of days in all languages.
        from babel import Locale, UnknownLocaleError  # noqa: PLC0415
        from babel.dates import format_date  # noqa: PLC0415

        with suppress(UnknownLocaleError, ValueError):
            locale = Locale.parse(curriculum.program.language, sep="-")
            return str(format_date(on, pattern, locale=locale))
    return None


def group_said(curriculum: Curriculum, number: int) -> str:
    """`Group 3`."""
    return curriculum.say("Group {number}", number=number)


def each_says(load: Load, curriculum: Curriculum) -> str:
    """How many attempts a learner makes: `2 for each learner`, `2 or 3 for each learner`, `2 to 4 …`."""
    least, most = load.attempts_each
    if least == most:
        return curriculum.say("{count} for each learner", count=most)
    if most == least + 1:
        return curriculum.say("{least} or {most} for each learner", least=least, most=most)
    return curriculum.say("{least} to {most} for each learner", least=least, most=most)


ROLES_KEY = (
    "Numbers are learners of the group: the first performs, one in brackets lends a hand, all others evaluate. "
    "& joins what goes on at the same time; I is the instructor."
)


def attempts_say(attempts: Sequence[Attempt]) -> str:
    """Who performs in each attempt of a visit, in order: `1 (2), 2 (3)`; a team as `1+2`, the instructor as `I`.

    Attempts that go on at the same time are joined: `1 (2) & 3 (4)`.
    """
    rounds: dict[int, list[str]] = {}
    for one in attempts:
        team = "+".join("I" if learner == 0 else str(learner) for _, learner in one.performers)
        helped = f"\u00a0({', '.join(map(str, one.partners))})" if one.partners else ""
        rounds.setdefault(one.round, []).append(team + helped)
    return ", ".join(" & ".join(together) for together in rounds.values())


def role_words(id: str, curriculum: Curriculum | None = None) -> str:
    """A role code as it is said aloud: `Instructor A` for `instructor-a`, in the program's word where it has one."""
    role, _, letter = id.partition("-")
    if curriculum is not None and role == "instructor" and len(letter) == 1:
        return curriculum.say("Instructor {letter}", letter=letter.upper())
    parts = [part.upper() if len(part) == 1 else part for part in id.split("-")]
    words = " ".join(parts)
    return words[:1].upper() + words[1:]


def short_roles(ids: Sequence[str]) -> dict[str, str]:
    """Role codes short enough for a table: without the first word where all share it, as `A` for `instructor-a`."""
    heads = {id.partition("-")[0] for id in ids}
    if len(heads) == 1 and all("-" in id for id in ids):
        return {id: role_words(id.partition("-")[2]) for id in ids}
    return {id: role_words(id) for id in ids}
