"""Readiness for other programs: one CSV row a standing, or everything as JSON."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from enum import Enum
from typing import Any

from generator.analysis.readiness import Readiness, Standing
from generator.analysis.statistics.result import Interval, Undefined
from generator.model.attempt import SetAside
from generator.rendering.tables.csv import csv_text

HEADER = (
    "learner", "skill", "status", "rung", "trainer", "clean_in_a_row", "needed_in_a_row", "attempts", "clean",
    "share_clean", "share_of", "share_low", "share_high", "cleared_on", "valid_until", "failed_on", "last_success",
    "practise_by", "next_rung", "next_trainer", "next", "coach", "reasons",
)  # fmt: skip


def readiness_csv(standings: Iterable[Standing]) -> str:
    """One row for each standing. Dates are ISO 8601, shares have four digits, steps are ids."""
    return csv_text(HEADER, [_row(one) for one in standings])


def _row(one: Standing) -> tuple[object, ...]:
    low = high = ""
    if isinstance(one.interval, Interval):
        low, high = f"{one.interval.low:.4f}", f"{one.interval.high:.4f}"
    return (
        one.learner, one.skill, str(one.status), one.rung, one.trainer, one.clean_in_a_row, one.needed_in_a_row,
        one.attempts, one.clean, one.share_clean, one.share_of, low, high, one.cleared_on, one.valid_until,
        one.failed_on, one.last_success, one.practise_by, one.next.rung if one.next else None,
        one.next.trainer if one.next else None, one.next.what if one.next else None,
        " ".join(coach.step for coach in one.coach), " ".join(one.reasons),
    )  # fmt: skip


def readiness_json(
    readiness: Readiness, standings: Sequence[Standing], set_aside: Sequence[SetAside], *, rows: int
) -> str:
    """Everything as one JSON object. `rows` is every row of the file: judged and set aside.

    A statistic that has no value is an object with the one key `undefined` and the reason.
    """
    whole = {field.name: getattr(readiness, field.name) for field in dataclasses.fields(readiness)}
    whole["standings"] = standings
    whole["rows"] = {"read": rows, "judged": readiness.rows, "set_aside": len(set_aside)}
    whole["set_aside"] = set_aside
    return json.dumps(_plain(whole), indent=1, ensure_ascii=False) + "\n"


def _plain(value: Any) -> Any:
    if isinstance(value, Undefined):
        return {"undefined": str(value.why)}
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: _plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(key): _plain(inner) for key, inner in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(inner) for inner in value]
    if isinstance(value, date):
        return value.isoformat()
    return str(value) if isinstance(value, Enum) else value
