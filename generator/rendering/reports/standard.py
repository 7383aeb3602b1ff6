"""The raters' sheet for a skill's cut score."""

from __future__ import annotations

from typing import Any

from generator.analysis.wording import fill
from generator.model import Curriculum, Paper
from generator.rendering.reports.base import document_of
from generator.rendering.reports.typesetter import pdf_of

RATERS = 6
"""Columns on the sheet. Panels of 5 or more are common practice, no source; a second sheet takes more raters."""

WORDS = {
    "number": "No.",
    "step": "Step",
    "rater_codes": "Rater’s code above, estimate below",
    "rated": "Estimate these steps",
    "must_pass": "Must be passed: do not estimate",
    "must_pass_why": "A miss of any of these fails the attempt, so no cut score can offset it.",
}
PRIVATE = "Raters: write your own estimates before you hear the others’. Codes only, no names."


QUESTION = (
    "Think of a learner who is only just ready to do this on a patient under supervision. Of 100 such learners, how "
    "many would do the step as its “See” line says? Write a number from 0 to 100."
)


def standard_sheet(curriculum: Curriculum, skill: str, *, paper: Paper | None = None, raters: int = RATERS) -> bytes:
    """The sheet on which raters write their estimates for a skill's cut score, as PDF."""
    return pdf_of(standard_data(curriculum, skill, paper=paper, raters=raters))


def standard_data(
    curriculum: Curriculum, skill: str, *, paper: Paper | None = None, raters: int = RATERS
) -> dict[str, Any]:
    """The same as plain data. Errors: KeyError for a skill that the curriculum does not know."""
    found, say = curriculum.skills[skill], curriculum.say

    def text(value: str) -> str:
        return fill(value, curriculum)

    document = document_of(
        curriculum,
        kind="standard",
        title=say("Cut score: {skill}", skill=found.title),
        running=say("Cut score · {skill}", skill=found.title),
        on=None,
        paper=paper,
        private=PRIVATE,
        words=WORDS,
    )
    return document | {
        "raters": raters,
        "opening": [
            say(QUESTION),
            say(
                "The cut score is the mean of the raters’ sums (Angoff 1971). Type the estimates into a CSV with the "
                "columns {columns}, then run: {command}",
                columns="step, rater, estimate",
                command=f"rungbook cut RATINGS.csv {found.id}",
            ),
        ],
        "steps": [
            {"number": number, "do": text(step.do), "see": say("See: {see}", see=text(step.see)) if step.see else None}
            for number, step in enumerate(found.steps, 1)
            if not step.critical
        ],
        "must_pass": [
            {"number": number, "do": text(step.do), "because": text(step.critical_because or "")}
            for number, step in enumerate(found.steps, 1)
            if step.critical
        ],
        "closing": [],
    }
