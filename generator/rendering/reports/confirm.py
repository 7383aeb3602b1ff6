"""The page on which a person answers what the reader of scans could not. One file, opened where it lies."""

from __future__ import annotations

import base64
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib import resources

from markupsafe import Markup

from generator.analysis.wording import fill
from generator.model import Curriculum
from generator.rendering.directions import direction_of_language
from generator.rendering.reports.own_words import page_of
from generator.rendering.scripts import script_in_own_words

Picture = bytes
"""A PNG."""
SCRIPT = "confirm.js"


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One question about a sheet, with the pictures to answer it from."""

    what: str
    asks: str
    choices: tuple[str, ...]
    guess: str | None
    picture: Picture | None


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedSheet:
    """A sheet with its questions."""

    id: str
    skill: str
    where: str
    """File and page, for finding the paper again."""
    asked: tuple[Asked, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RefusedPage:
    """A page that could not be read."""

    where: str
    reason: str
    remedy: str
    picture: Picture | None


HELD = {
    "empty": "Empty: missed",
    "marked": "Ticked: done",
    "line": "A line through it: not seen",
    "filled": "Filled black: tick taken back, missed",
}
"""What a box can hold, in the words of the sheet."""
CHOICES = {"yes": "yes", "peer": "peer", "instructor": "instructor"}
"""Other answers that are words; all others are ids."""


def confirm_html(
    curriculum: Curriculum, sheets: Sequence[AskedSheet], refused: Sequence[RefusedPage], *, command: str
) -> str:
    """The page. `command` is what to run with the answers that it saves."""
    folder = resources.files("generator.rendering.reports")
    script = (folder / SCRIPT).read_text(encoding="utf-8")
    return page_of(
        "confirm.html.j2",
        curriculum,
        sheets=sheets,
        refused=refused,
        command=command,
        language=curriculum.program.language,
        direction=direction_of_language(curriculum.program.language),
        program=curriculum.program.name,
        title_of=lambda id: curriculum.skills[id].title if id in curriculum.skills else id,
        place_of=_place_of(curriculum),
        data=lambda png: Markup("data:image/png;base64,") + base64.b64encode(png).decode(),
        script=Markup(script_in_own_words(script, curriculum.label)),
        style=Markup((folder / "confirm.css").read_text(encoding="utf-8")),
        held={id: curriculum.label(words) for id, words in (HELD | CHOICES).items()},
    )


def page_said(curriculum: Curriculum, file: str, page: int) -> str:
    """Where a page lies: `scan.pdf, page 3`."""
    return curriculum.say("{file}, page {number}", file=file, number=page)


def _place_of(curriculum: Curriculum) -> Callable[[str, str], str]:
    def words(skill: str, what: str) -> str:
        """What stands beside a box, such as the step and the attempt."""
        sort, *rest = what.split(":")
        if sort == "step" and len(rest) == 2:
            record = curriculum.skills.get(skill)
            step = next((one for one in record.steps if one.id == rest[0]), None) if record else None
            do = fill(step.do, curriculum) if step else rest[0]
            attempt = curriculum.say("Attempt {number}.", number=rest[1].removeprefix("attempt-"))
            critical = [curriculum.say("Critical.")] if step and step.critical else []
            return " ".join((do, *critical, attempt))
        return ""

    return words
