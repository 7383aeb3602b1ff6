"""From files to records: YAML with positions, and every mistake as a located problem."""

from generator.reading.folder import read_curriculum
from generator.reading.manual import MANUAL

__all__ = ["MANUAL", "read_curriculum"]
