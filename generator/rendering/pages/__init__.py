"""Pages: the curriculum as plain Markdown, one file a page, readable by any site engine or none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from generator.analysis.addresses import (
    ALL_STATIONS,
    COURSE_PAGE,
    EVIDENCE_PAGE,
    GAPS_PAGE,
    GLOSSARY_PAGE,
    HEALTH_PAGE,
    HOME_PAGE,
    LABS_PAGE,
    LEVELS_PAGE,
    NUMBERS_PAGE,
    OUTCOMES_PAGE,
    SCENARIOS_PAGE,
    TRAINERS_PAGE,
    WEAR_PAGE,
    WORTH_PAGE,
    lab_page,
    run_page,
    scenario_page,
    skill_page,
    station_page,
    strand_page,
    trainer_page,
)
from generator.analysis.whole import analyse
from generator.diagnostics import Problem
from generator.model import Curriculum
from generator.rendering.lab_day import LabDay
from generator.rendering.pages import course, evidence, gaps, labs, lists, outcomes, scenarios, stations, wear, worth
from generator.rendering.pages.assets import assets
from generator.rendering.pages.skill import skill_markdown
from generator.rendering.pages.uses import uses_of
from generator.rendering.pages.writing import PAPERS, Handbook, PrintedSheet
from generator.rendering.references import formatted

__all__ = ["PAPERS", "PrintedSheet", "assets", "pages_of"]


def pages_of(
    curriculum: Curriculum,
    *,
    sheets: Sequence[PrintedSheet],
    problems: Sequence[Problem],
    today: date,
    days: Mapping[str, LabDay] | None = None,
) -> dict[str, str]:
    """Markdown by docs-relative path, such as `skills/airway/choking.md`.

    It never raises for a curriculum with problems: an unknown id shows as it was typed. Links are relative and end in
    `.md` (or `.pdf` for a sheet), so that the files also read where they lie. `days` holds the timetables of lab days
    by id; the page of a lab without one says so.
    """
    book = Handbook(
        curriculum=curriculum,
        uses=uses_of(curriculum),
        references=formatted(tuple(curriculum.sources.values())),
        sheets={(sheet.kind, sheet.id): sheet for sheet in sheets},
        today=today,
        analysis=analyse(curriculum),
        days=days or {},
    )
    return {
        HOME_PAGE: lists.home_markdown(book),
        **{strand_page(s.id): lists.strand_markdown(book, s) for s in lists.strands_of(curriculum)},
        **{skill_page(skill): skill_markdown(book, skill) for skill in curriculum.skills.values()},
        TRAINERS_PAGE: lists.trainers_markdown(book),
        WORTH_PAGE: worth.worth_markdown(book),
        GAPS_PAGE: gaps.gaps_markdown(book),
        WEAR_PAGE: wear.wear_markdown(book),
        **{trainer_page(trainer): lists.trainer_markdown(book, trainer) for trainer in curriculum.trainers.values()},
        **({COURSE_PAGE: course.course_markdown(book)} if curriculum.labs else {}),
        **_lab_pages(book),
        **_scenario_pages(book),
        NUMBERS_PAGE: evidence.numbers_markdown(book),
        EVIDENCE_PAGE: evidence.evidence_markdown(book),
        GLOSSARY_PAGE: lists.glossary_markdown(book),
        LEVELS_PAGE: lists.levels_markdown(book),
        **({OUTCOMES_PAGE: outcomes.outcomes_markdown(book)} if curriculum.standards else {}),
        HEALTH_PAGE: evidence.health_markdown(book, problems),
    }


def _lab_pages(book: Handbook) -> dict[str, str]:
    curriculum = book.curriculum
    pages: dict[str, str] = {}
    if curriculum.labs:
        pages[LABS_PAGE] = labs.labs_markdown(book)
    for lab in curriculum.labs.values():
        pages[lab_page(lab)] = labs.lab_markdown(book, lab)
    if curriculum.stations:
        pages[ALL_STATIONS] = stations.stations_markdown(book)
    for station in curriculum.stations.values():
        pages[station_page(station)] = stations.station_markdown(book, station)
    return pages


def _scenario_pages(book: Handbook) -> dict[str, str]:
    found = book.curriculum.scenarios.values()
    if not found:
        return {}
    return {
        SCENARIOS_PAGE: scenarios.scenarios_markdown(book),
        **{scenario_page(one): scenarios.scenario_markdown(book, one) for one in found},
        **{run_page(one): scenarios.run_markdown(book, one) for one in found},
    }
