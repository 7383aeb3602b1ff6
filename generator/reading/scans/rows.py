"""A filled sheet → attempts, and the questions that only a person can answer.

An attempt column in which nothing is marked was not used. In a used one an empty or blackened box is a missed step and
a line through it a step that could not be seen. A sheet with an open question gives no row until it is answered.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from generator.model import Curriculum, RungPlan, Skill
from generator.model.attempt import Attempt
from generator.reading.scans.boxes import Box, Held
from generator.reading.scans.sheets import FilledSheet

ATTEMPTS = (1, 2, 3)


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Something a person must say about a sheet before it gives rows."""

    what: str
    """The place on the sheet, such as `step:seal:attempt-2`, or `learner`, `evaluator`, `date`."""
    asks: str
    choices: tuple[str, ...] = ()
    """Answers to choose from; none means that a code or a date is typed."""
    page: int | None = None
    """The page on which to look."""
    guess: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetReading:
    """What one sheet comes to: rows when there is no question, else the questions."""

    id: str
    """A name of this filled sheet that stays the same when it is read again."""
    attempts: tuple[Attempt, ...] = ()
    questions: tuple[Question, ...] = ()


def sheet_id(sheet: FilledSheet) -> str:
    """For a sheet printed for someone, by what is printed on it; for a blank one, by what is seen on it."""
    code = sheet.code
    if code.address is not None:
        return _hash(repr((code.key, code.address)))
    whole = hashlib.sha256(repr(code.key).encode())
    for number in sorted(sheet.pages):
        page = sheet.pages[number]
        whole.update(repr([(box.what, box.held.value) for box in page.boxes]).encode())
        whole.update(page.trace)
    return whole.hexdigest()[:10]


def _hash(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:10]


def read_sheet(
    sheet: FilledSheet,
    curriculum: Curriculum,
    *,
    answers: Mapping[str, str],
    on: date | None = None,
    evaluator: str | None = None,
) -> SheetReading:
    """Attempts or questions of one sheet. `answers` by place win over what was read; `on` and `evaluator` stand for
    sheets on which no person has said otherwise.
    """
    id = sheet_id(sheet)
    skill = curriculum.skills.get(sheet.code.id)
    if skill is None:
        unknown = curriculum.say("The skill {skill} is not known.", skill=sheet.code.id)
        return SheetReading(id=id, questions=(Question(what="sheet", asks=unknown),))
    marks = _Marks(curriculum, sheet, answers)
    address = sheet.code.address
    learner = answers.get("learner") or (address.learner if address else None)
    by = answers.get("evaluator") or evaluator
    day = _date(answers.get("date")) or (address.on if address else None) or on
    rung = marks.one_of("rung", address.rung if address else None)
    role = marks.one_of("scored-by", address.role if address else None)
    team = marks.one_of("role", None) if skill.roles else ""
    rung, _, trainer = (rung or "").partition(":")
    plan = _plan(skill, rung, trainer or answers.get("trainer"))
    columns = [] if plan is None else list(_columns(marks, skill, plan))
    questions = (
        *_missing(curriculum, sheet, answers, learner=learner, by=by, day=day),
        *_trainer(curriculum, skill, rung, plan),
        *marks.questions,
    )
    if questions or plan is None or role is None or team is None or learner is None or by is None or day is None:
        return SheetReading(id=id, questions=tuple(dict.fromkeys(questions)))
    return SheetReading(
        id=id,
        attempts=tuple(
            Attempt(
                line=0,
                on=day,
                learner=learner,
                skill=skill.id,
                rung=plan.rung,
                trainer=plan.trainer,
                evaluator=by,
                role="instructor" if role == "instructor" else "peer",
                team_role=team,
                attempt=f"{id}.{number}",
                revision=sheet.code.revision,
                missed=missed,
                unseen=unseen,
            )
            for number, missed, unseen in columns
        ),
    )


def _date(text: str | None) -> date | None:
    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        return None


def _missing(
    curriculum: Curriculum,
    sheet: FilledSheet,
    answers: Mapping[str, str],
    *,
    learner: str | None,
    by: str | None,
    day: date | None,
) -> Iterator[Question]:
    say = curriculum.say
    if sheet.is_mixed_up and answers.get("pages") != "yes":
        mixed = say("Pages of two such sheets lay mixed. Do these belong together?")
        yield Question(what="pages", asks=mixed, choices=("yes",))
    if not sheet.is_whole:
        lost = [number for number in range(1, sheet.wanted + 1) if number not in sheet.pages]
        numbers = ", ".join(map(str, lost))
        asks = say("Page {numbers} of {pages} was not scanned.", numbers=numbers, pages=sheet.wanted)
        yield Question(what="pages", asks=asks)
    if learner is None:
        yield Question(what="learner", asks=say("Which learner code is written here?"), page=1)
    if by is None:
        yield Question(what="evaluator", asks=say("Which evaluator code is written here?"), page=1)
    if day is None:
        yield Question(what="date", asks=say("Which date is written here? Year-month-day."), page=1)


