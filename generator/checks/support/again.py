"""The rules run again after an edit, each over as little as it must.

Most edits of a handbook that is served change a sentence of one skill. Then the rules about running text look at that
skill alone, and a rule about anything else that found nothing finds nothing again. What comes out is what `check`
finds; the tests compare the two.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from generator.analysis.outline import Outline, outline_of
from generator.checks import RULES, Rule
from generator.diagnostics import Problem, in_order
from generator.model import Curriculum, Skill

ABOUT_TEXT = frozenset({
    "number-typed-in", "writing-avoid", "writing-grade", "writing-imperative", "writing-length", "writing-name",
    "writing-two-actions", "writing-vague",
})  # fmt: skip
"""Rules that read the running text of skills, each text by itself."""


class Rechecker:
    """Checks one curriculum after another, and remembers what each rule found in the last."""

    def __init__(self) -> None:
        self._outline: Outline | None = None
        self._last: tuple[Curriculum, date] | None = None
        self._found: dict[str, list[Problem]] = {}

    def check(self, curriculum: Curriculum, *, today: date) -> tuple[Problem, ...]:
        """Every problem that the rules find, in order of place, as `generator.checks.check` gives them."""
        outline = outline_of(curriculum)
        last = self._last
        is_close = (
            last is not None
            and last[1] == today
            and outline.is_same(self._outline)
            and curriculum.prose == last[0].prose
            and curriculum.unread == last[0].unread
        )
        self._outline, self._last = outline, (curriculum, today)
        if last is None or not is_close:
            self._found = {rule.RULE: list(rule.find(curriculum, today)) for rule in RULES}
        else:
            edited = {id: skill for id, skill in curriculum.skills.items() if skill is not last[0].skills[id]}
            self._found = {rule.RULE: self._again(rule, curriculum, edited, today) for rule in RULES}
        return in_order(problem for found in self._found.values() for problem in found)

    def _again(self, rule: Rule, curriculum: Curriculum, edited: dict[str, Skill], today: date) -> list[Problem]:
        before = self._found[rule.RULE]
        if rule.RULE in ABOUT_TEXT:
            files = {curriculum.at("skill", id).file for id in edited}
            kept = [problem for problem in before if problem.location.file not in files]
            return [*kept, *rule.find(replace(curriculum, skills=edited), today)]
        # Lines may have moved under what was found before.
        return list(rule.find(curriculum, today)) if before else []
