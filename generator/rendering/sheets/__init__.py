"""Printed sheets: evaluator checklist, practice card and trainer card, as tagged PDFs with known box places."""

from generator.rendering.sheets.contents import scenario_sheets, sheets_of
from generator.rendering.sheets.making import Progress, typeset, typeset_all
from generator.rendering.sheets.sheet import KINDS, Job, Kind, Sheet, SheetChange, Typeset, changes, file_name

__all__ = [
    "KINDS", "Job", "Kind", "Progress", "Sheet", "SheetChange", "Typeset", "changes", "file_name",
    "scenario_sheets", "sheets_of",
    "typeset", "typeset_all",
]  # fmt: skip
