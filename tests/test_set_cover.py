"""The two ways to the least cover agree with each other and with trying every choice."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from generator.analysis import set_cover
from generator.analysis.set_cover import TooLongError, by_search, by_solver, least_cover


@st.composite
def questions(draw: st.DrawFn) -> tuple[list[int], list[tuple[int, ...]], tuple[int, ...] | None]:
    """Prices of up to seven places with many equals, sets of places, and perhaps places not to be taken together."""
    prices = draw(st.lists(st.integers(0, 3), min_size=1, max_size=7))
    place = st.integers(0, len(prices) - 1)
    some = st.sets(place, min_size=1, max_size=4).map(lambda found: tuple(sorted(found)))
    return prices, draw(st.lists(some, min_size=1, max_size=7)), draw(st.none() | some)


def tried(costs: Sequence[int], sets: Sequence[tuple[int, ...]], not_all_of: tuple[int, ...] | None) -> object:
    """The least choice by trying all of them."""
    fits = [
        (sum(cost for cost, is_in in zip(costs, choice, strict=True) if is_in), [-one for one in choice])
        for choice in product((0, 1), repeat=len(costs))
        if all(any(choice[place] for place in one) for one in sets)
        and (not_all_of is None or not all(choice[place] for place in not_all_of))
    ]
    return tuple(place for place, one in enumerate(min(fits)[1]) if one) if fits else None


@given(questions())
@settings(max_examples=300, deadline=None)
def test_the_search_finds_what_trying_every_choice_finds(
    question: tuple[list[int], list[tuple[int, ...]], tuple[int, ...] | None],
) -> None:
    prices, sets, refused = question
    costs = [price * (len(prices) + 1) + 1 for price in prices]
    assert by_search(costs, sets, refused) == tried(costs, sets, refused)


@given(questions())
@settings(max_examples=40, deadline=None)
def test_the_solver_agrees_with_the_search(
    question: tuple[list[int], list[tuple[int, ...]], tuple[int, ...] | None],
) -> None:
    prices, sets, refused = question
    costs = [price * (len(prices) + 1) + 1 for price in prices]
    searched, solved = by_search(costs, sets, refused), by_solver(costs, sets, refused)
    assert (None if solved is None else solved[0]) == searched
    assert solved is None or solved[1]


def test_a_long_search_goes_to_the_solver(monkeypatch: pytest.MonkeyPatch) -> None:
    prices, sets = [3, 1, 1, 2], [(0, 1), (0, 2), (0, 3)]
    known = least_cover(prices, sets, None)
    assert known == ((0,), True)
    monkeypatch.setattr(set_cover, "MOST_STEPS", 1)
    with pytest.raises(TooLongError):
        by_search(prices, sets, None)
    assert least_cover(prices, sets, None) == known


def test_a_small_question_does_not_load_the_solver(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "ortools.sat.python", None)  # an import of it raises from here on
    assert least_cover([5, 1, 1], [(0, 1), (1, 2)], None) == ((1,), True)
    assert least_cover([5, 1, 1], [(0, 1), (1, 2)], (1,)) == ((0, 2), True)
