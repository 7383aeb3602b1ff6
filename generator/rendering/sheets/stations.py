"""What the station guide and the station poster print, as plain data."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from generator.analysis.practice import plan_for, rests_on, station_steps
from generator.model import Curriculum, Lab, Skill, Station, Step, Trainer, Worth
from generator.model.lab import Supply
from generator.rendering.sheets import words
from generator.rendering.sheets.deciding import counted, ranges
from generator.rendering.sheets.lines import filler, of_skill

ATTEMPTS_OF_SUPPLIES = 10
"""Supplies are told for so many attempts, because most are used up by the fraction."""
_PROVES = {Worth.EARNED: "earned", Worth.MEASURED: "measured"}


def guide_of(curriculum: Curriculum, station: Station) -> dict[str, Any]:
    """The station guide: front for the minutes with a group, back for the time before, between and after.

    Steps are numbered as in the skill. Works for a station whose skill or trainer is not known.
    """
    text = filler(curriculum)
    skill = curriculum.skills.get(station.skill)
    trainer = curriculum.trainers.get(station.trainer)
    of_its_skill = (
        of_skill(curriculum, skill, with_why=False)
        if skill
        else {"must_know": [], "more_cautions": None, "local": []}
    )
    return of_its_skill | {
        "words": dict(words.STATION),
        "facts": [{"label": label, "text": f"{value}."} for label, value in _facts(curriculum, station, skill)],
        "aim": _aim(curriculum, station, skill),
        **_worths(curriculum, station, trainer),
        "brief": text(station.brief),
        "minutes": station.minutes,
        "prompts": [
            {"minute": prompt.at_minute, "text": text(prompt.prompt)}
            for prompt in sorted(station.prompts, key=lambda prompt: prompt.at_minute)
        ],
        "stop": "Stop, wherever they are. Ask what they saw, then reset.",
        "peers": text(station.peers),
        "errors": [{"error": text(e.error).rstrip("."), "cue": text(e.cue)} for e in station.errors],
        "set_up": [*_set_up(trainer), *(text(line) for line in station.set_up)],
        "reset": [text(line) for line in station.reset],
        "cleaning": [text(line) for line in station.cleaning or (trainer.cleaning if trainer else ())],
        "supplies": supplies_said(station.supplies),
        "end": f"End of station guide: {station.title}.",
    }


def poster_of(curriculum: Curriculum, station: Station) -> dict[str, Any]:
    """The poster that hangs over a station: number, name, aim, and the critical steps practised there."""
    text = filler(curriculum)
    skill = curriculum.skills.get(station.skill)
    numbers = _numbers(curriculum, station, skill)
    return {
        "words": dict(words.POSTER),
        "number": number_of(curriculum, station),
        "aim": _aim(curriculum, station, skill),
        "steps": [
            {"number": number, "do": text(step.do), "by": curriculum.name_of(skill.roles, step.by) if step.by else None}
            for number, step in numbers
            if skill and step.critical
        ],
    }


def number_of(curriculum: Curriculum, station: Station) -> int | None:
    """The number a station goes by: its place in the lab that uses it; None when no lab does, or several do."""
    places = [place for lab in curriculum.labs.values() if (place := place_in(lab, station.id)) is not None]
    return places[0] if len(places) == 1 else None


def place_in(lab: Lab, station: str) -> int | None:
    """The number of a station on a lab day, from 1, as the day lists them."""
    return next((number for number, stop in enumerate(lab.stations, 1) if stop.station == station), None)


def supplies_said(supplies: Sequence[Supply]) -> str | None:
    """What attempts use up, in words; None when they use up nothing."""
    if not supplies:
        return None
    listed = "; ".join(f"{said(supply.per_attempt * ATTEMPTS_OF_SUPPLIES)}\u00a0× {supply.name}" for supply in supplies)
    return f"For every {ATTEMPTS_OF_SUPPLIES} attempts: {listed}."


def said(amount: Decimal) -> str:
    """An amount without needless noughts: `5`, `2.5`."""
    return f"{amount.normalize():f}"


def _aim(curriculum: Curriculum, station: Station, skill: Skill | None) -> str | None:
    plan = plan_for(skill, station) if skill else None
    return filler(curriculum)(plan.aim) if plan else None


def _numbers(curriculum: Curriculum, station: Station, skill: Skill | None) -> list[tuple[int, Step]]:
    here = {step.id for step in station_steps(curriculum, station)}
    return [(number, step) for number, step in enumerate(skill.steps if skill else (), 1) if step.id in here]


def _facts(curriculum: Curriculum, station: Station, skill: Skill | None) -> list[tuple[str, str]]:
    rungs = [plan.rung for plan in skill.ladder] if skill else []
    rung = curriculum.name_of(curriculum.program.rungs, station.rung)
    if station.rung in rungs:
        rung += f", {rungs.index(station.rung) + 1} of {len(rungs)} on the ladder"
    trainer = curriculum.trainers.get(station.trainer)
    time = counted(station.minutes, "minute", "minutes")
    if skill and skill.minutes_per_attempt and station.minutes >= skill.minutes_per_attempt:
        attempts = counted(station.minutes // skill.minutes_per_attempt, "attempt", "attempts")
        time += f", room for {attempts} on each trainer"
    facts = [
        ("Skill", skill.title if skill else station.skill),
        ("Rung", rung),
        ("Trainer", trainer.name if trainer else station.trainer),
        ("Time", time),
    ]
    numbers = _numbers(curriculum, station, skill)
    if skill and numbers:
        critical = [number for number, step in numbers if step.critical]
        every = "all" if len(numbers) == len(skill.steps) else ranges([number for number, _ in numbers])
        facts.append(("Steps here", f"{every} of {len(skill.steps)}; critical: {ranges(critical) or 'none'}"))
    return facts


def _worths(curriculum: Curriculum, station: Station, trainer: Trainer | None) -> dict[str, Any]:
    """What the trainer's feedback is worth for the techniques met here; false reassurance first."""
    text = filler(curriculum)
    met = rests_on(station_steps(curriculum, station)) if trainer else ()
    words_of = {worth: word for worth, word, _ in words.WORTHS}
    rows = []
    for worth in (Worth.GIVEN, Worth.SILENT):
        for id in met:
            if trainer is None or trainer.worth_of(id) is not worth:
                continue
            technique, feedback = curriculum.techniques.get(id), trainer.feedback.get(id)
            rows.append(
                {
                    "worth": str(worth),
                    "word": words_of[worth],
                    "technique": technique.name if technique else id,
                    "shows": text(feedback.shows) if feedback and worth is Worth.GIVEN else None,
                    "watch": f"Watch for: {text(technique.right)}" if technique else None,
                }
            )
    proved = [
        f"{technique.name if (technique := curriculum.techniques.get(id)) else id} "
        f"({_PROVES[trainer.worth_of(id)]})"
        for id in met
        if trainer and trainer.worth_of(id).is_honest
    ]
    return {"false": rows, "proves": f"{'; '.join(proved)}." if proved else None, "meets": bool(met)}


def _set_up(trainer: Trainer | None) -> list[str]:
    if trainer is None:
        return []
    return [f"{trainer.name}: set it up by its trainer card ({counted(trainer.setup_minutes, 'minute', 'minutes')})."]
