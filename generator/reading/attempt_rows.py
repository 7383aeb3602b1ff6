"""One row of a file of attempts: each cell judged by the curriculum and by the sheet that was marked.

What was found out about a cell is kept, because a large file says the same few things again and again.
"""

from __future__ import annotations

import difflib
import re
import sys
from collections.abc import Collection, Mapping, Sequence
from datetime import date
from types import MappingProxyType
from typing import NamedTuple

from generator.model import Curriculum, Skill
from generator.model.attempt import Attempt, KnownRevision, SetAside
from generator.model.cells import FORMULA
from generator.model.skill import EvaluatorRole
from generator.reading.text import shown

CODE = re.compile(r"[A-Za-z0-9][A-Za-z0-9._\-]{0,39}")
"""A code has no blank in it, so that a name in full is refused. The practice page asks for the same."""
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
ROLES = ("peer", "instructor")


class Refused(NamedTuple):
    """Why a row is not judged. Reason and remedy are fixed texts; what stands in their braces is in `parts`."""

    rule: str
    reason: str
    remedy: str
    parts: Mapping[str, object] = MappingProxyType({})
    remark: str = ""
    """A sentence after the reason."""
    hint: str = ""
    """A sentence after the remedy."""


_Key = tuple[str, str, str, str, str, str, str, str]


class _Marks(NamedTuple):
    """What the cells between learner and note come to; shared by all rows that say the same."""

    skill: str
    rung: str
    trainer: str
    role: EvaluatorRole
    team_role: str
    revision: str
    missed: tuple[str, ...]
    unseen: tuple[str, ...]
    failing: tuple[str, ...]
    flag: str


def plain(cell: str) -> str:
    """A cell without blanks at its ends and without the apostrophe that kept a spreadsheet from running it."""
    text = cell.strip()
    if text[:1] == "'" and text[1:2] in FORMULA and len(text) > 1:
        return text[1:].strip()
    return text


