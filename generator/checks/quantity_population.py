"""A number used for patients that it was not given for.

Why: an adult's number in a child's step can kill. A quantity says whom it applies to; the step, or the skill when the
step does not say, says whom it is done to. In a step the numbers of one text must together cover all its patients, and
each must apply to some of them. In the rest of a skill each number must apply to some of the skill's patients.

To put it right: use the number for these patients, or narrow the step with its own `populations`.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.analysis.wording import mentioned
from generator.checks.support.nearest import in_words
from generator.checks.support.references import known
from generator.checks.support.texts import passages
from generator.diagnostics import Location, Problem, Related
from generator.model import Curriculum

RULE = "quantity-population"

NOT_TEACHING = frozenset({"disagreements", "revisions"})
"""Fields that compare or look back."""


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each number in a skill's texts, and each pace, that leaves out patients of its step or skill."""
    for passage in passages(curriculum):
        if passage.kind != "skill" or "{" not in passage.text or passage.path[0] in NOT_TEACHING:
            continue
        skill = curriculum.skills[passage.id]
        ids, location = mentioned(passage.text), passage.at(curriculum)
        if passage.path[0] == "steps":
            step = skill.steps[int(passage.path[1])]
            patients = step.populations or skill.populations
            yield from _wrong(
                curriculum, ids, patients, location=location, what=f"The step `{step.id}`", must_cover=True
            )
        else:
            yield from _wrong(
                curriculum, ids, skill.populations, location=location, what="This skill", must_cover=False
            )
    for skill in curriculum.skills.values():
        for index, step in enumerate(skill.steps):
            if step.pace is not None:
                patients = step.populations or skill.populations
                location = curriculum.at("skill", skill.id, "steps", index, "pace")
                yield from _wrong(
                    curriculum,
                    (step.pace,),
                    patients,
                    location=location,
                    what=f"The pace of `{step.id}`",
                    must_cover=True,
                )


def _wrong(
    curriculum: Curriculum,
    ids: tuple[str, ...],
    patients: tuple[str, ...],
    *,
    location: Location,
    what: str,
    must_cover: bool,
) -> Iterator[Problem]:
    numbers = {id: curriculum.quantities[id].populations for id in ids if id in curriculum.quantities}
    numbers = {id: populations for id, populations in numbers.items() if populations}
    patients = tuple(patient for patient in patients if patient in known(curriculum, "population"))
    if not patients or not numbers:
        return
    covered = {population for populations in numbers.values() for population in populations}
    missed = tuple(patient for patient in patients if patient not in covered)
    for id, populations in numbers.items():
        if not set(populations) & set(patients):
            left_out = patients
        elif must_cover and missed and id == next(iter(numbers)):
            left_out = missed
        else:
            continue
        yield Problem(
            location=location,
            rule=RULE,
            message=f"{what} is for {in_words(patients)}, but `{id}` is a number for {in_words(populations)}.",
            remedy=f"Use a number for {in_words(left_out)}, or narrow this step with `populations`."
            if must_cover
            else f"Use a number for {in_words(left_out)}.",
            related=(
                Related(location=curriculum.at("quantity", id, "populations"), message="whom it applies to is here"),
            ),
        )
