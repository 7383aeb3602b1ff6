"""The order of the handbook: chapters, and the pages in each."""

from __future__ import annotations

from collections.abc import Iterable

from generator.model import Curriculum
from generator.rendering.pages.inert import quiet
from generator.rendering.pages.lists import strands_of
from generator.rendering.pages.stations import station_page
from generator.rendering.pages.uses import skill_page, trainer_page

Chapter = dict[str, "str | list[str | Chapter]"]


def navigation_of(curriculum: Curriculum, *, prose: Iterable[str]) -> list[str | Chapter]:
    """Chapters of docs-relative paths; `prose` are the pages that somebody wrote by hand, in the order given."""
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
    chapters: list[str | Chapter] = [{"Home": "index.md"}]
    if strands:
        chapters.append({"Skills": strands})
    if curriculum.stations:
        chapters.append({"Lab days": _labs(curriculum)})
    chapters += [
        {"Trainers": ["trainers/index.md", *(trainer_page(trainer) for trainer in trainers)]},
        {"Numbers": "numbers.md"},
        {"Evidence": "evidence.md"},
        {"Glossary": "glossary.md"},
        {"Levels": "levels.md"},
        {"Health": "health.md"},
    ]
    written: list[str | Chapter] = [page for page in prose if page != "index.md"]
    if written:
        chapters.append({"About": written})
    return chapters


def _labs(curriculum: Curriculum) -> list[str | Chapter]:
    """Lab days by date, then the stations by title."""
    stations = sorted(curriculum.stations.values(), key=lambda station: station.title)
    return [
        {"Stations": ["stations/index.md", *(station_page(station) for station in stations)]},
    ]