class Judge:
    """Judges rows against one curriculum. The same for the same row, whatever came before it."""

    def __init__(self, curriculum: Curriculum, revisions: Mapping[str, KnownRevision], *, on: date | None) -> None:
        self._curriculum = curriculum
        self._revisions = revisions
        self._on = on
        self._days: dict[str, date | Refused] = {}
        self._codes: dict[tuple[str, str], str | Refused] = {}
        self._marks: dict[_Key, _Marks | Refused] = {}
        self._sheets: dict[tuple[str, str], tuple[KnownRevision | Refused, str]] = {}
        self._spots: dict[tuple[str, str, str], frozenset[str]] = {}
        self._rungs = [rung.id for rung in curriculum.program.rungs]

    def attempt(self, line: int, cells: Sequence[str]) -> Attempt | Refused:
        """The attempt of a row whose cells stand in the order of the format, or why it is not one."""
        day, learner, skill, rung, trainer, evaluator, role, team_role, attempt, revision, missed, unseen, note = cells
        on = self._days.get(day) or self._day(day)
        if isinstance(on, Refused):
            return on
        who = self._code("learner", learner)
        if isinstance(who, Refused):
            return who
        by = self._code("evaluator", evaluator)
        if isinstance(by, Refused):
            return by
        key = (skill, rung, trainer, role, team_role, revision, missed, unseen)
        marks = self._marks.get(key)
        if marks is None:
            marks = self._marks[key] = self._judge(key)
        if isinstance(marks, Refused):
            return marks
        # The plain test first: it settles nearly every id, and ids are the one cell that never repeats.
        if not (attempt.isalnum() and attempt.isascii() and len(attempt) <= 40) and CODE.fullmatch(attempt) is None:
            return _code_trouble("attempt", attempt)
        return Attempt(
            line=line,
            on=on,
            learner=who,
            skill=marks.skill,
            rung=marks.rung,
            trainer=marks.trainer,
            evaluator=by,
            role=marks.role,
            team_role=marks.team_role,
            attempt=attempt,
            revision=marks.revision,
            missed=marks.missed,
            unseen=marks.unseen,
            failing=marks.failing,
            note=note,
            flag=marks.flag,
        )

    def aside(self, line: int, text: str, why: Refused) -> SetAside:
        """A row that is not judged, with the reason and the remedy in the program's own words."""
        say = self._curriculum.say
        reason, remedy = say(why.reason, **why.parts), say(why.remedy, **why.parts)
        return SetAside(
            line=line,
            text=text,
            rule=why.rule,
            reason=f"{reason} {why.remark}" if why.remark else reason,
            remedy=f"{remedy} {why.hint}" if why.hint else remedy,
        )

    def _day(self, text: str) -> date | Refused:
        found = self._days[text] = self._read_day(text)
        return found

    def _read_day(self, text: str) -> date | Refused:
        if not text:
            return Refused("date-missing", "It has no date.", "Write the day of the attempt, such as 2026-10-31.")
        if _DAY.fullmatch(text) is None or not text.isascii():
            return Refused(
                "date-unreadable",
                "“{text}” is not written as a date: day and month could be mistaken for each other.",
                "Write year-month-day, such as 2026-10-31.",
                {"text": shown(text)},
            )
        try:
            day = date.fromisoformat(text)
        except ValueError:
            return Refused("date-unreadable", "{text} is not in the calendar.", "Correct the date.", {"text": text})
        if self._on is not None and day > self._on:
            return Refused(
                "date-later",
                "{text} is after {day}, the day that is judged.",
                "Correct the date, or name a later day with --on.",
                {"text": text, "day": self._on.isoformat()},
            )
        return day

    def _code(self, what: str, text: str) -> str | Refused:
        found = self._codes.get((what, text))
        if found is None:
            found = sys.intern(text) if CODE.fullmatch(text) else _code_trouble(what, text)
            self._codes[what, text] = found
        return found

    def _judge(self, key: _Key) -> _Marks | Refused:
        skill, rung, trainer, role, team_role, revision, missed, unseen = key
        record = self._curriculum.skills.get(skill)
        if record is None:
            return _unknown("skill", skill, self._curriculum.skills)
        sheet, flag = self._sheets.get((skill, revision)) or self._sheet(record, revision)
        wrong = self._place_trouble(rung, trainer, role) or _team_trouble(record, team_role)
        if wrong is not None:
            return wrong
        if isinstance(sheet, Refused):
            return sheet
        practised = self._practised(record, rung, trainer) if sheet.is_current else frozenset(sheet.steps)
        steps = _steps(self._curriculum, sheet, practised, (missed, unseen), flag)
        if isinstance(steps, Refused):
            return steps
        return _Marks(
            skill=record.id,
            rung=sys.intern(rung),
            trainer=sys.intern(trainer),
            role="instructor" if role == "instructor" else "peer",
            team_role=team_role,
            revision=revision,
            missed=steps[0],
            unseen=steps[1],
            failing=tuple(id for id in steps[0] if id in sheet.critical),
            flag=flag,
        )

    def _place_trouble(self, rung: str, trainer: str, role: str) -> Refused | None:
        if rung not in self._rungs:
            return _unknown("rung", rung, self._rungs)
        if trainer not in self._curriculum.trainers:
            return _unknown("trainer", trainer, self._curriculum.trainers)
        if role not in ROLES:
            text = {"text": shown(role)}
            return Refused("role-unknown", "“{text}” is not a role.", "Write peer or instructor.", text)
        return None

    def _practised(self, skill: Skill, rung: str, trainer: str) -> frozenset[str]:
        """Steps of the rung of the ladder that was practised; all of them when the ladder has no such rung."""
        found = self._spots.get((skill.id, rung, trainer))
        if found is None:
            plans = [plan for plan in skill.ladder if plan.rung == rung and plan.trainer == trainer]
            steps = [step for plan in plans for step in skill.steps_on(plan)] if plans else skill.steps
            found = self._spots[skill.id, rung, trainer] = frozenset(step.id for step in steps)
        return found

    def _sheet(self, skill: Skill, revision: str) -> tuple[KnownRevision | Refused, str]:
        """The sheet to judge a row by, and why a person should look at the row."""
        found = self._sheets[skill.id, revision] = self._find_sheet(skill, revision)
        return found

    def _find_sheet(self, skill: Skill, revision: str) -> tuple[KnownRevision | Refused, str]:
        today = KnownRevision(
            revision=revision,
            skill=skill.id,
            steps=tuple(step.id for step in skill.steps),
            critical=tuple(step.id for step in skill.critical_steps),
            is_current=True,
        )
        known = self._revisions.get(revision.lower())
        if known is not None and known.skill != skill.id:
            why = Refused(
                "revision-of-another-skill",
                "Revision {revision} is a sheet of {other}, not of {skill}.",
                "Correct the skill or the revision.",
                {"revision": revision, "other": known.skill, "skill": skill.id},
            )
            return why, ""
        if known is not None:
            return known, ""
        say = self._curriculum.say
        if not revision:
            return today, say("No sheet revision is written down, so it was judged by today's steps.")
        unknown = "Sheet revision {revision} is not known, so it was judged by today's steps."
        return today, say(unknown, revision=shown(revision))


