"""Hostile text in every field of the curriculum through what the commands print: terminals, JSON, SARIF, logs of a CI.

A terminal acts on control characters (ECMA-48) and a reader on the ones that turn the direction of writing (UAX #9).
A log of continuous integration acts on lines that begin with two colons.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Sequence
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import icalendar
import pytest
from attack_strings import with_texts
from test_attacks import base
from test_attacks_of_files import EVERY, assert_for_a_terminal, assert_plain_csv
from tiny_handbook import laid_out

from generator.checks import MANUAL, check
from generator.cli import main
from generator.diagnostics import Location, Problem, as_github
from generator.model import Curriculum
from generator.reading import read_curriculum
from generator.reading.text import has_invisible

TODAY = date(2040, 1, 1)
"""Long after the tiny curriculum's reviews, so that checks have something to say of it."""


ACTING = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")


@cache
def hostile() -> tuple[Curriculum, tuple[Problem, ...]]:
    given = [one for one in EVERY if not has_invisible(one)]
    assert len(given) > 0.8 * len(EVERY)
    turn = iter(range(10**6))

    def give(path: str) -> str:
        number = next(turn)
        return f"{given[number % len(given)]} {given[-1 - number % len(given)]} q{number}q"

    curriculum = with_texts(base(), give)
    return curriculum, check(curriculum, today=TODAY)


