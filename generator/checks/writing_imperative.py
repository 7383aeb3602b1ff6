"""A step that does not begin with a verb that tells someone what to do.

Why: in a noisy lab the first word is what is read. `Press the mask onto the face` is an order; `The mask should be
pressed` leaves open who does it.

To put it right: begin with the verb. A condition may come first, set off by a comma: `If the chest stays still, tilt
the head again`.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.checks.support.verbs import begins_with_verb, main_part, plain, sentences
from generator.diagnostics import Problem, Severity
from generator.model import Curriculum

RULE = "writing-imperative"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each step whose `do` begins otherwise."""
    for skill in curriculum.skills.values():
        for index, step in enumerate(skill.steps):
            body = main_part((sentences(plain(step.do)) or (step.do,))[0])
            if not begins_with_verb(body):
                first = body.split()[0].rstrip(",.;:") if body.split() else step.do
                yield Problem(
                    location=curriculum.at("skill", skill.id, "steps", index, "do"),
                    rule=RULE,
                    message=f"The step `{step.id}` begins with “{first}”, which does not tell anyone to act.",
                    remedy="Begin with the verb: press, lift, say. A condition may stand first, with a comma after it.",
                    severity=Severity.WARNING,
                )
