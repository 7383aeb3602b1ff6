"""Gaps, absences and wear in the words of a colleague, with names instead of ids where they are read."""

from __future__ import annotations

from collections.abc import Iterable

from generator.analysis.absence import Absence
from generator.analysis.gaps import Cover, Gap, Gaps, Touched
from generator.analysis.names import Names, upper
from generator.analysis.phrases import (
    coded,
    listed,
    money,
    name_of,
    technique_name,
    trainer_choice,
    trainer_name,
    trainers_together,
)
from generator.analysis.wear import Saving, TrainerWear
from generator.model import Curriculum


def gaps_text(curriculum: Curriculum, gaps: Gaps) -> str:
    """The gaps and what closes them, as lines of text."""
    names, say = Names(curriculum=curriculum), curriculum.say
    lines = []
    if gaps.without is not None:
        lines.append(say("Without {trainer}:", trainer=trainer_name(names, gaps.without)))
        if gaps.used_by:
            standing = say("The written ladders of {skills} stand on it.", skills=listed(coded(gaps.used_by), say))
            lines.append(f"  {standing}")
        if gaps.lost:
            lines.append(f"  {_lost(curriculum, coded(gaps.lost))}")
    if not gaps.gaps:
        lines.append(say("Every technique that a critical step rests on has an honest trainer in this lab."))
    for gap in gaps.gaps:
        technique = technique_name(names, gap.technique)
        lines.append(
            say(
                "No owned trainer proves {technique} (opened by its absence):"
                if gap.technique in gaps.opened
                else "No owned trainer proves {technique}:",
                technique=technique,
            )
        )
        for touched in gap.touches:
            lines.append(f"  {curriculum.skills[touched.skill].title}: {listed(coded(touched.steps), say)}.")
        if gap.unfit:
            unfit = say(
                "{trainers} would answer, but cannot host these steps.", trainers=trainers_together(names, gap.unfit)
            )
            lines.append(f"  {upper(unfit)}")
    if gaps.cover.trainers:
        lines.append(
            curriculum.many(
                len(gaps.gaps),
                "Cheapest way to close it: {bought}.",
                "Cheapest way to close them: {bought}.",
                bought=_bought(curriculum, gaps.cover),
            )
        )
        if gaps.runner_up:
            lines.append(say("Next best: {bought}.", bought=_bought(curriculum, gaps.runner_up)))
        else:
            lines.append(say("Next best: there is no other."))
    for technique, skill in gaps.open:
        lines.append(
            say(
                "Nothing in the catalogue closes {technique} for {skill}.",
                technique=technique_name(names, technique),
                skill=curriculum.skills[skill].title,
            )
        )
    return "\n".join(lines)


def gap_lead(curriculum: Curriculum, gap: Gap, *, names: Names | None = None) -> str:
    """Why a technique cannot be taught honestly in this lab."""
    names, say = names or Names(curriculum=curriculum), curriculum.say
    if not gap.unfit:
        honest = "No owned trainer is honest about {technique}."
        return say(honest, technique=technique_name(names, gap.technique))
    unfit = "{trainers} would answer, but cannot host the steps that rest on it."
    return upper(say(unfit, trainers=trainers_together(names, gap.unfit)))


def gaps_verdict(curriculum: Curriculum, gaps: Gaps) -> str:
    """The gaps in one line."""
    if not gaps.gaps:
        return curriculum.say("Every technique that a critical step rests on has an honest trainer in this lab")
    skills = {touched.skill for gap in gaps.gaps for touched in gap.touches}
    return curriculum.many(
        len(gaps.gaps),
        "{count} technique has no honest trainer, which touches {skills}",
        "{count} techniques have no honest trainer, which touches {skills}",
        skills=curriculum.many(len(skills), "{count} skill", "{count} skills"),
    )


def touched_sentence(curriculum: Curriculum, touched: Touched, *, names: Names | None = None) -> str:
    """The skill and the critical steps that a gap touches, and what in the catalogue would do."""
    names, say = names or Names(curriculum=curriculum), curriculum.say
    steps = listed([names.name("step", f"{touched.skill}/{step}") for step in touched.steps], say)
    touches = say("{skill}: {steps}.", skill=names.name("skill", touched.skill), steps=steps)
    able = trainer_choice(names, touched.candidates)
    would_do = upper(say("{trainers} would do.", trainers=able)) if able else say("Nothing in the catalogue would do.")
    return f"{touches} {would_do}"


def absence_lines(
    curriculum: Curriculum, absence: Absence, *, names: Names | None = None, ladders: bool = True
) -> tuple[str, ...]:
    """What is lost while a trainer is out of service; with `ladders` also which written ladders stand on it."""
    names, say = names or Names(curriculum=curriculum), curriculum.say
    lines = []
    if absence.lost:
        lines.append(_lost(curriculum, [names.name("skill", id) for id in absence.lost]))
    opened: dict[str, list[str]] = {}
    for technique, skill in absence.opened:
        opened.setdefault(technique, []).append(skill)
    for technique, skills in opened.items():
        where = listed([names.name("skill", id) for id in skills], say)
        nothing = "Nothing else proves {technique} for {skills}."
        lines.append(say(nothing, technique=technique_name(names, technique), skills=where))
    if absence.used_by and ladders:
        standing = listed([names.name("skill", id) for id in absence.used_by], say)
        lines.append(
            curriculum.many(
                len(absence.used_by),
                "The written ladder of {skills} stands on it.",
                "The written ladders of {skills} stand on it.",
                skills=standing,
            )
        )
    return tuple(lines)


def _lost(curriculum: Curriculum, skills: Iterable[str]) -> str:
    say = curriculum.say
    return say("No ladder keeps the rules any more for {skills}.", skills=listed(skills, say))


def wear_sentence(curriculum: Curriculum, wear: TrainerWear, *, names: Names | None = None) -> str:
    """What the labs do to one trainer, in words."""
    names, say = names or Names(curriculum=curriculum), curriculum.say
    costs = say(
        "{trainer} costs {money} an attempt; the labs plan {count}.",
        trainer=trainer_name(names, wear.trainer),
        money=money(curriculum, wear.cost_per_attempt),
        count=wear.planned,
    )
    told = [upper(costs)]
    if wear.runs_out_at is not None:
        out = "It is rated for {count} more and wears out on {day}."
        told.append(say(out, count=wear.life_left, day=names.name("lab", wear.runs_out_at)))
    elif wear.life_left is not None:
        told.append(say("It is rated for {count} more.", count=wear.life_left))
    if wear.spares:
        told.append(curriculum.many(wear.spares, "Hold {count} spare.", "Hold {count} spares."))
    return " ".join(told)


def saving_sentence(curriculum: Curriculum, saving: Saving, *, names: Names | None = None) -> str:
    """What could be practised as honestly on something cheaper, in words."""
    names = names or Names(curriculum=curriculum)
    return curriculum.many(
        saving.attempts,
        "{count} attempt at {station} on {day} could be made as honestly on {trainer}, which would save {money}.",
        "{count} attempts at {station} on {day} could be made as honestly on {trainer}, which would save {money}.",
        station=names.name("station", saving.station),
        day=names.name("lab", saving.lab),
        trainer=trainer_name(names, saving.cheaper),
        money=money(curriculum, saving.saved),
    )


def _bought(curriculum: Curriculum, cover: Cover) -> str:
    return curriculum.say(
        "{trainers}, {money}" if cover.is_proved else "{trainers}, {money}, not proved to be the cheapest",
        trainers=listed([name_of(curriculum, id) for id in cover.trainers], curriculum.say),
        money=money(curriculum, cover.cost),
    )
