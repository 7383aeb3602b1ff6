"""`print --lab`: everything of a lab day in running order, as one PDF."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from generator.cli.shared import CLEAN, PROBLEMS, STORE, USAGE, readable, refuse_public, remembered, show, unknown

if TYPE_CHECKING:
    from generator.model import Curriculum, Paper

SHEETS = Path("sheets")
"""Where prints go that no option sends elsewhere. Nothing about a learner is among them."""
SITE = Path("site")


def add_options(sub: argparse.ArgumentParser) -> None:
    """The options of `print` that are about a lab day."""
    sub.add_argument("--lab", metavar="ID", help="everything of a lab day in running order, as one PDF")
    sub.add_argument("--copies", action="store_true", help="with --lab: as many checklists as the day needs")
    sub.add_argument(
        "--roster",
        type=Path,
        metavar="FILE",
        help="with --lab and --out: a checklist for each learner of this CSV; both are kept outside the handbook",
    )
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
    from generator.rendering.sheets.revisions import known_revisions
    from generator.rendering.sheets.unshown import unshown_in

    misuse = _misuse(options)
    if misuse:
        print(f"rungbook: {misuse}", file=sys.stderr)
        return USAGE
    if options.roster is not None:
        refuse_public({"--out": options.out}, curriculum=options.curriculum, site=SITE)
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
    folder = options.out or SHEETS
    used = [sheet for sheet in sheets if sheet.revision in {part.sheet.revision for part in packet.parts}]
    name = f"packet-{options.lab}-{paper}.pdf"
    show(unshown_in(name, made.geometry))
    files = {name: made.pdf} | remembered(folder, known_revisions(used))
    for path in write_files(files, folder):
        if path.suffix == ".pdf":
            print(f"{path} ({made.geometry['pages']} pages)")
    for line in day.clash:
        print(f"rungbook: {line}", file=sys.stderr)
    return PROBLEMS if day.clash else CLEAN


def _misuse(options: argparse.Namespace) -> str:
    """What is wrong with how the command was called; empty if nothing is."""
    if options.lab is None:
        return "--copies, --one-sided and --roster go with --lab"
    if options.what is not None:
        return "--lab prints all sheets of a lab day; leave out WHAT and ID"
    if options.roster is not None and options.out is None:
        return (
            "checklists with the codes of learners go where you say: name a folder outside the handbook with --out, "
            "such as --out ../addressed-sheets"
        )
    return ""


def _print_roster(options: argparse.Namespace, curriculum: Curriculum) -> int:
    """A checklist for each learner of a roster at each station. What is wrong with the roster stops it."""
    from generator.build import sheet_files, write_files
    from generator.reading.roster import read_roster
    from generator.rendering.sheets import sheets_of
    from generator.rendering.sheets.addressed import addressed_packet
    from generator.rendering.sheets.packet import typeset_packet
    from generator.rendering.sheets.revisions import known_revisions
    from generator.rendering.sheets.unshown import unshown_in

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
    name = f"checklists-{lab.id}-{paper}.pdf"
    show(unshown_in(name, made.geometry))
    files = {name: made.pdf, **geometry}
    files |= remembered(options.out, known_revisions(sheet for sheet in sheets if sheet.id in used))
    for path in write_files(files, options.out):
        if path.suffix == ".pdf":
            print(f"{path} ({made.geometry['pages']} pages for {len(roster)} learners)")
    return CLEAN