def _trainer(curriculum: Curriculum, skill: Skill, rung: str, plan: RungPlan | None) -> Iterator[Question]:
    if rung and plan is None:
        trainers = tuple(plan.trainer for plan in skill.ladder if plan.rung == rung)
        yield Question(what="trainer", asks=curriculum.say("Which trainer was it?"), choices=trainers)


def _plan(skill: Skill, rung: str, trainer: str | None) -> RungPlan | None:
    plans = [plan for plan in skill.ladder if plan.rung == rung and trainer in (None, plan.trainer)]
    return plans[0] if len(plans) == 1 else None


_TICKED = {
    "rung": "Which rung was ticked?",
    "scored-by": "Which box was ticked for who scored it?",
    "role": "Which role was ticked?",
}


_RESULTS = {"clean": "clean", "not-clean": "not-clean", "failed": "failed"}


class _Marks:
    """The boxes of a sheet by what they are, with answers put in; collects a question for each that is not sure."""

    def __init__(self, curriculum: Curriculum, sheet: FilledSheet, answers: Mapping[str, str]) -> None:
        self.say = curriculum.say
        self.boxes: dict[str, tuple[Box, int]] = {
            box.what: (box, number) for number, page in sorted(sheet.pages.items()) for box in page.boxes
        }
        self.answers = answers
        self.questions: list[Question] = []

    def held(self, what: str) -> Held | None:
        """What a box holds; None, and a question, when only a person can say."""
        answer = self.answers.get(what)
        if answer in tuple(Held):
            return Held(answer)
        box, page = self.boxes[what]
        if box.is_sure:
            return box.held
        asks = self.say("What does this box hold?")
        self.questions.append(Question(what=what, asks=asks, choices=tuple(Held), page=page, guess=box.held.value))
        return None

    def is_plainly_empty(self, what: str) -> bool:
        """Whether nothing was marked in a box, without a doubt and without an answer that says otherwise."""
        box, _ = self.boxes[what]
        return box.is_sure and box.held is Held.EMPTY and what not in self.answers

    def result(self, number: int) -> str | None:
        """The result that was ticked for an attempt; None when none, several or a doubtful one is."""
        ends = f":attempt-{number}"
        boxes = {
            what.split(":")[1]: box
            for what, (box, _) in self.boxes.items()
            if what.startswith("result:") and what.endswith(ends)
        }
        marked = [name for name, box in boxes.items() if box.held is Held.MARKED]
        return marked[0] if len(marked) == 1 and all(box.is_sure for box in boxes.values()) else None

    def one_of(self, group: str, printed: str | None) -> str | None:
        """The one marked box of a group, such as `rung`; None, and a question, unless exactly one is marked."""
        whats = [what for what in self.boxes if what.startswith(f"{group}:")]
        names = tuple(what.partition(":")[2] for what in whats)
        answer = self.answers.get(group)
        if answer in names:
            return answer
        held = [(name, self.boxes[what][0]) for name, what in zip(names, whats, strict=True)]
        marked = [name for name, box in held if box.is_sure and box.held in (Held.MARKED, Held.LINE)]
        doubtful = [name for name, box in held if not box.is_sure]
        if len(marked) == 1 and not doubtful:
            return marked[0]
        if not marked and not doubtful and printed in (*names, "peer", "instructor"):
            return printed
        page = min((self.boxes[what][1] for what in whats), default=1)
        asks = self.say(_TICKED[group])
        self.questions.append(Question(what=group, asks=asks, choices=names, page=page))
        return None


def _columns(marks: _Marks, skill: Skill, plan: RungPlan) -> Iterator[tuple[int, tuple[str, ...], tuple[str, ...]]]:
    """Each used attempt column with its missed and unseen steps, of the steps that the rung practises."""
    practised = [step.id for step in skill.steps_on(plan)]
    critical = {step.id for step in skill.critical_steps}
    for number in ATTEMPTS:
        column = [what for what in marks.boxes if what.endswith(f":attempt-{number}")]
        if not column or all(marks.is_plainly_empty(what) for what in column):
            continue
        steps = {what.split(":")[1]: what for what in column if what.startswith("step:")}
        held = {id: marks.held(steps[id]) for id in practised if id in steps}
        if None in held.values():
            continue
        missed = tuple(id for id in practised if held.get(id) in (Held.EMPTY, Held.FILLED))
        unseen = tuple(id for id in practised if held.get(id) is Held.LINE)
        comes_to = "failed" if critical & set(missed) else "not-clean" if missed or unseen else "clean"
        ticked = marks.result(number)
        if ticked not in (None, comes_to) and marks.answers.get(f"attempt-{number}") != "yes":
            marks.questions.append(
                Question(
                    what=f"attempt-{number}",
                    asks=marks.say(
                        "“{ticked}” is ticked for attempt {number}, but its steps come to “{comes_to}”. Are the steps "
                        "read as they were marked?",
                        ticked=marks.say(_RESULTS[ticked]) if ticked in _RESULTS else ticked,
                        number=number,
                        comes_to=marks.say(_RESULTS[comes_to]),
                    ),
                    choices=("yes",),
                    page=min(marks.boxes[what][1] for what in column),
                )
            )
            continue
        yield number, missed, unseen
