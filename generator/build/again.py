"""What a handbook that is served keeps from one edit to the next, so that an edit makes little more than its own page.

Everything here is kept by what it was made from, never by time. What comes out is what a build from nothing gives; the
tests compare the two byte for byte after every kind of edit.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from operator import is_
from typing import TYPE_CHECKING, Any, TypeVar

from generator.analysis.outline import Outline, outline_of
from generator.checks.support.again import Rechecker
from generator.model import Curriculum, Skill
from generator.reading.known import Known

if TYPE_CHECKING:
    from generator.rendering.lab_day import LabDay
    from generator.rendering.pages import Prints

T = TypeVar("T")


class Again:
    """The kept parts of one served handbook. Call `see` with each curriculum before anything is taken from here."""

    def __init__(self) -> None:
        self.known = Known()
        """Files that were read."""
        self.rules = Rechecker()
        self._outline: Outline | None = None
        self._around: Any = None
        self._made: dict[str, Any] = {}
        self._pages: dict[str, tuple[Sequence[Skill], Mapping[tuple[str, str], str | None], str]] = {}
        self.reused = 0
        """Pages that were not written again since the last `see`."""

    def see(self, curriculum: Curriculum, *, today: date, days: Mapping[str, LabDay]) -> None:
        """Forget all that could differ for this curriculum, on this day, with these timetables."""
        outline = outline_of(curriculum)
        around = (today, days)
        if not outline.is_same(self._outline) or around != self._around:
            self._made, self._pages = {}, {}
        self._outline, self._around, self.reused = outline, around, 0

    def made(self, what: str, make: Callable[[], T]) -> T:
        """Something that depends on the outline alone."""
        if what not in self._made:
            self._made[what] = make()
        kept: T = self._made[what]
        return kept

    def page(self, path: str, shows: Sequence[Skill], sheets: Prints, write: Callable[[], str]) -> str:
        """A page, written only where the outline, a skill that it shows or a sheet that it names differs."""
        kept = self._pages.get(path)
        if kept is not None:
            skills, asked, page = kept
            is_printed = all(sheets.revision(*sheet) == revision for sheet, revision in asked.items())
            if is_printed and len(skills) == len(shows) and all(map(is_, skills, shows)):
                self.reused += 1
                return page
        sheets.asked = {}
        page = write()
        self._pages[path] = (shows, sheets.asked, page)
        return page
