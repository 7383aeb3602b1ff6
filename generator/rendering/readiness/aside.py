"""The rows that were set aside."""

from __future__ import annotations

from collections.abc import Iterable

from generator.model.attempt import SetAside
from generator.rendering.tables.csv import csv_text

LINES = 5
"""Rows shown for each reason."""
WIDTH = 140


def aside_text(rows: Iterable[SetAside], *, most: int = LINES) -> str:
    """By reason, the most frequent first: how many, the first few as they were typed, and what to do."""
    groups: dict[str, list[SetAside]] = {}
    for row in rows:
        groups.setdefault(row.rule, []).append(row)
    lines: list[str] = []
    for rule, found in sorted(groups.items(), key=lambda item: (-len(item[1]), item[0])):
        lines.append(f"{len(found)} {'row' if len(found) == 1 else 'rows'} set aside: {rule}")
        shared = found[0].remedy if all(row.remedy == found[0].remedy for row in found) else None
        for row in found[:most]:
            lines.append(f"  line {row.line}: {row.reason}{'' if shared else f' {row.remedy}'}")
            lines.append(f"    {_printable(row.text)}")
        if len(found) > most:
            lines.append(f"  and {len(found) - most} more; --aside FILE writes them all.")
        if shared:
            lines.append(f"  {shared}")
    return "".join(f"{line}\n" for line in lines)


def aside_csv(rows: Iterable[SetAside]) -> str:
    """All of them: line, rule, reason, remedy, and the row as it was typed."""
    return csv_text(
        ("line", "rule", "reason", "remedy", "row"),
        [(row.line, row.rule, row.reason, row.remedy, row.text) for row in rows],
    )


def _printable(text: str) -> str:
    cut = text if len(text) <= WIDTH else f"{text[: WIDTH - 1]}…"
    return "".join(char if char.isprintable() else f"\\x{ord(char):02x}" for char in cut)
