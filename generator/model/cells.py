"""What a spreadsheet would run instead of showing: one list for every table that is read or written."""

from __future__ import annotations

FORMULA = "=+-@＝＋－＠"
"""First characters that make a spreadsheet run a cell, the full-width forms too. Source: OWASP, CSV Injection."""
BLANKS = "\t\r\n"
"""White space that some programs skip before they look for a formula. Source: as above."""
