"""`print --lab`: everything of a lab day in running order, as one PDF."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from generator.cli.shared import CLEAN, PROBLEMS, STORE, USAGE, readable, show, unknown

if TYPE_CHECKING:
    from generator.model import Curriculum, Paper


def add_options(sub: argparse.ArgumentParser) -> None:
    """The options of `print` that are about a lab day."""
    sub.add_argument("--lab", metavar="ID", help="everything of a lab day in running order, as one PDF")
    sub.add_argument("--copies", action="store_true", help="with --lab: as many checklists as the day needs")
    sub.add_argument("--roster", type=Path, metavar="FILE", help="with --lab: a checklist for each learner of this CSV")
    sub.add_argument("--one-sided", action="store_true", help="with --lab: no empty pages for two-sided print")


def is_meant(options: argparse.Namespace) -> bool:
    """Whether any of these options was used."""
    return options.lab is not None or options.copies or options.one_sided or options.roster is not None


def print_packet(options: argparse.Namespace) -> int:
    """Typeset the packet of a lab day. A day that has no timetable prints why, and ends with the code for problems."""
    from generator.build import write_files
    from generator.rendering.lab_plans import lab_day
    from generator.rendering.sheets import sheets_of
    from generator.rendering.sheets.lab_packet import packet_of
    from generator.rendering.sheets.packet import typeset_packet

    if options.lab is None:
        print("rungbook: --copies, --one-sided and --roster go with --lab", file=sys.stderr)
        return USAGE
    if options.what is not None:
        print("rungbook: --lab prints all sheets of a lab day; leave out WHAT and ID", file=sys.stderr)
        return USAGE
    curriculum = readable(options, on=None)
    if curriculum is None:
        return PROBLEMS
    if options.lab not in curriculum.labs:
        return unknown("lab day", options.lab, curriculum.labs)
    if options.roster is not None:
        return _print_roster(options, curriculum)
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


def _print_roster(options: argparse.Namespace, curriculum: Curriculum) -> int:
    """A checklist for each learner of a roster at each station. What is wrong with the roster stops it."""
    from generator.build import sheet_files, write_files
    from generator.reading.roster import read_roster
    from generator.rendering.sheets import sheets_of
    from generator.rendering.sheets.addressed import addressed_packet
    from generator.rendering.sheets.packet import typeset_packet

    roster, problems = read_roster(options.roster)
    show(problems)
    if problems or not roster:
        print("rungbook: nothing was printed; the roster names no learner or has errors", file=sys.stderr)
        return PROBLEMS
    lab = curriculum.labs[options.lab]
    sheets = [sheet for sheet in sheets_of(curriculum) if sheet.kind == "checklist"]
    packet = addressed_packet(curriculum, lab, sheets, roster, fronts=not options.one_sided)
    if not packet.parts:
        print(f"rungbook: no station of {lab.id} has a checklist", file=sys.stderr)
        return PROBLEMS
    paper: Paper = options.paper or curriculum.program.paper
    made = typeset_packet(packet, paper, STORE)
    used = {part.sheet.id for part in packet.parts}
    # The places of boxes stand beside the prints, where a reader of scans looks for them.
    places = sheet_files([sheet for sheet in sheets if sheet.id in used], papers=(paper,), store=STORE)
    geometry = {Path(name).name: data for name, data in places.items() if name.endswith(".json")}
    for path in write_files({f"checklists-{lab.id}-{paper}.pdf": made.pdf, **geometry}, options.out):
        if path.suffix == ".pdf":
            print(f"{path} ({made.geometry['pages']} pages for {len(roster)} learners)")
    return CLEAN
