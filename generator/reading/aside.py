"""An attempt written back as a row, for the report of what was set aside."""

from __future__ import annotations

import csv
import io

from generator.model.attempt import Attempt
from generator.model.cells import BLANKS, FORMULA


def as_row(attempt: Attempt) -> str:
    """An attempt as a row of CSV, with apostrophes where a spreadsheet would see a formula."""
    cells = (
        attempt.on.isoformat(), attempt.learner, attempt.skill, attempt.rung, attempt.trainer, attempt.evaluator,
        attempt.role, attempt.team_role, attempt.attempt, attempt.revision, " ".join(attempt.missed),
        " ".join(attempt.unseen), attempt.note,
    )  # fmt: skip
    out = io.StringIO()
    runs = FORMULA + BLANKS
    csv.writer(out, lineterminator="").writerow([f"'{cell}" if cell and cell[0] in runs else cell for cell in cells])
    return out.getvalue()
