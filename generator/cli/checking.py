"""`check`: every problem, and nothing written."""

from __future__ import annotations

import argparse
import gc
import os
import sys
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from generator import __version__
from generator.cli.shared import CLEAN, PROBLEMS, USAGE, Commands, progress, takes_day, today_of

if TYPE_CHECKING:
    from generator.diagnostics import Problem
    from generator.model import Curriculum

FORMATS = ("text", "json", "sarif", "github")


def add(commands: Commands) -> None:
    """Add these commands."""
    sub = commands.add("check", _check, "name every problem and write nothing")
    takes_day(sub)
    sub.add_argument("--format", choices=FORMATS, default="text", help="how to write the problems")
    sub.add_argument("--strict", action="store_true", help="let warnings count as problems")
    sub.add_argument("--external", choices=("list", "probe"), help="list the links that leave the site, or try them")
    sub.add_argument("--explain", metavar="RULE", help="print the manual entry of a rule")


def _check(options: argparse.Namespace) -> int:
    from generator.build import problems_of
    from generator.checks import MANUAL, explain
    from generator.diagnostics import Severity, as_github, as_json, as_sarif, as_text

    if options.explain:
        entry = explain(options.explain)
        if entry is None:
            print(f"rungbook: no rule is called {options.explain}. Rules: {', '.join(sorted(MANUAL))}", file=sys.stderr)
            return USAGE
        print(entry)
        return CLEAN
    # Records hold no circles and are needed to the end: to look for lost ones takes a seventh of the time.
    gc.disable()
    curriculum, problems = problems_of(options.curriculum, today=today_of(options), processes=os.cpu_count() or 1)
    if options.external:
        return _external(curriculum, probe=options.external == "probe")
    writers: dict[str, Callable[[], str]] = {
        "text": lambda: as_text(problems),
        "json": lambda: as_json(problems),
        "sarif": lambda: as_sarif(problems, version=__version__, manual=MANUAL),
        "github": lambda: as_github(problems),
    }
    sys.stdout.write(writers[options.format]())
    if options.format == "text":
        print(_count(curriculum, problems))
    counted = {Severity.ERROR, Severity.WARNING} if options.strict else {Severity.ERROR}
    return PROBLEMS if any(problem.severity in counted for problem in problems) else CLEAN


def _count(curriculum: Curriculum | None, problems: Sequence[Problem]) -> str:
    errors = sum(problem.is_error for problem in problems)
    others = len(problems) - errors
    skills, trainers = (len(curriculum.skills), len(curriculum.trainers)) if curriculum else (0, 0)
    read = f"{skills} skills and {trainers} trainers read"
    return f"{read}: {errors} errors, {others} warnings and notes"


def _external(curriculum: Curriculum | None, *, probe: bool) -> int:
    from generator.checks.external import external_links, probe_links

    if curriculum is None:
        return PROBLEMS
    links = external_links(curriculum)
    if not probe:
        for link in links:
            print(f"{link.address}  {link.location}")
        return CLEAN
    answers = probe_links(links, progress=progress("tried"))
    broken = [answer for answer in answers if not answer.is_alive]
    for answer in broken:
        print(f"{answer.link.location}: {answer.link.address}: {answer.what}")
    print(f"{len(answers)} addresses tried, {len(broken)} did not answer")
    return PROBLEMS if broken else CLEAN
