"""What the station guide and the station poster print, as plain data."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from generator.analysis.at_station import attempts_at, number_of, steps_at, worths_at
from generator.analysis.practice import plan_for
from generator.analysis.wording import ranges
from generator.model import Curriculum, Skill, Station, Trainer, Worth
from generator.model.lab import Supply
from generator.rendering.directions import unstopped
from generator.rendering.sheets import words
from generator.rendering.sheets.deciding import minutes
from generator.rendering.sheets.lines import filler, of_skill

ATTEMPTS_OF_SUPPLIES = 10
"""Supplies are told for so many attempts, because most are used up by the fraction."""


def guide_of(curriculum: Curriculum, station: Station) -> dict[str, Any]:
    """The station guide: front for the minutes with a group, back for the time before, between and after.

    Steps are numbered as in the skill. Works for a station whose skill or trainer is not known.
    """
    text = filler(curriculum)
    skill = curriculum.skills.get(station.skill)
    trainer = curriculum.trainers.get(station.trainer)
    of_its_skill = (
        of_skill(curriculum, skill, with_why=False) if skill else {"must_know": [], "more_cautions": None, "local": []}
    )
    return of_its_skill | {
        "words": dict(words.STATION),
        "facts": [{"label": label, "text": f"{value}."} for label, value in _facts(curriculum, station, skill)],
        "number": number_of(curriculum, station.id),
        "aim": _aim(curriculum, station, skill),
        **_worths(curriculum, station),
        "brief": text(station.brief),
        "minutes": station.minutes,
        "prompts": [
            {"minute": prompt.at_minute, "text": text(prompt.prompt)}
            for prompt in sorted(station.prompts, key=lambda prompt: prompt.at_minute)
        ],
        "stop": curriculum.say("Stop, wherever they are. Ask what they saw, then reset."),
        "peers": text(station.peers),
        "errors": [{"error": unstopped(text(e.error)), "cue": text(e.cue)} for e in station.errors],
        "set_up": [*_set_up(curriculum, trainer), *(text(line) for line in station.set_up)],
        "reset": [text(line) for line in station.reset],
        "cleaning": [text(line) for line in station.cleaning or (trainer.cleaning if trainer else ())],
        "supplies": supplies_said(curriculum, station.supplies),
        "end": curriculum.say("End of station guide: {title}.", title=station.title),
    }


def poster_of(curriculum: Curriculum, station: Station) -> dict[str, Any]:
    """The poster that hangs over a station: number, name, aim, and the critical steps practised there."""
    text = filler(curriculum)
    skill = curriculum.skills.get(station.skill)
    return {
        "words": dict(words.POSTER),
        "number": number_of(curriculum, station.id),
        "aim": _aim(curriculum, station, skill),
        "steps": [
            {"number": number, "do": text(step.do), "by": curriculum.name_of(skill.roles, step.by) if step.by else None}
            for number, step in steps_at(curriculum, station)
            if skill and step.critical
        ],
    }


def supplies_said(curriculum: Curriculum, supplies: Sequence[Supply]) -> str | None:
    """What attempts use up, in words; None when they use up nothing."""
    if not supplies:
        return None
    listed = "; ".join(f"{said(supply.per_attempt * ATTEMPTS_OF_SUPPLIES)}\u00a0× {supply.name}" for supply in supplies)
    return curriculum.say("For every {count} attempts: {listed}.", count=ATTEMPTS_OF_SUPPLIES, listed=listed)


def said(amount: Decimal) -> str:
    """An amount without needless noughts: `5`, `2.5`."""
    return f"{amount.normalize():f}"


def _aim(curriculum: Curriculum, station: Station, skill: Skill | None) -> str | None:
    plan = plan_for(skill, station) if skill else None
    return filler(curriculum)(plan.aim) if plan else None


def _facts(curriculum: Curriculum, station: Station, skill: Skill | None) -> list[tuple[str, str]]:
    rungs = [plan.rung for plan in skill.ladder] if skill else []
    rung = curriculum.name_of(curriculum.program.rungs, station.rung)
    if station.rung in rungs:
        number = rungs.index(station.rung) + 1
        rung += curriculum.say(", {number} of {count} on the ladder", number=number, count=len(rungs))
    trainer = curriculum.trainers.get(station.trainer)
    time = minutes(curriculum, station.minutes)
    attempts = attempts_at(curriculum, station)
    if attempts:
        time += curriculum.many(
            attempts,
            ", room for {count} attempt on each trainer",
            ", room for {count} attempts on each trainer",
        )
    facts = [
        ("Skill", skill.title if skill else station.skill),
        ("Rung", rung),
        ("Trainer", trainer.name if trainer else station.trainer),
        ("Time", time),
    ]
    numbers = steps_at(curriculum, station)
    if skill and numbers:
        critical = [number for number, step in numbers if step.critical]
        is_all = len(numbers) == len(skill.steps)
        steps = curriculum.say(
            "{steps} of {count}; critical: {critical}",
            steps=curriculum.say("all") if is_all else ranges([number for number, _ in numbers], curriculum.say),
            count=len(skill.steps),
            critical=ranges(critical, curriculum.say) or curriculum.say("none"),
        )
        facts.append(("Steps here", steps))
    return facts


def _worths(curriculum: Curriculum, station: Station) -> dict[str, Any]:
    """What the trainer's feedback is worth for the techniques met here; false reassurance first."""
    text = filler(curriculum)
    met = worths_at(curriculum, station)
    words_of = {worth: word for worth, word, _ in words.WORTHS}
    rows: list[dict[str, Any]] = []
    proved: list[str] = []
    for id, worth in met:
        technique = curriculum.techniques.get(id)
        name = technique.name if technique else id
        if worth.is_honest:
            proved.append(f"{name} ({curriculum.say(worth)})")
            continue
        feedback = curriculum.trainers[station.trainer].feedback.get(id)
        rows.append(
            {
                "worth": str(worth),
                "word": curriculum.say(words_of[worth]),
                "technique": name,
                "shows": text(feedback.shows) if feedback and worth is Worth.GIVEN else None,
                "watch": curriculum.say("Watch for: {what}", what=text(technique.right)) if technique else None,
            }
        )
    return {"false": rows, "proves": f"{'; '.join(proved)}." if proved else None, "meets": bool(met)}


def _set_up(curriculum: Curriculum, trainer: Trainer | None) -> list[str]:
    if trainer is None:
        return []
    card = "{trainer}: set it up by its trainer card ({minutes})."
    return [curriculum.say(card, trainer=trainer.name, minutes=minutes(curriculum, trainer.setup_minutes))]
