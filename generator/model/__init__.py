"""The frozen records of the domain: no files, no YAML."""

from generator.model.curriculum import Curriculum, Path, Place
from generator.model.evidence import (
    CslDate,
    Glossary,
    Name,
    OtherView,
    Quantities,
    Quantity,
    Source,
    Sources,
    Term,
)
from generator.model.lab import Lab, LabStation, Station
from generator.model.local import LocalRule, LocalRules
from generator.model.program import Named, Paper, Program
from generator.model.scenario import Reading, Readings, Scenario, State
from generator.model.skill import Caution, Clearance, RungPlan, Skill, Step
from generator.model.standard import Outcome, Standard
from generator.model.trainer import Equipment, Feedback, Item, Technique, Techniques, Trainer, Wear, Worth

__all__ = [
    "Caution", "Clearance", "CslDate", "Curriculum", "Equipment", "Feedback", "Glossary", "Item", "Lab",
    "LabStation", "LocalRule", "LocalRules", "Name", "Named", "OtherView", "Outcome", "Paper", "Path",
    "Place", "Program", "Quantities", "Quantity", "Reading", "Readings", "RungPlan", "Scenario", "Skill",
    "Source", "Sources", "Standard", "State", "Station", "Step", "Technique", "Techniques", "Term",
    "Trainer", "Wear", "Worth",
]  # fmt: skip
