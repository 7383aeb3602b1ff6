"""Peers beside instructors: what makes a pair, what counts as a mark, and what is said when there is too little."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from generator.analysis.agreement_of_attempts import (
    FEWEST_FAILS,
    FEWEST_PAIRS,
    Directions,
    agreement_of,
    peers_beside_instructors,
)
from generator.analysis.statistics.result import Undefined, Why
from generator.model import Skill
from generator.model.attempt import Attempt, KnownRevision
from generator.reading import read_curriculum

BASE = Path(__file__).parent / "cases" / "base" / "curriculum"


@pytest.fixture(scope="module")
def skills() -> dict[str, Skill]:
    """The tiny curriculum's skills; `mask-breath` has the critical steps `seal` and `squeeze`, and `gloves`."""
    curriculum, _ = read_curriculum(BASE)
    assert curriculum is not None
    return dict(curriculum.skills)


def row(role: str, *, missed: tuple[str, ...] = (), unseen: tuple[str, ...] = (), **changed: Any) -> Attempt:
    base: dict[str, Any] = {
        "line": 2,
        "on": date(2026, 3, 1),
        "learner": "L1",
        "skill": "mask-breath",
        "rung": "perform",
        "trainer": "whole-body",
        "evaluator": role,
        "role": role,
        "team_role": "",
        "attempt": "1",
        "revision": "",
        "missed": missed,
        "unseen": unseen,
        "failing": tuple(id for id in missed if id != "gloves"),
    }
    return Attempt(**(base | changed))


def test_the_four_directions_of_an_attempt(skills: dict[str, Skill]) -> None:
    fail, minor = ("seal",), ("gloves",)
    pairs = [((), ()), ((), fail), (fail, ()), (fail, fail), (minor, fail)]
    rows = [
        row(role, missed=marks, attempt=str(number))
        for number, pair in enumerate(pairs)
        for role, marks in zip(("peer", "instructor"), pair, strict=True)
    ]
    found = peers_beside_instructors(rows, skills)
    assert (found.pairs, found.unlike) == (5, 0)
    assert found.attempts.directions == Directions(
        both_passed=1, peer_passed_instructor_failed=2, peer_failed_instructor_passed=1, both_failed=1
    )
    first = found.steps[0]
    assert (first.step, first.critical) == ("seal", True)
    assert first.agreement.directions.peer_passed_instructor_failed == 2
    assert first.agreement.directions.peer_failed_instructor_passed == 1
    last = found.steps[-1]
    assert (last.step, last.critical) == ("gloves", False)
    assert last.agreement.directions.table == ((4, 0), (1, 0))


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (row("peer"), row("instructor", learner="L2")),
        (row("peer"), row("instructor", attempt="2")),
        (row("peer"), row("instructor", skill="press-on-wound")),
        (row("peer"), row("peer", evaluator="another")),
        (row("instructor"), row("instructor", evaluator="another")),
        (row("peer", attempt=""), row("instructor", attempt="")),
        (row("peer", skill="gone"), row("instructor", skill="gone")),
    ],
)
def test_rows_that_make_no_pair(skills: dict[str, Skill], first: Attempt, second: Attempt) -> None:
    found = peers_beside_instructors([first, second], skills)
    assert (found.pairs, found.unlike, found.steps) == (0, 0, ())
    assert found.attempts.kappa == Undefined(why=Why.EMPTY)


@pytest.mark.parametrize("other", [{"rung": "isolate"}, {"trainer": "half-torso"}, {"revision": "0badcafe"}])
def test_two_rows_that_describe_different_attempts_are_counted_apart(
    skills: dict[str, Skill], other: dict[str, Any]
) -> None:
    found = peers_beside_instructors([row("peer"), row("instructor", **other)], skills)
    assert (found.pairs, found.unlike) == (0, 1)