def _team_trouble(skill: Skill, team_role: str) -> Refused | None:
    team = [one.id for one in skill.roles]
    if not team_role or team_role in team:
        return None
    if team:
        return _unknown("team role", team_role, team)
    alone = {"skill": skill.id}
    return Refused("team-role-unknown", "{skill} is a skill for one person.", "Leave the team role empty.", alone)


def _steps(
    curriculum: Curriculum, sheet: KnownRevision, practised: frozenset[str], cells: tuple[str, str], flag: str
) -> tuple[tuple[str, ...], tuple[str, ...]] | Refused:
    """Missed and unseen steps in the order of the sheet, or why they cannot be."""
    missed, unseen = (cell.split() for cell in cells)
    marked = {*missed, *unseen}
    for id in (*missed, *unseen) if not marked <= practised else ():
        if id not in sheet.steps:
            trouble = _unknown("step", id, sheet.steps)
            if not flag:
                return trouble
            hint = curriculum.say("Or give the sheets of then with --revisions FILE.")
            return trouble._replace(remark=flag, hint=hint)
        if id not in practised:
            return Refused(
                "step-not-on-rung",
                "{step} is marked as missed, but this rung on this trainer does not practise it."
                if id in missed
                else "{step} is marked as not seen, but this rung on this trainer does not practise it.",
                "Correct the rung or the trainer, or take the step out.",
                {"step": id},
            )
    both = next((id for id in missed if id in unseen), None)
    if both is not None:
        step = {"step": both}
        return Refused("step-marked-twice", "{step} is both missed and not seen.", "Keep one of the two.", step)
    return tuple(id for id in sheet.steps if id in missed), tuple(id for id in sheet.steps if id in unseen)


_NO_CODE = {
    "learner": "It has no learner code.",
    "evaluator": "It has no evaluator code.",
    "attempt": "It has no attempt code.",
}
_NAMES_NONE = {
    "skill": "It names no skill.",
    "rung": "It names no rung.",
    "trainer": "It names no trainer.",
    "team role": "It names no team role.",
    "step": "It names no step.",
}
_WRITE_ID = {
    "skill": "Write the id of the skill.",
    "rung": "Write the id of the rung.",
    "trainer": "Write the id of the trainer.",
    "team role": "Write the id of the team role.",
    "step": "Write the id of the step.",
}
_IS_CALLED = {
    "skill": "No skill is called “{text}”.",
    "rung": "No rung is called “{text}”.",
    "trainer": "No trainer is called “{text}”.",
    "team role": "No team role is called “{text}”.",
    "step": "No step is called “{text}”.",
}


def _code_trouble(what: str, text: str) -> Refused:
    if not text:
        return Refused(f"{what}-missing", _NO_CODE[what], "Write a code; codes are letters and digits.")
    return Refused(
        f"{what}-not-a-code",
        "“{text}” is not a code.",
        "Write at most 40 letters, digits, dots, hyphens or underscores, without blanks: never a name.",
        {"text": shown(text)},
    )


def _unknown(what: str, text: str, known: Collection[str]) -> Refused:
    rule = f"{what.replace(' ', '-')}-unknown"
    if not text:
        return Refused(rule, _NAMES_NONE[what], _WRITE_ID[what])
    near = difflib.get_close_matches(text[:80].lower(), known, n=1)
    meant = near[0] if near else ", ".join(list(known)[:12])
    parts = {"text": shown(text), "known": meant}
    return Refused(rule, _IS_CALLED[what], "Did you mean {known}?" if near else "Write one of: {known}.", parts)
