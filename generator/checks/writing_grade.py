"""A skill whose steps read above the sixth grade.

Why: a step is read between two movements, often aloud, by people who are tired or read in a second language. Short
words and short sentences are understood at the first reading. The grade is Flesch-Kincaid, the school year that a text
asks for (Kincaid and others, 1975), over each step's `do` and `see` as they are printed; the limit is common practice.

To put it right: cut long sentences in two and choose the shorter word. The page on the handbook's health shows the
grade of every skill.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.analysis.reading_grade import grade_of_steps, hardest_step
from generator.diagnostics import Problem, Related, Severity
from generator.model import Curriculum

RULE = "writing-grade"

HIGHEST = 6.0


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each skill above the limit, with the step that reads hardest."""
    for skill in curriculum.skills.values():
        grade = grade_of_steps(skill, curriculum.quantities)
        if grade is None or grade <= HIGHEST:
            continue
        index = hardest_step(skill, curriculum.quantities)
        yield Problem(
            location=curriculum.at("skill", skill.id, "steps"),
            rule=RULE,
            message=f"The steps of `{skill.id}` read at grade {grade:.1f}; {HIGHEST:.0f} is the most.",
            remedy="Cut long sentences in two and choose shorter words, the hardest step first.",
            severity=Severity.NOTE,
            related=(
                Related(
                    location=curriculum.at("skill", skill.id, "steps", index, "do"),
                    message=f"the hardest to read is `{skill.steps[index].id}`",
                ),
            ),
        )
