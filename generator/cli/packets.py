"""`print --lab`: everything of a lab day in running order, as one PDF."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from generator.cli.shared import CLEAN, PROBLEMS, STORE, USAGE, readable, unknown

if TYPE_CHECKING:
    from generator.model import Paper


def add_options(sub: argparse.ArgumentParser) -> None:
    """The options of `print` that are about a lab day."""
    sub.add_argument("--lab", metavar="ID", help="everything of a lab day in running order, as one PDF")
    sub.add_argument("--copies", action="store_true", help="with --lab: as many checklists as the day needs")
    sub.add_argument("--one-sided", action="store_true", help="with --lab: no empty pages for two-sided print")


def is_meant(options: argparse.Namespace) -> bool:
    """Whether any of these options was used."""
    return options.lab is not None or options.copies or options.one_sided


def print_packet(options: argparse.Namespace) -> int:
    """Typeset the packet of a lab day. A day that has no timetable prints why, and ends with the code for problems."""
    from generator.build import write_files
    from generator.rendering.lab_plans import lab_day
    from generator.rendering.sheets import sheets_of
    from generator.rendering.sheets.lab_packet import packet_of
    from generator.rendering.sheets.packet import typeset_packet

    if options.lab is None:
        print("rungbook: --copies and --one-sided go with --lab", file=sys.stderr)
        return USAGE
    if options.what is not None:
        print("rungbook: --lab prints all sheets of a lab day; leave out WHAT and ID", file=sys.stderr)
        return USAGE
    curriculum = readable(options, on=None)
    if curriculum is None:
        return PROBLEMS
    if options.lab not in curriculum.labs:
        return unknown("lab day", options.lab, curriculum.labs)
    day = lab_day(curriculum, options.lab, store=STORE)
    sheets = sheets_of(curriculum, days={options.lab: day})
    packet = packet_of(curriculum, day, sheets, copies=options.copies, fronts=not options.one_sided)
    paper: Paper = options.paper or curriculum.program.paper
    made = typeset_packet(packet, paper, STORE)
    for path in write_files({f"packet-{options.lab}-{paper}.pdf": made.pdf}, options.out):
        print(f"{path} ({made.geometry['pages']} pages)")
    for line in day.clash:
        print(f"rungbook: {line}", file=sys.stderr)
    return PROBLEMS if day.clash else CLEAN

