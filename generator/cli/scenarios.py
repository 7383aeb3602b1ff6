"""`scenario` and `debrief`: a whole call checked, drawn and typeset, and its debrief from a saved log."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from generator.cli.shared import CLEAN, PAPERS, PROBLEMS, STORE, USAGE, Commands, progress, readable, show, unknown

if TYPE_CHECKING:
    from generator.model import Curriculum, Paper, Scenario


def add(commands: Commands) -> None:
    """Add these commands."""
    sub = commands.add("scenario", _scenario, "list the scenarios, or check one as a machine and print its cards")
    sub.add_argument("id", nargs="?", metavar="ID", help="one scenario (default: list all)")
    sub.add_argument("--seed", type=int, default=None, metavar="N", help="draw a variant and typeset its cards")
    sub.add_argument("--paper", choices=PAPERS, default=None, help="default: the program's own")
    sub.add_argument("--out", type=Path, default=None, metavar="DIR", help="folder for the cards (default: sheets)")

    sub = commands.add("debrief", _debrief, "read the saved log of a run and write its debrief")
    sub.add_argument("log", type=Path, metavar="LOG.csv", help="the log that the run page saved")
    sub.add_argument("scenario", metavar="SCENARIO", help="the scenario that was run")


def _scenario(options: argparse.Namespace) -> int:
    from generator.analysis.scenario.variants import variant_of
    from generator.rendering.scenario_text import check_text, list_text, numbers_text

    curriculum = readable(options, on=None)
    if curriculum is None:
        return PROBLEMS
    if options.id is None:
        if options.seed is not None or options.out is not None:
            print("rungbook: --seed and --out go with the ID of a scenario", file=sys.stderr)
            return USAGE
        print(list_text(curriculum), end="")
        return CLEAN
    scenario = curriculum.scenarios.get(options.id)
    if scenario is None:
        return unknown("scenario", options.id, curriculum.scenarios)
    if options.seed is None and options.out is None:
        print(check_text(curriculum, scenario))
        print(numbers_text(curriculum, scenario, None), end="")
        return CLEAN
    drawn = scenario if options.seed is None else variant_of(scenario, options.seed)
    print(numbers_text(curriculum, drawn, options.seed))
    if options.seed is not None and scenario.variants is None:
        print("rungbook: this scenario names no variants, so every seed gives it as written", file=sys.stderr)
    for path in _cards(options, curriculum, scenario):
        print(path)
    return CLEAN


def _cards(options: argparse.Namespace, curriculum: Curriculum, scenario: Scenario) -> list[Path]:
    from generator.build import sheet_files, write_files
    from generator.rendering.sheets import scenario_sheets

    paper: Paper = options.paper or curriculum.program.paper
    sheets = scenario_sheets(curriculum, scenario, seed=options.seed)
    files = sheet_files(sheets, papers=(paper,), store=STORE, progress=progress("cards"))
    written = write_files({Path(name).name: content for name, content in files.items()}, options.out or Path("sheets"))
    return [path for path in written if path.suffix == ".pdf"]


def _debrief(options: argparse.Namespace) -> int:
    from generator.analysis.scenario.debrief import read_log
    from generator.reading.run_log import read_run_log
    from generator.rendering.scenario_text import debrief_text

    curriculum = readable(options, on=None)
    if curriculum is None:
        return PROBLEMS
    scenario = curriculum.scenarios.get(options.scenario)
    if scenario is None:
        return unknown("scenario", options.scenario, curriculum.scenarios)
    events, problems = read_run_log(options.log, scenario)
    show(problems)
    if events or not problems:
        print(debrief_text(curriculum, scenario, read_log(curriculum, scenario, events), events), end="")
    return PROBLEMS if any(problem.is_error for problem in problems) else CLEAN
