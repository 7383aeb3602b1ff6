"""The stranger's curriculum in letters from right to left, wholly or in part.

The Hebrew is no Hebrew: letters put one for one in place of English ones.
"""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache, partial
from pathlib import Path
from typing import Any

from generator.model import Curriculum
from generator.reading import read_curriculum
from generator.rendering import directions
from generator.rendering.pages.labels import label_ids
from generator.rendering.sheets.own_words import sheet_label_ids

STRANGER = Path(__file__).parent / "stranger" / "curriculum"
ENGLISH = "Press on the gate (both ways)."
SEEN = "It is shut (look twice)!"
LETTERS = dict(zip("abcdefghijklmnopqrstuvwxyz", "אבכדעפגהיזקלמנופקרסתוושצית", strict=True))


def as_hebrew(text: str) -> str:
    """Hebrew letters in place of English ones; parts in braces stay."""
    parts = re.split(r"(\{[^{}]+\})", text)
    return "".join(p if p.startswith("{") else "".join(LETTERS.get(c.lower(), c) for c in p) for p in parts)


@cache
def english() -> Curriculum:
    """The stranger, with a step whose text ends in a bracket and a full stop."""
    curriculum, problems = read_curriculum(STRANGER)
    assert curriculum is not None
    assert not problems
    skill = curriculum.skills["sling-anchor"]
    steps = (skill.steps[0].model_copy(update={"do": ENGLISH, "see": SEEN}), *skill.steps[1:])
    return replace(curriculum, skills={**curriculum.skills, skill.id: skill.model_copy(update={"steps": steps})})


def labelled(curriculum: Curriculum) -> Curriculum:
    """The same in a language from right to left, with every label in its letters."""
    program = curriculum.program.model_copy(update={"language": "he"})
    return replace(curriculum, program=program, labels={w: as_hebrew(w) for w in (*label_ids(), *sheet_label_ids())})


def translated(curriculum: Curriculum) -> Curriculum:
    """The same with every author text in letters from right to left."""
    change: Any = partial(directions._apart, change=as_hebrew)
    groups = {name: {id: change(one) for id, one in getattr(curriculum, name).items()} for name in directions._GROUPS}
    return replace(curriculum, program=change(curriculum.program), **groups)
