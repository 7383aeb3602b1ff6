"""The skill page: what a learner reads with gloves on."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass

from generator.analysis.addresses import skill_page
from generator.analysis.feedback import meetings
from generator.analysis.phrases import Say
from generator.analysis.wording import beat_of, fill, mentioned, ranges, says, words_of
from generator.model import (
    Caution,
    Clearance,
    Curriculum,
    LocalRule,
    Quantity,
    RungPlan,
    Skill,
    Step,
    Term,
    Worth,
)
from generator.rendering.pages.inert import quiet
from generator.rendering.pages.ladder import ladder_view
from generator.rendering.pages.uses import names_of, terms_in
from generator.rendering.pages.writing import Handbook, Writer

_GRAVITY = {"warning": 0, "caution": 1, "note": 2}


@dataclass(frozen=True, slots=True, kw_only=True)
class Pacer:
    """A beat as the page hands it to the script."""

    interval_ms: int
    words: tuple[str, ...]
    name: str
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StepView:
    """A step with what surrounds it."""

    number: int
    step: Step
    role: str | None
    pacer: Pacer | None
    local: tuple[LocalRule, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WorthView:
    """What a rung's trainer is worth on one technique that a critical step rests on."""

    technique: str
    worth: Worth
    is_proved: bool
    """Whether a lower rung has met it honestly."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RungView:
    """A rung with what its trainer tells."""

    number: int
    plan: RungPlan
    name: str
    worths: tuple[WorthView, ...]
    steps: str
    """Which steps are practised, in words."""
    rule: str


def skill_markdown(book: Handbook, skill: Skill) -> str:
    """The Markdown of one skill's page."""
    curriculum = book.curriculum
    rules = tuple(rule for rule in curriculum.local.rules if rule.skill == skill.id) if curriculum.local else ()
    practice = book.sheets.get("practice", skill.id)
    shown = words_of(skill.model_copy(update={"teaching": None}))
    numbers = _numbers(curriculum, skill, shown)
    writer = Writer(book=book, page=skill_page(skill))
    weighed = ladder_view(book, skill, writer.names)
    return writer.write(
        "skill.md.j2",
        title=skill.title,
        meta={
            "description": fill(skill.summary, curriculum),
            "search": {"boost": 2},
            # The theme's search looks into tags for the whole word that was typed, so other names find the page.
            "tags": [quiet(name) for name in skill.also_called],
        },
        skill=skill,
        cautions=_by_gravity(skill.cautions),
        steps=_steps(curriculum, skill, rules),
        rungs=_rungs(curriculum, skill),
        weighed=weighed,
        clearance=clearance_words(curriculum, skill.clearance),
        local=tuple(rule for rule in rules if rule.step is None),
        numbers=numbers,
        sources=sorted(
            (id for id in _sources(skill, numbers) if id in book.uses.source_numbers),
            key=lambda id: book.uses.source_numbers[id],
        ),
        terms=_terms(curriculum, shown),
        revision=practice.revision if practice else "none",
        ladder=json.dumps([_for_script(curriculum, plan) for plan in skill.ladder], ensure_ascii=False),
        roles=json.dumps([{"id": role.id, "name": role.name} for role in skill.roles], ensure_ascii=False),
    )


def _for_script(curriculum: Curriculum, plan: RungPlan) -> dict[str, object]:
    """One rung as the practice checklist's script reads it."""
    trainer = curriculum.trainers.get(plan.trainer)
    return {
        "rung": plan.rung,
        "name": curriculum.name_of(curriculum.program.rungs, plan.rung),
        "trainer": plan.trainer,
        "trainer_name": trainer.name if trainer else plan.trainer,
        **({"steps": list(plan.steps)} if plan.steps else {}),
    }


def _by_gravity(cautions: tuple[Caution, ...]) -> tuple[Caution, ...]:
    return tuple(sorted(cautions, key=lambda caution: _GRAVITY[caution.level]))


def _steps(curriculum: Curriculum, skill: Skill, rules: tuple[LocalRule, ...]) -> tuple[StepView, ...]:
    return tuple(
        StepView(
            number=number,
            step=step,
            role=curriculum.name_of(skill.roles, step.by) if step.by else None,
            pacer=pacer_of(curriculum.quantities.get(step.pace), curriculum.say) if step.pace else None,
            local=tuple(rule for rule in rules if rule.step == step.id),
        )
        for number, step in enumerate(skill.steps, start=1)
    )


