"""Readiness for a terminal and for other programs: text, CSV and JSON; and the rows that were set aside."""

from generator.rendering.readiness.aside import aside_csv, aside_text
from generator.rendering.readiness.tables import readiness_csv, readiness_json
from generator.rendering.readiness.text import learner_text, readiness_text

__all__ = ["aside_csv", "aside_text", "learner_text", "readiness_csv", "readiness_json", "readiness_text"]
