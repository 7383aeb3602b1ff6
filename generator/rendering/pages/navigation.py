"""The order of the handbook: chapters, and the pages in each."""

from __future__ import annotations

from collections.abc import Callable, Iterable

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
from generator.model import Curriculum
from generator.rendering.pages.inert import quiet
from generator.rendering.pages.labs import labs_in_order
from generator.rendering.pages.lists import strands_of

Chapter = dict[str, "str | list[str | Chapter]"]


def navigation_of(curriculum: Curriculum, *, prose: Iterable[str]) -> list[str | Chapter]:
    """Chapters of docs-relative paths; `prose` are the pages that somebody wrote by hand, in the order given."""
    label = _labels_of(curriculum)
    strands: list[str | Chapter] = [
        {
            quiet(strand.name): [
                strand_page(strand.id),
                *(skill_page(skill) for skill in curriculum.skills_in(strand.id)),
            ]
        }
        for strand in strands_of(curriculum)
    ]
    trainers = sorted(curriculum.trainers.values(), key=lambda trainer: trainer.name)
    chapters: list[str | Chapter] = [{label("Home"): HOME_PAGE}]
    if strands:
        chapters.append({label("Skills"): strands})
    if curriculum.stations or curriculum.labs:
        chapters.append({label("Lab days"): _labs(curriculum)})
    if curriculum.scenarios:
        scenarios = sorted(curriculum.scenarios.values(), key=lambda scenario: scenario.title)
        pages = [page for one in scenarios for page in (scenario_page(one), run_page(one))]
        chapters.append({label("Scenarios"): [SCENARIOS_PAGE, *pages]})
    chapters += [
        {
            label("Trainers"): [
                TRAINERS_PAGE,
                WORTH_PAGE,
                GAPS_PAGE,
                WEAR_PAGE,
                *(trainer_page(trainer) for trainer in trainers),
            ]
        },
        {label("Numbers"): NUMBERS_PAGE},
        {label("Evidence"): EVIDENCE_PAGE},
        {label("Glossary"): GLOSSARY_PAGE},
        {label("Levels"): LEVELS_PAGE},
    ]
    if curriculum.standards:
        chapters.append({label("Outcomes"): OUTCOMES_PAGE})
    chapters.append({label("Health"): HEALTH_PAGE})
    written: list[str | Chapter] = [page for page in prose if page != HOME_PAGE]
    if written:
        chapters.append({label("About"): written})
    return chapters


def _labels_of(curriculum: Curriculum) -> Callable[[str], str]:
    return lambda words: quiet(curriculum.label(words))


def _labs(curriculum: Curriculum) -> list[str | Chapter]:
    """Lab days by date, then the stations by title."""
    label = _labels_of(curriculum)
    stations = sorted(curriculum.stations.values(), key=lambda station: station.title)
    chapter: list[str | Chapter] = []
    if curriculum.labs:
        chapter += [LABS_PAGE, COURSE_PAGE, *(lab_page(lab) for lab in labs_in_order(curriculum))]
    if stations:
        chapter.append({label("Stations"): [ALL_STATIONS, *(station_page(station) for station in stations)]})
    return chapter
