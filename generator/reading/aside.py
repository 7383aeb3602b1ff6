"""An attempt written back as a row, for the report of what was set aside."""

from __future__ import annotations

import csv
import io

from generator.model.attempt import Attempt

FORMULA = "=+-@\t\r\n＝＋－＠"
"""First characters that make a spreadsheet run a cell. Source: OWASP, CSV Injection."""


def as_row(attempt: Attempt) -> str:
    """An attempt as a row of CSV, with apostrophes where a spreadsheet would see a formula."""
    cells = (
        attempt.on.isoformat(), attempt.learner, attempt.skill, attempt.rung, attempt.trainer, attempt.evaluator,
        attempt.role, attempt.team_role, attempt.attempt, attempt.revision, " ".join(attempt.missed),
        " ".join(attempt.unseen), attempt.note,
    )  # fmt: skip
    out = io.StringIO()
    csv.writer(out, lineterminator="").writerow([f"'{cell}" if cell and cell[0] in FORMULA else cell for cell in cells])
    return out.getvalue()