def pacer_of(quantity: Quantity | None, say: Say) -> Pacer | None:
    """The beat that a quantity sets, in whole milliseconds, or None."""
    beat = beat_of(quantity, say) if quantity else None
    if quantity is None or beat is None:
        return None
    return Pacer(
        interval_ms=round(beat.seconds * 1000),
        words=tuple(word.replace("|", "/") for word in beat.words),
        name=f"{quantity.name}: {says(quantity, say)}",
        says=says(quantity, say),
    )


def _rungs(curriculum: Curriculum, skill: Skill) -> tuple[RungView, ...]:
    met = meetings(curriculum, skill)
    known = {rung.id: rung for rung in curriculum.program.rungs}
    return tuple(
        RungView(
            number=index + 1,
            plan=plan,
            name=known[plan.rung].name if plan.rung in known else plan.rung,
            worths=tuple(
                WorthView(
                    technique=curriculum.techniques[one.technique].name
                    if one.technique in curriculum.techniques
                    else one.technique,
                    worth=one.worth,
                    is_proved=one.is_proved,
                )
                for one in met
                if one.rung == index and one.worth is not None
            ),
            steps=_steps_words(curriculum, skill, plan),
            rule=_clean(curriculum, plan.pass_rule.clean_in_a_row, plan.pass_rule.scored_by),
        )
        for index, plan in enumerate(skill.ladder)
    )


def _steps_words(curriculum: Curriculum, skill: Skill, plan: RungPlan) -> str:
    taken = {step.id for step in skill.steps_on(plan)}
    numbers = [number for number, step in enumerate(skill.steps, start=1) if step.id in taken]
    if len(numbers) == len(skill.steps):
        return curriculum.label("All steps")
    if not numbers:
        return curriculum.label("No known step")
    return f"{curriculum.label('Step' if len(numbers) == 1 else 'Steps')} {ranges(numbers, curriculum.say)}"


def _clean(curriculum: Curriculum, count: int, scored_by: str) -> str:
    label = curriculum.label
    times = label("1 clean attempt") if count == 1 else label("{count} clean attempts in a row").format(count=count)
    who = label("a peer") if scored_by == "peer" else label("an instructor")
    return label("{times}, scored by {who}").format(times=times, who=who)


def clearance_words(curriculum: Curriculum, rule: Clearance) -> tuple[str, ...]:
    """The clearance rule as short sentences."""
    label = curriculum.label
    rung = curriculum.name_of(curriculum.program.rungs, rule.rung)
    clean = _clean(curriculum, rule.clean_in_a_row, rule.scored_by)
    lines = [label("{clean}, on the rung {rung}.").format(clean=clean, rung=rung)]
    if rule.different_days > 1:
        lines.append(label("On at least {count} different days.").format(count=rule.different_days))
    if rule.within_days:
        days = label("day") if rule.within_days == 1 else label("days")
        lines.append(label("All within {count} {days}.").format(count=rule.within_days, days=days))
    months = label("month") if rule.valid_months == 1 else label("months")
    lines.append(label("It lasts {count} {months}; then refresh.").format(count=rule.valid_months, months=months))
    return tuple(lines)


def _numbers(curriculum: Curriculum, skill: Skill, shown: Iterable[str]) -> tuple[tuple[str, Quantity], ...]:
    ids = [id for text in shown for id in mentioned(text)]
    ids += [step.pace for step in skill.steps if step.pace]
    known = curriculum.quantities
    return tuple((id, known[id]) for id in dict.fromkeys(ids) if id in known)


def _sources(skill: Skill, numbers: tuple[tuple[str, Quantity], ...]) -> tuple[str, ...]:
    ids = [
        *(id for caution in skill.cautions for id in caution.evidence),
        *(id for step in skill.steps for id in step.evidence),
        *skill.levels_evidence,
        *skill.evidence,
        *(id for _, quantity in numbers for id in quantity.sources),
    ]
    return tuple(dict.fromkeys(ids))


def _terms(curriculum: Curriculum, shown: Iterable[str]) -> tuple[Term, ...]:
    """Glossary terms that the page uses, so that a search by any synonym finds it."""
    found = terms_in(shown, names_of(curriculum.terms))
    return tuple(sorted((one for one in curriculum.terms if one.term in found), key=lambda one: one.term.casefold()))
