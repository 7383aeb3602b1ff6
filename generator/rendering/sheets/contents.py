"""From a curriculum to its sheets, as plain data. Nothing here knows how a page looks."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from generator.analysis.inventory import inventory_of
from generator.analysis.scenario.variants import variant_of
from generator.analysis.wording import fill
from generator.analysis.worth import THE_LAB
from generator.model import Curriculum, Lab, Scenario, Skill, Station, Trainer
from generator.rendering.directions import apart, unstopped
from generator.rendering.lab_day import LabDay
from generator.rendering.sheets import words
from generator.rendering.sheets.deciding import deciding, minutes
from generator.rendering.sheets.lines import (
    filler,
    item_of,
    of_skill,
    other_views,
    pace_of,
    rung_of,
    short_of,
    step_of,
    trainer_of,
)
from generator.rendering.sheets.own_words import in_own_words
from generator.rendering.sheets.scenario_cards import facilitator_of, observer_of, patient_of
from generator.rendering.sheets.sheet import LAYOUT, Kind, Sheet, revision_of
from generator.rendering.sheets.stations import guide_of, poster_of
from generator.rendering.sheets.timetables import timetable_of
from generator.rendering.sheets.worth import lab_worth_of, skill_worth_of


def sheets_of(
    curriculum: Curriculum, *, page_ending: str = ".html", days: Mapping[str, LabDay] | None = None
) -> tuple[Sheet, ...]:
    """Checklists, practice cards, trainer cards, station guides, posters, timetables, worth tables, in that order.

    A lab day has a timetable only when its plan is among `days`. `page_ending` ends the address of a page: `.html`, or
    `/` where the site has a folder for each page.
    """
    curriculum = apart(curriculum)
    sheets: list[Sheet] = []
    for skill in curriculum.skills.values():
        page = f"skills/{skill.strand}/{skill.id}{page_ending}"
        sheets.append(_sheet(curriculum, "checklist", skill, page, _checklist(curriculum, skill)))
        sheets.append(_sheet(curriculum, "practice", skill, page, _practice(curriculum, skill)))
    for trainer in curriculum.trainers.values():
        page = f"trainers/{trainer.id}{page_ending}"
        sheets.append(_sheet(curriculum, "trainer", trainer, page, _trainer(curriculum, trainer)))
    for station in curriculum.stations.values():
        page = f"stations/{station.id}{page_ending}"
        sheets.append(_sheet(curriculum, "station", station, page, guide_of(curriculum, station)))
        sheets.append(_sheet(curriculum, "poster", station, page, poster_of(curriculum, station)))
    for lab in curriculum.labs.values():
        if days and lab.id in days:
            page = f"labs/{lab.id}{page_ending}"
            sheets.append(_sheet(curriculum, "timetable", lab, page, timetable_of(curriculum, days[lab.id])))
    if curriculum.trainers and curriculum.techniques:
        page, title = (
            f"trainers/worth{page_ending}",
            curriculum.say("What each trainer proves, {program}", program=curriculum.program.short_name),
        )
        sheets.append(_titled(curriculum, "worth", THE_LAB, title, page=page, own=lab_worth_of(curriculum)))
        inventory = inventory_of(curriculum)
        for skill in curriculum.skills.values():
            page, own = f"skills/{skill.strand}/{skill.id}{page_ending}", skill_worth_of(curriculum, inventory, skill)
            if own["parts"]:
                sheets.append(_titled(curriculum, "worth", f"skill-{skill.id}", skill.title, page=page, own=own))
    for scenario in curriculum.scenarios.values():
        sheets += _scenario_sheets(curriculum, scenario, page_ending=page_ending)
    return tuple(sheets)


def scenario_sheets(
    curriculum: Curriculum, scenario: Scenario, *, seed: int | None = None, page_ending: str = ".html"
) -> tuple[Sheet, ...]:
    """The three cards of a scenario. With `seed` they are those of `variant_of` that seed, which is printed on them."""
    own = apart(curriculum)
    if own is not curriculum:
        scenario = own.scenarios.get(scenario.id, scenario)
    return _scenario_sheets(own, scenario, seed=seed, page_ending=page_ending)


def _scenario_sheets(
    curriculum: Curriculum, scenario: Scenario, *, seed: int | None = None, page_ending: str
) -> tuple[Sheet, ...]:
    page, id = f"scenarios/{scenario.id}{page_ending}", scenario.id
    if seed is not None:
        scenario, id = variant_of(scenario, seed), f"{scenario.id}-seed-{seed}"
    cards: tuple[tuple[Kind, dict[str, Any]], ...] = (
        ("facilitator", facilitator_of(curriculum, scenario, seed)),
        ("patient", patient_of(curriculum, scenario, seed)),
        ("observer", observer_of(curriculum, scenario, seed)),
    )
    return tuple(_titled(curriculum, kind, id, scenario.title, page=page, own=own) for kind, own in cards)


def _sheet(
    curriculum: Curriculum, kind: Kind, record: Skill | Trainer | Station | Lab, page: str, own: dict[str, Any]
) -> Sheet:
    title = record.name if isinstance(record, Trainer) else record.title
    return _titled(curriculum, kind, record.id, title, page=page, own=own)


def _titled(curriculum: Curriculum, kind: Kind, id: str, title: str, *, page: str, own: dict[str, Any]) -> Sheet:
    program = curriculum.program
    tag = re.fullmatch(r"([a-z]{2,3})(?:-([A-Za-z]{2}))?", program.language)
    data = {
        "layout": LAYOUT,
        "kind": kind,
        "id": id,
        "title": title,
        "url": f"{program.site_url.rstrip('/')}/{page}",
        "program": program.name,
        "lang": tag[1] if tag else "en",
        "region": tag[2].upper() if tag and tag[2] else None,
        "deferral": fill(program.medical_direction, curriculum),
        "starter": words.STARTER if program.approval is None else None,
        "usual_cautions": [fill(text, curriculum) for text in program.usual_cautions],
    } | own
    data = in_own_words(curriculum, data)
    return Sheet(kind=kind, id=id, title=title, page=page, data=data, revision=revision_of(data))


def _checklist(curriculum: Curriculum, skill: Skill) -> dict[str, Any]:
    text = filler(curriculum)
    program = curriculum.program
    critical = [number for number, step in enumerate(skill.steps, 1) if step.critical]
    facts = [
        ("Strand", curriculum.name_of(program.strands, skill.strand)),
        ("Patient", ", ".join(curriculum.name_of(program.populations, id).lower() for id in skill.populations)),
        ("Time", curriculum.say("about {minutes} an attempt", minutes=minutes(curriculum, skill.minutes_per_attempt))),
        ("Levels", ", ".join(short_of(program.levels, level) for level in skill.levels)),
        ("Set out", "; ".join(item_of(curriculum, id) for id in skill.equipment)),
    ]
    rungs = [plan.rung for plan in skill.ladder]
    return of_skill(curriculum, skill, with_why=True) | {
        "words": dict(words.CHECKLIST),
        "provisional": [text(skill.levels_provisional)] if skill.levels_provisional else [],
        "facts": [{"label": label, "text": f"{value}."} for label, value in facts if value],
        "steps": [
            step_of(curriculum, skill, number, step, is_evaluator=True) for number, step in enumerate(skill.steps, 1)
        ],
        "rungs": [
            {
                # A ladder may have two trainers on one rung; their boxes must not share a name.
                "id": plan.rung if rungs.count(plan.rung) == 1 else f"{plan.rung}:{plan.trainer}",
                "name": curriculum.name_of(program.rungs, plan.rung),
                "text": rung_of(curriculum, skill, plan),
            }
            for plan in skill.ladder
        ],
        "roles": [
            {"id": role.id, "name": role.name, "about": text(role.about) if role.about else None}
            for role in skill.roles
        ],
        "scorers": [{"id": id, "name": name} for id, name in words.SCORERS],
        "results": [
            {"id": id, "name": name, "means": f"{means}."}
            for id, name, means in words.RESULTS
            if critical or id != "failed"
        ],
        "deciding": list(
            deciding(
                curriculum, skill.clearance, curriculum.name_of(program.rungs, skill.clearance.rung), critical, text
            )
        ),
        "differences": [text(line) for line in skill.disagreements] + other_views(curriculum, skill),
        "end": curriculum.say(
            "End of checklist: {title}. {steps}, {critical} critical.",
            title=skill.title,
            steps=curriculum.many(len(skill.steps), "{count} step", "{count} steps"),
            critical=len(critical),
        ),
    }


def _practice(curriculum: Curriculum, skill: Skill) -> dict[str, Any]:
    text = filler(curriculum)
    rungs = curriculum.program.rungs
    return of_skill(curriculum, skill, with_why=False) | {
        "words": dict(words.PRACTICE),
        "summary": text(skill.summary),
        "steps": [
            step_of(curriculum, skill, number, step, is_evaluator=False)
            | {
                "pace": pace_of(curriculum, step),
                "errors": [{"error": unstopped(text(e.error)), "cue": text(e.cue)} for e in step.errors],
            }
            for number, step in enumerate(skill.steps, 1)
        ],
        "rungs": [
            {
                "name": curriculum.name_of(rungs, plan.rung),
                "trainer": trainer_of(curriculum, plan),
            }
            for plan in skill.ladder
        ],
        "end": curriculum.say(
            "End of practice card: {title}. {steps}.",
            title=skill.title,
            steps=curriculum.many(len(skill.steps), "{count} step", "{count} steps"),
        ),
    }


def _trainer(curriculum: Curriculum, trainer: Trainer) -> dict[str, Any]:
    text = filler(curriculum)
    skills = curriculum.skills.values()
    plans = [(skill, plan) for skill in skills for plan in skill.ladder if plan.trainer == trainer.id]
    rested_on = {id for skill, plan in plans for step in skill.steps_on(plan) for id in step.rests_on}
    # A technique that no skill rests on here, and that the trainer does not mention, would only fill the card.
    techniques = [id for id in curriculum.techniques if id in trainer.feedback or id in rested_on]
    groups: list[dict[str, Any]] = []
    for worth, word, heading in words.WORTHS:
        rows = []
        for id in techniques:
            if trainer.worth_of(id) is not worth:
                continue
            feedback = trainer.feedback.get(id)
            watch = text(curriculum.techniques[id].right)
            shows = text(feedback.shows) if feedback else curriculum.say("Watch for: {what}", what=watch)
            name = curriculum.techniques[id].name
            rows.append(
                {
                    "worth": str(worth),
                    "word": curriculum.say(word),
                    "technique": name,
                    "shows": shows,
                    "long": len(name + shows) > 900,
                }
            )
        if rows:
            groups.append({"heading": heading, "rows": rows})
    return {
        "words": dict(words.TRAINER),
        "summary": text(trainer.summary),
        "provisional": [text(line) for line in trainer.provisional],
        "groups": groups,
        "limits": [text(line) for line in trainer.limits],
        "accepts": [item_of(curriculum, id) for id in trainer.accepts],
        "setup_label": curriculum.say("Set it up ({minutes})", minutes=minutes(curriculum, trainer.setup_minutes)),
        "setup": [text(line) for line in trainer.setup],
        "cleaning": [text(line) for line in trainer.cleaning],
        "used_for": [
            f"{skill.title}: {curriculum.name_of(curriculum.program.rungs, plan.rung)}" for skill, plan in plans
        ],
        "end": curriculum.say("End of trainer card: {name}.", name=trainer.name),
    }