def test_a_step_that_one_side_did_not_see_is_no_mark(skills: dict[str, Skill]) -> None:
    found = peers_beside_instructors([row("peer", unseen=("seal",)), row("instructor", missed=("seal",))], skills)
    seal = next(step for step in found.steps if step.step == "seal")
    assert (seal.unseen, seal.agreement.directions.pairs) == (1, 0)
    assert seal.agreement.ac1 == Undefined(why=Why.EMPTY)
    assert found.attempts.directions.pairs == 0  # the peer saw too little for a verdict
    both = [row("peer", unseen=("seal",), missed=("squeeze",)), row("instructor", missed=("seal",))]
    assert peers_beside_instructors(both, skills).attempts.directions.both_failed == 1


def test_only_the_steps_of_the_rung_count(skills: dict[str, Skill]) -> None:
    here = {"rung": "isolate", "trainer": "half-torso"}
    found = peers_beside_instructors([row("peer", **here), row("instructor", **here)], skills)
    assert [step.step for step in found.steps] == ["seal"]


def test_an_older_sheet_counts_by_its_own_steps(skills: dict[str, Skill]) -> None:
    rows = [row("peer", revision="01d01d01"), row("instructor", revision="01d01d01")]
    old = KnownRevision(revision="01d01d01", skill="mask-breath", steps=("seal",), critical=("seal",))
    assert [step.step for step in peers_beside_instructors(rows, skills, [old]).steps] == ["seal"]
    other = replace(old, revision="ffffffff")
    unknown = peers_beside_instructors(rows, skills, [other])
    assert unknown.steps == ()
    assert (unknown.pairs, unknown.attempts.directions.pairs) == (1, 0)


def test_every_peer_stands_beside_every_instructor(skills: dict[str, Skill]) -> None:
    rows = [row("peer", evaluator="P1"), row("peer", evaluator="P2", missed=("seal",)), row("instructor")]
    found = peers_beside_instructors(rows, skills)
    assert found.pairs == 2
    assert found.attempts.directions.table == ((1, 0), (1, 0))


@given(st.randoms(use_true_random=False))
def test_neither_order_nor_names_matter(chance: random.Random) -> None:
    curriculum, _ = read_curriculum(BASE)
    assert curriculum is not None
    rows = [
        row(role, missed=tuple(s for s in ("gloves", "seal", "squeeze") if chance.random() < 0.3), attempt=str(n))
        for n in range(6)
        for role in ("peer", "instructor")
    ]
    before = peers_beside_instructors(rows, curriculum.skills)
    names = {"peer": "zebra", "instructor": "ant"}
    renamed = [replace(one, evaluator=names[one.evaluator]) for one in rows]
    chance.shuffle(renamed)
    assert peers_beside_instructors(renamed, curriculum.skills) == before


def test_too_few_is_said_on_both_counts() -> None:
    enough = {"peer_passed_instructor_failed": FEWEST_FAILS, "peer_failed_instructor_passed": 0, "both_failed": 0}
    assert not Directions(both_passed=FEWEST_PAIRS - FEWEST_FAILS, **enough).is_too_few
    assert Directions(both_passed=FEWEST_PAIRS - FEWEST_FAILS - 1, **enough).is_too_few
    no_fails = Directions(
        both_passed=400, peer_passed_instructor_failed=4, peer_failed_instructor_passed=9, both_failed=0
    )
    assert no_fails.is_too_few


def test_nothing_to_compare_is_named_everywhere() -> None:
    empty = Directions(both_passed=0, peer_passed_instructor_failed=0, peer_failed_instructor_passed=0, both_failed=0)
    found = agreement_of(empty)
    reasons = {
        figure.why if isinstance(figure, Undefined) else None
        for figure in (
            found.kappa,
            found.ac1,
            found.on_fails,
            found.on_passes,
            found.passed_a_fail,
            found.failed_a_pass,
        )
    }
    assert reasons == {Why.EMPTY}
    assert found.lean == Undefined(why=Why.NO_DISAGREEMENT)
    all_pass = agreement_of(replace(empty, both_passed=50))
    assert all_pass.kappa == Undefined(why=Why.NO_VARIANCE)
    assert all_pass.on_fails == Undefined(why=Why.EMPTY)
    assert not isinstance(all_pass.ac1, Undefined)
    assert all_pass.ac1.ac1 == 1.0
