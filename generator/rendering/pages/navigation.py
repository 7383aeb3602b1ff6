"""The order of the handbook: chapters, and the pages in each."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from generator.model import Curriculum
from generator.rendering.pages.course import COURSE_PAGE
from generator.rendering.pages.gaps import GAPS_PAGE
from generator.rendering.pages.inert import quiet
from generator.rendering.pages.labs import labs_in_order
from generator.rendering.pages.lists import strands_of
from generator.rendering.pages.scenarios import run_page, scenario_page
from generator.rendering.pages.stations import ALL_STATIONS, lab_page, station_page
from generator.rendering.pages.uses import OUTCOMES_PAGE, skill_page, trainer_page
from generator.rendering.pages.wear import WEAR_PAGE
from generator.rendering.pages.worth import WORTH_PAGE

Chapter = dict[str, "str | list[str | Chapter]"]


def navigation_of(curriculum: Curriculum, *, prose: Iterable[str]) -> list[str | Chapter]:
    """Chapters of docs-relative paths; `prose` are the pages that somebody wrote by hand, in the order given."""
    label = _labels_of(curriculum)
    strands: list[str | Chapter] = [
        {
            quiet(strand.name): [
                f"skills/{strand.id}/index.md",
                *(skill_page(skill) for skill in curriculum.skills_in(strand.id)),
            ]
        }
        for strand in strands_of(curriculum)
    ]
    trainers = sorted(curriculum.trainers.values(), key=lambda trainer: trainer.name)
    chapters: list[str | Chapter] = [{label("Home"): "index.md"}]
    if strands:
        chapters.append({label("Skills"): strands})
    if curriculum.stations or curriculum.labs:
        chapters.append({label("Lab days"): _labs(curriculum)})
    if curriculum.scenarios:
        scenarios = sorted(curriculum.scenarios.values(), key=lambda scenario: scenario.title)
        pages = [page for one in scenarios for page in (scenario_page(one), run_page(one))]
        chapters.append({label("Scenarios"): ["scenarios/index.md", *pages]})
    chapters += [
        {
            label("Trainers"): [
                "trainers/index.md",
                WORTH_PAGE,
                GAPS_PAGE,
                WEAR_PAGE,
                *(trainer_page(trainer) for trainer in trainers),
            ]
        },
        {label("Numbers"): "numbers.md"},
        {label("Evidence"): "evidence.md"},
        {label("Glossary"): "glossary.md"},
        {label("Levels"): "levels.md"},
    ]
    if curriculum.standards:
        chapters.append({label("Outcomes"): OUTCOMES_PAGE})
    chapters.append({label("Health"): "health.md"})
    written: list[str | Chapter] = [page for page in prose if page != "index.md"]
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
        chapter += ["labs/index.md", COURSE_PAGE, *(lab_page(lab) for lab in labs_in_order(curriculum))]
    if stations:
        chapter.append({label("Stations"): [ALL_STATIONS, *(station_page(station) for station in stations)]})
    return chapter
