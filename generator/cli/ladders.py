"""`ladder` and `gaps`: what the trainers can teach honestly."""

from __future__ import annotations

import argparse

from generator.cli.shared import CLEAN, PROBLEMS, Commands, readable, unknown


def add(commands: Commands) -> None:
    """Add these commands."""
    sub = commands.add("ladder", _ladder, "show the written ladder beside the best one, with reasons")
    sub.add_argument("skill", nargs="?", metavar="SKILL", help="one skill (default: all)")

    sub = commands.add(
        "gaps", _gaps, "show what the trainers owned cannot teach honestly, and the cheapest way to close it"
    )
    sub.add_argument("--without", metavar="TRAINER", help="as if this trainer were out of service")


def _ladder(options: argparse.Namespace) -> int:
    from generator.analysis.explain import ladder_text
    from generator.analysis.whole import analyse

    curriculum = readable(options, on=None)
    if curriculum is None:
        return PROBLEMS
    if options.skill is not None and options.skill not in curriculum.skills:
        return unknown("skill", options.skill, curriculum.skills)
    analysis = analyse(curriculum)
    chosen = [options.skill] if options.skill else list(curriculum.skills)
    print("\n\n".join(ladder_text(curriculum, analysis, skill) for skill in chosen))
    return CLEAN


def _gaps(options: argparse.Namespace) -> int:
    from generator.analysis.explain_gaps import gaps_text
    from generator.analysis.gaps import find_gaps

    curriculum = readable(options, on=None)
    if curriculum is None:
        return PROBLEMS
    if options.without is not None and options.without not in curriculum.trainers:
        return unknown("trainer", options.without, curriculum.trainers)
    gaps = find_gaps(curriculum, without=options.without)
    print(gaps_text(curriculum, gaps))
    return CLEAN
