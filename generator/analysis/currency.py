"""Whether content and its evidence are up to date: review days, the age of sources, newer editions.

Pure: `today` is an argument. Months are calendar months; a day that a month lacks becomes its last day.
"""

from __future__ import annotations

import calendar
from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from enum import StrEnum

from generator.model import CslDate, Program, Source


class Standing(StrEnum):
    """How a source stands on a day."""

    CURRENT = "current"
    SUPERSEDED = "superseded"
    """A newer edition is in `sources.yaml`, or `superseded_by` names one."""
    OLD = "old"
    """Past the program's limit, and nobody has looked since whether it still stands."""
    UNDATED = "undated"


def months_after(day: date, months: int) -> date:
    """The same day of the month, `months` later, or that month's last day."""
    count = day.year * 12 + day.month - 1 + months
    year, month = divmod(count, 12)
    if year > date.max.year:
        return date.max
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


def review_due(reviewed: date, *, every_months: int) -> date:
    """The last day on which a review of `reviewed` still holds."""
    return months_after(reviewed, every_months)


def is_review_overdue(reviewed: date, *, every_months: int, today: date) -> bool:
    """Whether the day on which the next review was due has passed."""
    return today > review_due(reviewed, every_months=every_months)


def last_day_of(issued: CslDate) -> date | None:
    """The last day that a CSL date can mean (`2024` is 31 December 2024); None when it gives no usable year."""
    parts = issued.date_parts[0] if issued.date_parts else ()
    if not parts or not date.min.year <= parts[0] < date.max.year:
        return None
    year = parts[0]
    month = parts[1] if len(parts) > 1 and 1 <= parts[1] <= 12 else 12
    days = calendar.monthrange(year, month)[1]
    day = parts[2] if len(parts) > 2 and 1 <= parts[2] <= days else days
    return date(year, month, day)


def age_in_years(issued: CslDate, *, today: date) -> int | None:
    """Full years since a source was issued, by the kindest reading of its date; None when it has no year."""
    last = last_day_of(issued)
    if last is None:
        return None
    return max(0, today.year - last.year - ((today.month, today.day) < (last.month, last.day)))


def is_past_limit(issued: CslDate, *, limit_years: int, today: date) -> bool:
    """Whether a source is older than a limit: `limit_years` have passed since its last possible day."""
    last = last_day_of(issued)
    return last is not None and today > months_after(last, 12 * limit_years)


def newest_editions(sources: Iterable[Source]) -> dict[str, Source]:
    """The newest source of each `edition_of`, by the date it was issued."""
    newest: dict[str, Source] = {}
    for source in sources:
        work = source.custom.edition_of
        if work is not None and (work not in newest or _issued(source) > _issued(newest[work])):
            newest[work] = source
    return newest


def superseded_by(source: Source, newest: Mapping[str, Source]) -> str | None:
    """The id of what replaces a source: its own `superseded_by`, or the newest edition of the same work."""
    if source.custom.superseded_by is not None:
        return source.custom.superseded_by
    latest = newest.get(source.custom.edition_of or "")
    if latest is None or latest.id == source.id or _issued(latest) <= _issued(source):
        return None
    return latest.id


def standing(source: Source, program: Program, newest: Mapping[str, Source], *, today: date) -> Standing:
    """How a source stands today. A reason to keep it does not change this; it only answers for it."""
    if superseded_by(source, newest) is not None:
        return Standing.SUPERSEDED
    if source.issued is None or last_day_of(source.issued) is None:
        return Standing.UNDATED
    if not is_past_limit(source.issued, limit_years=program.evidence_limit_years, today=today):
        return Standing.CURRENT
    reviewed = source.custom.reviewed
    if reviewed is None or is_review_overdue(reviewed, every_months=program.review_every_months, today=today):
        return Standing.OLD
    return Standing.CURRENT


def _issued(source: Source) -> date:
    last = last_day_of(source.issued) if source.issued else None
    return last or date.min + timedelta(days=1)
