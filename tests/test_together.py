"""Work in a few processes gives what work in one gives, in the same order."""

from __future__ import annotations

import os
import threading
from datetime import date
from pathlib import Path

import pytest

from generator import checks
from generator.reading import read_curriculum
from generator.together import together

CASES = Path(__file__).parent / "cases"


@pytest.mark.parametrize("processes", [1, 2, 3])
def test_results_come_in_the_order_of_the_work(processes: int) -> None:
    held = object()
    work = [lambda number=number: (number, held is not None) for number in range(7)]
    assert list(together(work, processes=processes)) == [(number, True) for number in range(7)]


def test_the_work_is_shared_out_where_a_process_can_be_forked() -> None:
    done_by = set(together([os.getpid] * 6, processes=2))
    assert os.getpid() in done_by
    may_fork = hasattr(os, "fork") and threading.active_count() == 1
    assert len(done_by) == (2 if may_fork else 1)


def test_beside_other_threads_nothing_is_forked() -> None:
    stop = threading.Event()
    other = threading.Thread(target=stop.wait)
    other.start()
    try:
        assert set(together([os.getpid] * 6, processes=2)) == {os.getpid()}
    finally:
        stop.set()
        other.join()


def fail() -> None:
    raise ValueError("this piece failed")


@pytest.mark.parametrize("place", [0, 1])
def test_a_failure_of_any_piece_is_the_failure_of_the_whole(place: int) -> None:
    work = [fail if index == place else int for index in range(4)]
    with pytest.raises(ValueError, match="this piece failed"):
        list(together(work, processes=2))


def test_two_processes_find_the_problems_that_one_finds(monkeypatch: pytest.MonkeyPatch) -> None:
    """Over the tiny curriculum on a day on which its reviews are overdue."""
    monkeypatch.setattr(checks, "WORTH_A_PROCESS", 0)
    curriculum, _ = read_curriculum(CASES / "base" / "curriculum")
    assert curriculum is not None
    day = date(2040, 1, 1)
    found = checks.check(curriculum, today=day, processes=2)
    assert found == checks.check(curriculum, today=day)
    assert len(found) > 3
