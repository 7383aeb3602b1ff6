"""A word in a step that leaves the judgement to the reader: properly, as needed, adequate.

Why: two evaluators who read `position the head properly` mark two different things.

To put it right: say what right looks like, or add the criterion after it: `until …`, `so that …`, a colon, brackets, or
a cited number.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date

from generator.diagnostics import Problem, Severity
from generator.model import Curriculum

RULE = "writing-vague"

VAGUE = re.compile(
    r"\b(?:properly|proper|appropriate(?:ly)?|adequate(?:ly)?|sufficient(?:ly)?|suitabl[ey]|satisfactor(?:y|ily)|"
    r"correctly|(?<!^)(?<!to )(?<!not )correct|effective(?:ly)?|optimal(?:ly)?|reasonabl[ey]|acceptabl[ey]|"
    r"good|well enough|promptly|in a timely manner|"
    r"as (?:needed|necessary|required|appropriate|indicated|applicable)|"
    r"(?:if|when|where) (?:needed|necessary|required|appropriate|indicated|applicable))\b",
    re.IGNORECASE,
)
STEMS = (
    "roper", "ppropriate", "dequate", "ufficient", "uitabl", "atisfactor", "orrect", "ffective", "ptimal", "easonabl",
    "cceptabl", "ood", "enough", "romptly", "timely", "needed", "necessary", "required", "indicated", "applicable",
)  # fmt: skip
"""A part of every vague word, for a cheap look first; without first letters, which may be capitals."""
CRITERION = re.compile(
    r"\{[a-z]|:\s|\(|\b(?:until|so that|such that|that is|meaning|which means|because|shown by|as shown|judged by|"
    r"at least|at most|no more than|from .+ to )\b|,? with (?:no|both|the|each)\b",
    re.IGNORECASE,
)


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each vague word in a step's `do` or `see` with no criterion in the same text."""
    for skill in curriculum.skills.values():
        for index, step in enumerate(skill.steps):
            for field, text in (("do", step.do), ("see", step.see)):
                match = VAGUE.search(text) if text and any(stem in text for stem in STEMS) else None
                if match and text and not CRITERION.search(text):
                    yield Problem(
                        location=curriculum.at("skill", skill.id, "steps", index, field),
                        rule=RULE,
                        message=f"“{match[0]}” in the step `{step.id}` leaves the judgement to the reader.",
                        remedy="Say what right looks like, or add the criterion: until …, so that …, a cited number.",
                        severity=Severity.WARNING,
                    )
