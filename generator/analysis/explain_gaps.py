"""Gaps, absences and wear in the words of a colleague, with names instead of ids where they are read."""

from __future__ import annotations

from generator.analysis.absence import Absence
from generator.analysis.gaps import Cover, Gap, Gaps, Touched
from generator.analysis.names import Names, upper
from generator.analysis.phrases import (
    coded,
    counted,
    listed,
    money,
    name_of,
    technique_name,
    trainer_choice,
    trainer_name,
)
from generator.analysis.wear import Saving, TrainerWear
from generator.model import Curriculum


def gaps_text(curriculum: Curriculum, gaps: Gaps) -> str:
    """The gaps and what closes them, as lines of text."""
    say = Names(curriculum=curriculum)
    lines = []
    if gaps.without is not None:
        lines.append(f"Without {trainer_name(say, gaps.without)}:")
        if gaps.used_by:
            lines.append(f"  The written ladders of {listed(coded(gaps.used_by))} stand on it.")
        if gaps.lost:
            lines.append(f"  No ladder keeps the rules any more for {listed(coded(gaps.lost))}.")
    if not gaps.gaps:
        lines.append("Every technique that a critical step rests on has an honest trainer in this lab.")
    for gap in gaps.gaps:
        opened = " (opened by its absence)" if gap.technique in gaps.opened else ""
        lines.append(f"No owned trainer proves {technique_name(say, gap.technique)}{opened}:")
        for touched in gap.touches:
            title = curriculum.skills[touched.skill].title
            lines.append(f"  {title}: {listed(coded(touched.steps))}.")
        if gap.unfit:
            unfit = upper(trainer_choice(say, gap.unfit, "and"))
            lines.append(f"  {unfit} would answer, but cannot host these steps.")
    if gaps.cover.trainers:
        what = "them" if len(gaps.gaps) > 1 else "it"
        lines.append(f"Cheapest way to close {what}: {_bought(curriculum, gaps.cover)}.")
        runner = f"{_bought(curriculum, gaps.runner_up)}" if gaps.runner_up else "there is no other"
        lines.append(f"Next best: {runner}.")
    for technique, skill in gaps.open:
        lines.append(
            f"Nothing in the catalogue closes {technique_name(say, technique)} for {curriculum.skills[skill].title}."
        )
    return "\n".join(lines)


def gap_lead(curriculum: Curriculum, gap: Gap, *, names: Names | None = None) -> str:
    """Why a technique cannot be taught honestly in this lab."""
    say = names or Names(curriculum=curriculum)
    if not gap.unfit:
        return f"No owned trainer is honest about {technique_name(say, gap.technique)}."
    unfit = upper(trainer_choice(say, gap.unfit, "and"))
    return f"{unfit} would answer, but cannot host the steps that rest on it."


def gaps_verdict(gaps: Gaps) -> str:
    """The gaps in one line."""
    if not gaps.gaps:
        return "Every technique that a critical step rests on has an honest trainer in this lab"
    skills = {touched.skill for gap in gaps.gaps for touched in gap.touches}
    count, touched = len(gaps.gaps), len(skills)
    return (
        f"{count} {'technique has' if count == 1 else 'techniques have'} no honest trainer, "
        f"which touches {touched} {'skill' if touched == 1 else 'skills'}"
    )


def touched_sentence(curriculum: Curriculum, touched: Touched, *, names: Names | None = None) -> str:
    """The skill and the critical steps that a gap touches, and what in the catalogue would do."""
    say = names or Names(curriculum=curriculum)
    steps = listed([say.name("step", f"{touched.skill}/{step}") for step in touched.steps])
    able = trainer_choice(say, touched.candidates)
    would_do = f"{upper(able)} would do." if able else "Nothing in the catalogue would do."
    return f"{say.name('skill', touched.skill)}: {steps}. {would_do}"


def absence_lines(
    curriculum: Curriculum, absence: Absence, *, names: Names | None = None, ladders: bool = True
) -> tuple[str, ...]:
    """What is lost while a trainer is out of service; with `ladders` also which written ladders stand on it."""
    say = names or Names(curriculum=curriculum)
    lines = []
    if absence.lost:
        lines.append(f"No ladder keeps the rules any more for {listed(say.name('skill', id) for id in absence.lost)}.")
    opened: dict[str, list[str]] = {}
    for technique, skill in absence.opened:
        opened.setdefault(technique, []).append(skill)
    for technique, skills in opened.items():
        where = listed(say.name("skill", id) for id in skills)
        lines.append(f"Nothing else proves {technique_name(say, technique)} for {where}.")
    if absence.used_by and ladders:
        standing = listed(say.name("skill", id) for id in absence.used_by)
        ladders_of, stand = ("ladder of", "stands") if len(absence.used_by) == 1 else ("ladders of", "stand")
        lines.append(f"The written {ladders_of} {standing} {stand} on it.")
    return tuple(lines)


def wear_sentence(curriculum: Curriculum, wear: TrainerWear, *, names: Names | None = None) -> str:
    """What the labs do to one trainer, in words."""
    say = names or Names(curriculum=curriculum)
    name = upper(trainer_name(say, wear.trainer))
    text = f"{name} costs {money(curriculum, wear.cost_per_attempt)} an attempt; the labs plan {wear.planned}."
    if wear.runs_out_at is not None:
        text += f" It is rated for {wear.life_left} more and wears out on {say.name('lab', wear.runs_out_at)}."
    elif wear.life_left is not None:
        text += f" It is rated for {wear.life_left} more."
    if wear.spares:
        text += f" Hold {counted(wear.spares, 'spare')}."
    return text


def saving_sentence(curriculum: Curriculum, saving: Saving, *, names: Names | None = None) -> str:
    """What could be practised as honestly on something cheaper, in words."""
    say = names or Names(curriculum=curriculum)
    return (
        f"{counted(saving.attempts, 'attempt')} at {say.name('station', saving.station)} on "
        f"{say.name('lab', saving.lab)} could be made as honestly on "
        f"{trainer_name(say, saving.cheaper)}, which would save {money(curriculum, saving.saved)}."
    )


def _bought(curriculum: Curriculum, cover: Cover) -> str:
    names = listed([name_of(curriculum, id) for id in cover.trainers])
    proved = "" if cover.is_proved else ", not proved to be the cheapest"
    return f"{names}, {money(curriculum, cover.cost)}{proved}"
