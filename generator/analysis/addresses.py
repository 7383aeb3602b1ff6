"""Where each page of the handbook stands, worked out from the curriculum alone.

Pages are made at these addresses, and the check that no two pages want the same one reads them here too.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from generator.model import Curriculum, Lab, Scenario, Skill, Station, Trainer

HOME_PAGE = "index.md"
TRAINERS_PAGE = "trainers/index.md"
WORTH_PAGE = "trainers/worth.md"
GAPS_PAGE = "trainers/gaps.md"
WEAR_PAGE = "trainers/wear.md"
COURSE_PAGE = "course.md"
LABS_PAGE = "labs/index.md"
ALL_STATIONS = "stations/all.md"
"""The list of stations. An index of a chapter within a chapter would leave its navigation without a name."""
SCENARIOS_PAGE = "scenarios/index.md"
NUMBERS_PAGE = "numbers.md"
EVIDENCE_PAGE = "evidence.md"
GLOSSARY_PAGE = "glossary.md"
LEVELS_PAGE = "levels.md"
OUTCOMES_PAGE = "outcomes.md"
HEALTH_PAGE = "health.md"


class Address(NamedTuple):
    """A page by its path among the pages, with the record it is of; a page of the handbook's own has no record."""

    path: str
    kind: str = ""
    id: str = ""


def strand_page(strand: str) -> str:
    """The page of a strand, by the strand's id."""
    return f"skills/{strand}/index.md"


def skill_page(skill: Skill) -> str:
    """The page of a skill."""
    return f"skills/{skill.strand}/{skill.id}.md"


def trainer_page(trainer: Trainer) -> str:
    """The page of a trainer."""
    return f"trainers/{trainer.id}.md"


def station_page(station: Station) -> str:
    """The page of a station."""
    return f"stations/{station.id}.md"


def lab_page(lab: Lab) -> str:
    """The page of a lab day."""
    return f"labs/{lab.id}.md"


def scenario_page(scenario: Scenario) -> str:
    """The page of a scenario."""
    return f"scenarios/{scenario.id}.md"


def run_page(scenario: Scenario) -> str:
    """The page that runs a scenario."""
    return f"scenarios/{scenario.id}-run.md"


def addresses(curriculum: Curriculum) -> Iterator[Address]:
    """Every page that follows from the curriculum, the handbook's own first. An address may come twice: see checks."""
    yield from (Address(path) for path in _own(curriculum))
    for skill in curriculum.skills.values():
        yield Address(skill_page(skill), "skill", skill.id)
    for trainer in curriculum.trainers.values():
        yield Address(trainer_page(trainer), "trainer", trainer.id)
    for lab in curriculum.labs.values():
        yield Address(lab_page(lab), "lab", lab.id)
    for station in curriculum.stations.values():
        yield Address(station_page(station), "station", station.id)
    for scenario in curriculum.scenarios.values():
        yield Address(scenario_page(scenario), "scenario", scenario.id)
    for scenario in curriculum.scenarios.values():
        yield Address(run_page(scenario), "scenario", scenario.id)


def _own(curriculum: Curriculum) -> Iterator[str]:
    yield HOME_PAGE
    yield from dict.fromkeys(strand_page(skill.strand) for skill in curriculum.skills.values())
    yield from (TRAINERS_PAGE, WORTH_PAGE, GAPS_PAGE, WEAR_PAGE)
    if curriculum.labs:
        yield from (COURSE_PAGE, LABS_PAGE)
    if curriculum.stations:
        yield ALL_STATIONS
    if curriculum.scenarios:
        yield SCENARIOS_PAGE
    yield from (NUMBERS_PAGE, EVIDENCE_PAGE, GLOSSARY_PAGE, LEVELS_PAGE)
    if curriculum.standards:
        yield OUTCOMES_PAGE
    yield HEALTH_PAGE
