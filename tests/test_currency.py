"""Review days and the age of sources, against dateutil's calendar arithmetic."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from generator.analysis.currency import (
    Standing,
    age_in_years,
    is_past_limit,
    is_review_overdue,
    last_day_of,
    months_after,
    newest_editions,
    review_due,
    standing,
    superseded_by,
)
from generator.model import CslDate, Program, Source

PROGRAM = Program(
    name="Greywater Valley College, Prehospital Care Lab",
    short_name="GV",
    site_url="https://greywater.example/",
    about="Invented.",
    medical_direction="Local protocol comes first.",
    usual_cautions=(),
    levels=(),
    rungs=(),
    strands=(),
    populations=(),
    review_every_months=12,
    evidence_limit_years=10,
)


def issued(*parts: int) -> CslDate:
    return CslDate(date_parts=(parts,))


def source(id: str, *parts: int, **custom: object) -> Source:
    return Source(id=id, type="report", title=id, issued=issued(*parts) if parts else None, custom=custom)


@given(st.dates(date(1900, 1, 1), date(2200, 1, 1)), st.integers(0, 600))
def test_months_agree_with_dateutil(day, months):
    """Outside check: dateutil's relativedelta, which also ends at the month's last day."""
    assert months_after(day, months) == day + relativedelta(months=months)


@given(st.dates(date(1900, 1, 1), date(2100, 1, 1)), st.integers(0, 200_000))
def test_age_agrees_with_dateutil(day, days):
    today = day + timedelta(days=days % 40_000)
    # Born on 29 February: dateutil counts a year full on the 28th, we on 1 March. Both are defended, so left out.
    if (day.month, day.day) != (2, 29):
        age = age_in_years(issued(day.year, day.month, day.day), today=today)
        assert age == relativedelta(today, day).years


def test_a_review_holds_on_its_last_day_and_not_on_the_next():
    due = review_due(date(2025, 8, 31), every_months=6)
    assert due == date(2026, 2, 28)
    assert not is_review_overdue(date(2025, 8, 31), every_months=6, today=due)
    assert is_review_overdue(date(2025, 8, 31), every_months=6, today=due + timedelta(days=1))


@pytest.mark.parametrize(
    ("parts", "last"),
    [
        ((2024,), date(2024, 12, 31)),
        ((2024, 2), date(2024, 2, 29)),
        ((2024, 2, 3), date(2024, 2, 3)),
        ((2024, 13, 40), date(2024, 12, 31)),
        ((2023, 2, 29), date(2023, 2, 28)),
    ],
)
def test_a_date_means_its_last_day(parts, last):
    assert last_day_of(issued(*parts)) == last


def test_a_date_without_a_usable_year():
    assert last_day_of(CslDate(literal="in press")) is None
    assert last_day_of(issued(0)) is None
    assert last_day_of(issued(99999)) is None
    assert age_in_years(CslDate(), today=date(2026, 1, 1)) is None


def test_the_limit_counts_from_the_last_possible_day():
    assert not is_past_limit(issued(2015), limit_years=10, today=date(2025, 12, 31))
    assert is_past_limit(issued(2015), limit_years=10, today=date(2026, 1, 1))


def test_editions():
    old, new = source("w2015", 2015, edition_of="w"), source("w2025", 2025, edition_of="w")
    newest = newest_editions((new, old))
    assert newest == {"w": new}
    assert superseded_by(old, newest) == "w2025"
    assert superseded_by(new, newest) is None
    assert superseded_by(source("x", 2025, superseded_by="y"), newest) == "y"
    assert superseded_by(source("z", 1990), newest) is None
    twin = source("w2025b", 2025, edition_of="w")
    assert superseded_by(twin, newest_editions((new, twin))) is None


def test_standing():
    today = date(2026, 6, 1)

    def stands(one: Source) -> Standing:
        return standing(one, PROGRAM, {}, today=today)

    assert stands(source("a", 2020)) is Standing.CURRENT
    assert stands(source("a", 2010)) is Standing.OLD
    assert stands(source("a", 2010, reviewed="2025-06-01")) is Standing.CURRENT
    assert stands(source("a", 2010, reviewed="2025-05-31")) is Standing.OLD
    assert stands(source("a")) is Standing.UNDATED
    assert stands(source("a", 2024, superseded_by="b")) is Standing.SUPERSEDED
    assert stands(source("a", 2024, superseded_by="b", kept_because="history")) is Standing.SUPERSEDED