@pytest.fixture
def commands(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> Any:
    """`commands(words)`: what a command prints for the hostile curriculum; its errors are let through as notes."""
    curriculum, problems = hostile()
    monkeypatch.chdir(tmp_path)

    def run(*words: str, told: Sequence[Problem] = ()) -> str:
        monkeypatch.setattr("generator.build.problems_of", lambda *_, **__: (curriculum, tuple(told)))
        monkeypatch.setattr("generator.reading.read_curriculum", lambda *_, **__: (curriculum, tuple(told)))
        assert main(words) in (0, 1)
        said = capfd.readouterr()
        assert_for_a_terminal(said.err)
        return said.out

    assert len(problems) > 30
    return run


def test_what_a_terminal_acts_on_is_refused_where_it_is_read(tmp_path: Path) -> None:
    """As the character itself and as an escape of YAML; the message shows its number and not the character."""
    folder = laid_out(tmp_path / "book") / "curriculum"
    skill = folder / "skills" / "airway" / "mask-breath.yaml"
    text = skill.read_text(encoding="utf-8")
    acting = [one for one in EVERY if ACTING.search(one)]
    assert len(acting) > 15
    for attack in acting:
        for typed in (attack, json.dumps(attack)):
            changed = re.sub(r"(?m)^summary: .*$", lambda _, typed=typed: f"summary: {typed}", text)
            skill.write_text(changed, encoding="utf-8", errors="surrogatepass")
            _, problems = read_curriculum(folder)
            assert any(problem.is_error for problem in problems), typed
            for problem in problems:
                assert_for_a_terminal(f"{problem.message} {problem.remedy}")


def marks(text: str) -> set[str]:
    return set(re.findall(r"q\d+q", text))


def test_problems_are_told_to_a_terminal_as_words(commands: Any) -> None:
    said = commands("check", told=hostile()[1])
    assert_for_a_terminal(said)
    assert len(marks(said)) > 10, "hostile words are really printed"
    heads = re.findall(r"(?m)^\S+:\d+:\d+: (?:error|warning|note): .* \[([a-z-]+)\]$", said)
    assert len(heads) == len(hostile()[1]), "each is told on a line of its own"
    assert set(heads) <= set(MANUAL)


@pytest.mark.parametrize("form", ["json", "sarif"])
def test_problems_as_data_stay_data(commands: Any, form: str) -> None:
    said = commands("check", "--format", form, told=hostile()[1])
    read = json.loads(said)
    found = read if form == "json" else read["runs"][0]["results"]
    assert len(found) == len(hostile()[1])
    assert len(marks(said)) > 10


def test_no_problem_becomes_a_command_of_a_log(commands: Any) -> None:
    lines = commands("check", "--format", "github", told=hostile()[1]).splitlines()
    assert len(lines) == len(hostile()[1])
    for line in lines:
        match = re.match(r"::(error|warning|notice) file=([^,:]+),line=\d+,col=\d+,title=([a-z-]+)::", line)
        assert match, line
        assert match[3] in MANUAL
        assert_for_a_terminal(line)


def test_a_message_that_holds_an_attack_is_still_one_line_of_a_log() -> None:
    """Each attack as the message, the remedy and the file of a problem; only the first two colons are ours."""
    problems = [
        Problem(location=Location(attack, 2, 3), rule="fit", message=f"{attack} said", remedy=attack)
        for attack in EVERY
    ]
    lines = as_github(problems).split("\n")
    assert lines.pop() == ""
    assert len(lines) == len(problems)
    for line in lines:
        assert re.match(r"::error file=[^,:\r]*,line=2,col=3,title=fit::[^\r]*$", line), line


@pytest.mark.parametrize(
    "words",
    [
        ("ladder",),
        ("gaps",),
        ("gaps", "--without", "half-torso"),
        ("scenario",),
        ("scenario", "first-call"),
        ("scenario", "first-call", "--seed", "3"),
        ("rotate", "first-day"),
        ("check", "--external", "list"),
    ],
    ids=" ".join,
)
def test_answers_are_told_to_a_terminal_as_words(commands: Any, words: tuple[str, ...]) -> None:
    said = commands(*words)
    assert_for_a_terminal(said)
    assert len(said) > 40
    assert marks(said) or words == ("gaps",), "hostile words are really printed"


def test_a_timetable_as_data_stays_data(commands: Any) -> None:
    table = commands("rotate", "first-day", "--format", "csv")
    assert_plain_csv(table)
    assert marks(table)
    read = icalendar.Calendar.from_ical(commands("rotate", "first-day", "--format", "ics"))
    assert {each.name for each in read.walk()} <= {"VCALENDAR", "VEVENT", "VTIMEZONE", "STANDARD", "DAYLIGHT"}
    json.loads(commands("rotate", "first-day", "--format", "json"))


def test_pages_for_another_engine_lie_where_they_should(commands: Any, tmp_path: Path) -> None:
    listed = commands("pages", "--out", "out")
    assert_for_a_terminal(listed)
    written = {path.relative_to(tmp_path).parts[0] for path in tmp_path.rglob("*")}
    assert written <= {"out", ".rungbook"}
    assert len(list((tmp_path / "out").rglob("*.md"))) > 20


def test_prints_are_named_by_ids_and_lie_where_they_should(commands: Any, tmp_path: Path) -> None:
    said = commands("print", "checklist", "--paper", "a4", "--out", "prints")
    assert_for_a_terminal(said)
    made = sorted(path.name for path in (tmp_path / "prints").rglob("*.pdf"))
    assert len(made) == len(base().skills)
    assert all(re.fullmatch(r"[a-z0-9-]+\.pdf", name) for name in made)


def test_the_catalogue_of_labels_holds_the_programs_words_as_text(commands: Any) -> None:
    said = commands("labels")
    rows = re.findall(r'^msgid (".*")$', said, re.MULTILINE)
    assert len(rows) > 300
    assert all(isinstance(json.loads(row), str) for row in rows)


def test_the_judges_of_these_tests_do_find_what_acts() -> None:
    with pytest.raises(AssertionError):
        assert_for_a_terminal("\x1b[2J")
    with pytest.raises(AssertionError):
        assert_for_a_terminal("\u202etxt")
    out = io.StringIO()
    csv.writer(out).writerows([["a"], ["=1+1"]])
    with pytest.raises(AssertionError):
        assert_plain_csv(out.getvalue())
