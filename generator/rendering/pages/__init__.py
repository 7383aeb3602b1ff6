"""Pages: the curriculum as plain Markdown, one file a page, readable by any site engine or none."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from functools import partial
from itertools import chain
from typing import NamedTuple

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
from generator.analysis.whole import Analysis, analyse
from generator.diagnostics import Problem
from generator.model import Curriculum, Skill
from generator.rendering.directions import apart
from generator.rendering.lab_day import LabDay
from generator.rendering.pages import course, evidence, gaps, labs, lists, outcomes, scenarios, stations, wear, worth
from generator.rendering.pages.assets import assets
from generator.rendering.pages.skill import skill_markdown
from generator.rendering.pages.uses import uses_of
from generator.rendering.pages.writing import PAPERS, Handbook, PrintedSheet, Prints
from generator.rendering.references import formatted

__all__ = ["PAPERS", "KeptPage", "PrintedSheet", "Prints", "assets", "pages_of"]

KeptPage = Callable[[str, Sequence[Skill], Prints, Callable[[], str]], str]
"""Gives a page, from before or by the call: its path, the skills of which it shows running text, the sheets that it may
name, and what writes it."""


def pages_of(
    curriculum: Curriculum,
    *,
    sheets: Sequence[PrintedSheet],
    problems: Sequence[Problem],
    today: date,
    days: Mapping[str, LabDay] | None = None,
    analysis: Analysis | None = None,
    kept: KeptPage | None = None,
) -> dict[str, str]:
    """Markdown by docs-relative path, such as `skills/airway/choking.md`.

    It never raises for a curriculum with problems: an unknown id shows as it was typed. Links are relative and end in
    `.md` (or `.pdf` for a sheet), so that the files also read where they lie. `days` holds the timetables of lab days
    by id; the page of a lab without one says so. Where the same curriculum is analysed anyway, `analysis` saves the
    second time; `kept` may give a page that was written before.
    """
    own = apart(curriculum)
    if own is not curriculum:
        curriculum, analysis = own, None
    book = Handbook(
        curriculum=curriculum,
        uses=uses_of(curriculum),
        references=formatted(tuple(curriculum.sources.values())),
        sheets=Prints(sheets),
        today=today,
        analysis=analysis or analyse(curriculum),
        days=days or {},
    )
    pages: dict[str, str] = {}
    every = (_front(book), _skills(book), _trainers(book), _labs(book), _scenarios(book), _references(book))
    for page in chain.from_iterable(every):
        if kept is None or page.shows is None:
            pages[page.path] = page.write()
        else:
            pages[page.path] = kept(page.path, page.shows, book.sheets, page.write)
    return pages | {HEALTH_PAGE: evidence.health_markdown(book, problems)}


class Page(NamedTuple):
    """A page and what writes it."""

    path: str
    write: Callable[[], str]
    shows: tuple[Skill, ...] | None = ()
    """The skills of which it shows running text; None when that may be any."""


def _front(book: Handbook) -> Iterator[Page]:
    yield Page(HOME_PAGE, lambda: lists.home_markdown(book))
    for strand in lists.strands_of(book.curriculum):
        yield Page(strand_page(strand.id), partial(lists.strand_markdown, book, strand))


def _skills(book: Handbook) -> Iterator[Page]:
    for skill in book.curriculum.skills.values():
        yield Page(skill_page(skill), partial(skill_markdown, book, skill), (skill,))


def _trainers(book: Handbook) -> Iterator[Page]:
    yield Page(TRAINERS_PAGE, lambda: lists.trainers_markdown(book))
    yield Page(WORTH_PAGE, lambda: worth.worth_markdown(book))
    yield Page(GAPS_PAGE, lambda: gaps.gaps_markdown(book))
    yield Page(WEAR_PAGE, lambda: wear.wear_markdown(book))
    for trainer in book.curriculum.trainers.values():
        yield Page(trainer_page(trainer), partial(lists.trainer_markdown, book, trainer))


def _labs(book: Handbook) -> Iterator[Page]:
    curriculum = book.curriculum
    if curriculum.labs:
        yield Page(COURSE_PAGE, lambda: course.course_markdown(book))
        yield Page(LABS_PAGE, lambda: labs.labs_markdown(book))
    for lab in curriculum.labs.values():
        yield Page(lab_page(lab), partial(labs.lab_markdown, book, lab))
    if curriculum.stations:
        yield Page(ALL_STATIONS, lambda: stations.stations_markdown(book))
    for station in curriculum.stations.values():
        skill = curriculum.skills.get(station.skill)
        shows = () if skill is None else (skill,)
        yield Page(station_page(station), partial(stations.station_markdown, book, station), shows)


def _scenarios(book: Handbook) -> Iterator[Page]:
    curriculum = book.curriculum
    if curriculum.scenarios:
        yield Page(SCENARIOS_PAGE, lambda: scenarios.scenarios_markdown(book))
    for one in curriculum.scenarios.values():
        shows = tuple(curriculum.skills[id] for id in one.skills if id in curriculum.skills)
        yield Page(scenario_page(one), partial(scenarios.scenario_markdown, book, one), shows)
        yield Page(run_page(one), partial(scenarios.run_markdown, book, one), shows)


def _references(book: Handbook) -> Iterator[Page]:
    yield Page(NUMBERS_PAGE, lambda: evidence.numbers_markdown(book))
    yield Page(EVIDENCE_PAGE, lambda: evidence.evidence_markdown(book))
    yield Page(GLOSSARY_PAGE, lambda: lists.glossary_markdown(book), None)
    yield Page(LEVELS_PAGE, lambda: lists.levels_markdown(book))
    if book.curriculum.standards:
        yield Page(OUTCOMES_PAGE, lambda: outcomes.outcomes_markdown(book))
