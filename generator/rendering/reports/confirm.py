"""The page on which a person answers what the reader of scans could not. One file, opened where it lies."""

from __future__ import annotations

import base64
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib import resources

from jinja2 import Environment
from markupsafe import Markup

from generator.analysis.wording import fill
from generator.model import Curriculum

Picture = bytes
"""A PNG."""


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


def confirm_html(
    curriculum: Curriculum, sheets: Sequence[AskedSheet], refused: Sequence[RefusedPage], *, command: str
) -> str:
    """The page. `command` is what to run with the answers that it saves."""
    environment = Environment(autoescape=True, trim_blocks=True, lstrip_blocks=True)
    folder = resources.files("generator.rendering.reports")
    template = environment.from_string((folder / "confirm.html.j2").read_text(encoding="utf-8"))
    return template.render(
        sheets=sheets,
        refused=refused,
        command=command,
        language=curriculum.program.language,
        program=curriculum.program.name,
        title_of=lambda id: curriculum.skills[id].title if id in curriculum.skills else id,
        place_of=_place_of(curriculum),
        data=lambda png: Markup("data:image/png;base64,") + base64.b64encode(png).decode(),
        script=Markup((folder / "confirm.js").read_text(encoding="utf-8")),
        style=Markup((folder / "confirm.css").read_text(encoding="utf-8")),
        held=HELD,
    )


HELD = {
    "empty": "Empty: missed",
    "marked": "Ticked: done",
    "line": "A line through it: not seen",
    "filled": "Filled black: tick taken back, missed",
}
"""What a box can hold, in the words of the sheet."""


def _place_of(curriculum: Curriculum) -> Callable[[str, str], str]:
    def words(skill: str, what: str) -> str:
        """What stands beside a box, such as the step and the attempt."""
        sort, *rest = what.split(":")
        if sort == "step" and len(rest) == 2:
            record = curriculum.skills.get(skill)
            step = next((one for one in record.steps if one.id == rest[0]), None) if record else None
            do = fill(step.do, curriculum.quantities) if step else rest[0]
            critical = " Critical." if step and step.critical else ""
            return f"{do}{critical} {rest[1].replace('-', ' ').capitalize()}."
        return ""

    return words
