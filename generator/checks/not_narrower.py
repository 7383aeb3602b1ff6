"""A list that should narrow another and reaches outside it.

Two lists narrow: the `levels` of a local rule are among the levels of its skill, and the `populations` of a step are
among the populations of its skill.

Why: a local rule can forbid, never permit more than the skill allows; and a step for a patient whom the skill does not
cover would be taught without the rest of what that patient needs.

To put it right: take the name out here, or add it to the skill once the skill covers it.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.checks.support.nearest import in_words
from generator.checks.support.references import known
from generator.diagnostics import Problem, Related
from generator.model import Curriculum

RULE = "not-narrower"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each name in a narrowing list that the wider list lacks. Unknown names are another rule's."""
    levels, populations = frozenset(known(curriculum, "level")), known(curriculum, "population")
    for number, rule in enumerate(curriculum.local.rules if curriculum.local else ()):
        skill = curriculum.skills.get(rule.skill)
        for index, level in enumerate(rule.levels if skill else ()):
            if skill and level in levels and level not in skill.levels and levels.issuperset(skill.levels):
                yield Problem(
                    location=curriculum.at("local", "local", "rules", number, "levels", index),
                    rule=RULE,
                    message=f"This local rule names the level `{level}`, which `{skill.id}` does not permit: "
                    f"it permits {in_words(skill.levels)}.",
                    remedy="A local rule can only narrow. Take the level out here, or add it to the skill.",
                    related=(
                        Related(
                            location=curriculum.at("skill", skill.id, "levels"), message="the skill's levels are here"
                        ),
                    ),
                )
    for skill in curriculum.skills.values():
        for number, step in enumerate(skill.steps):
            for index, population in enumerate(step.populations):
                if population in populations and population not in skill.populations:
                    yield Problem(
                        location=curriculum.at("skill", skill.id, "steps", number, "populations", index),
                        rule=RULE,
                        message=f"The step `{step.id}` is for `{population}`, but the skill is for "
                        f"{in_words(skill.populations)}.",
                        remedy="Take it out here, or add it to the skill's `populations`.",
                        related=(
                            Related(
                                location=curriculum.at("skill", skill.id, "populations"),
                                message="the skill's populations are here",
                            ),
                        ),
                    )
