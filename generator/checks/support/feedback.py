"""Where a finding about feedback stands in the skill's file."""

from __future__ import annotations

from generator.analysis.feedback import Finding
from generator.diagnostics import Location
from generator.model import Curriculum


def where_it_rests(curriculum: Curriculum, finding: Finding) -> Location:
    """The technique in the `rests_on` of the step that a finding names."""
    steps = curriculum.skills[finding.skill].steps
    number = next((number for number, step in enumerate(steps) if step.id == finding.step), 0)
    technique = finding.technique or ""
    if technique not in steps[number].rests_on:
        return curriculum.at("skill", finding.skill, "steps", number)
    return curriculum.at("skill", finding.skill, "steps", number, "rests_on", steps[number].rests_on.index(technique))
