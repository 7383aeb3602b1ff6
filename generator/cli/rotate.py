"""`rotate`: the timetable of a lab day, with its bound and whether it is proved best."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, TextIO

from generator.cli.shared import CLEAN, PROBLEMS, Commands, readable, show, unknown

if TYPE_CHECKING:
    from generator.analysis.rotation.plan import Clash, LabPlan
    from generator.model import Curriculum, Lab

FORMATS = ("text", "csv", "ics", "json")


def add(commands: Commands) -> None:
    """Add this command."""
    sub = commands.add("rotate", _rotate, "work out the timetable of a lab day")
    sub.add_argument("lab", metavar="LAB", help="the lab day")
    sub.add_argument(
        "--without", action="append", default=[], metavar="ID",
        help="an absent instructor, or a trainer with one unit out of service (may be given several times)",
    )  # fmt: skip
    sub.add_argument("--learners", type=_count, metavar="N", help="as if so many learners came")
    sub.add_argument(
        "--seconds", type=_seconds, default=30.0, metavar="S", help="stop after about so long (default: 30)"
    )
    sub.add_argument("--format", choices=FORMATS, default="text", help="default: text")


def _count(text: str) -> int:
    if not text.isdigit() or not 1 <= int(text) <= 10_000:
        raise argparse.ArgumentTypeError(f"{text!r} is not a number of learners; write one such as 26")
    return int(text)


def _seconds(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = 0.0
    if not 0 < value <= 86_400:
        raise argparse.ArgumentTypeError(f"{text!r} is not a number of seconds; write one such as 30")
    return value


def _rotate(options: argparse.Namespace) -> int:
    from generator.analysis.rotation.plan import Clash, plan_of

    curriculum = readable(options, on=None)
    if curriculum is None:
        return PROBLEMS
    if options.lab not in curriculum.labs:
        return unknown("lab day", options.lab, curriculum.labs)
    lab = curriculum.labs[options.lab]
    known = _who_and_what(curriculum, lab)
    for id in options.without:
        if id not in known:
            return unknown(f"instructor or trainer of {lab.id}", id, known)
    tell = progress()
    is_changed = bool(options.without) or options.learners is not None
    usual = plan_of(curriculum, lab.id, seconds=options.seconds, tell=tell)
    plan: LabPlan | Clash = usual
    if is_changed:
        near = None if isinstance(usual, Clash) else usual
        plan = plan_of(
            curriculum, lab.id, without=options.without, learners=options.learners, seconds=options.seconds,
            tell=tell, near=near,
        )  # fmt: skip
    if isinstance(plan, Clash):
        show(plan.problems)
        if options.format in ("text", "json"):
            sys.stdout.write(clash_text(curriculum, lab, plan) if options.format == "text" else _json(clash_json(plan)))
        return PROBLEMS
    show(plan.problems)
    if options.format == "text":
        sys.stdout.write(plan_text(curriculum, plan))
    elif options.format == "json":
        sys.stdout.write(_json(plan_json(plan)))
    elif options.format == "csv":
        from generator.rendering.tables.labs import timetable_csv

        _write_bytes(timetable_csv(plan, curriculum).encode())
    else:
        from generator.rendering.tables.labs import timetable_ics

        _write_bytes(timetable_ics(plan, curriculum))
    return PROBLEMS if plan.problems else CLEAN


def _who_and_what(curriculum: Curriculum, lab: Lab) -> tuple[str, ...]:
    """Instructors and trainers of a day."""
    stations = (curriculum.stations[stop.station] for stop in lab.stations if stop.station in curriculum.stations)
    return (*(one.id for one in lab.instructors), *dict.fromkeys(station.trainer for station in stations))


def _write_bytes(data: bytes) -> None:
    # These formats end their lines as their standards say, which text output would change on some systems.
    sys.stdout.flush()
    sys.stdout.buffer.write(data)
    sys.stdout.buffer.flush()


def progress(stream: TextIO = sys.stderr) -> Callable[[str, int, int], None] | None:
    """Each aim with its value and bound on one line of a terminal; nothing in a pipe."""
    if not stream.isatty():
        return None

    def write(name: str, value: int, bound: int) -> None:
        state = "proved" if value <= bound else f"at least {bound}"
        stream.write(f"\r\x1b[K{name}: {value} ({state})")
        if name.startswith("blocks of"):
            stream.write("\r\x1b[K")
        stream.flush()

    return write


def plan_text(curriculum: Curriculum, plan: LabPlan) -> str:
    """The day as a table of aligned columns, who runs what, how good it is, and what the stations ask for."""
    from generator.analysis.told import said

    lab = curriculum.labs[plan.lab]
    first, last = plan.slots[0], plan.slots[-1]
    lines = [
        f"{lab.title}, {lab.on:%A} {lab.on.day} {lab.on:%B %Y}, {first.starts:%H:%M} to {last.ends:%H:%M}"
        f" ({lab.time_zone})",
        f"{plan.learners} learners in {len(plan.group_sizes)} groups",
        "",
    ]
    if plan.without or plan.learners != lab.learners:
        lines += ["What changed", *(f"  {text}" for text in plan.changed or ("Nothing.",)), ""]
    lines += [*_visits_table(lab, plan), ""]
    posts = _posts_table(plan)
    if posts:
        lines += [*posts, ""]
    lines += [*(f"  {number}  {curriculum.stations[stop.station].title} ({stop.station})"
                for number, stop in enumerate(lab.stations, 1) if stop.station in curriculum.stations), ""]  # fmt: skip
    told = [*plan.verdict, *([plan.price.words] if plan.price and plan.price.words else [])]
    lines += [*(said(curriculum, line) for line in told), ""]
    lines += _table(
        ("station", "attempts", "each learner", "minutes hands on"),
        [
            (load.station, str(load.attempts), _spread(load.attempts_each), _spread(load.minutes_each))
            for load in plan.loads
        ],
    )
    minutes = [duty.minutes for duty in plan.duties]
    if minutes:
        lines.append(f"Hands on in all: {_spread((min(minutes), max(minutes)))} minutes each learner.")
    if plan.supplies:
        from generator.analysis.rotation.verdict import whole_amount

        lines += ["", "Bring", *(f"  {whole_amount(amount)} × {name}" for name, amount in plan.supplies)]
    return "".join(f"{line.rstrip()}\n" for line in lines)


def _spread(pair: tuple[int, int]) -> str:
    return str(pair[0]) if pair[0] == pair[1] else f"{pair[0]} to {pair[1]}"


def _visits_table(lab: Lab, plan: LabPlan) -> list[str]:
    """Blocks down, groups across; a cell is the number of the station."""
    numbers = {stop.station: str(number) for number, stop in enumerate(lab.stations, 1)}
    at = {(turn.block, turn.group): numbers.get(turn.station, turn.station) for turn in plan.turns}
    groups = range(1, len(plan.group_sizes) + 1)
    rows: list[tuple[str, ...]] = []
    for slot in plan.slots:
        clock = f"{slot.starts:%H:%M}–{slot.ends:%H:%M}"
        if slot.block is None:
            rows.append((clock, slot.name or "Break"))
        else:
            rows.append((clock, str(slot.block), *(at.get((slot.block, group), "·") for group in groups)))
    return _table(("time", "block", *(f"group {group}" for group in groups)), rows)


def _posts_table(plan: LabPlan) -> list[str]:
    """Instructors down, blocks across."""
    names = list(dict.fromkeys(name for turn in plan.turns for name in turn.instructors))
    if not names:
        return []
    order = {load.station: str(number) for number, load in enumerate(plan.loads, 1)}
    blocks = [slot.block for slot in plan.slots if slot.block is not None]
    at = {(name, turn.block): order.get(turn.station, turn.station) for turn in plan.turns for name in turn.instructors}
    return _table(
        ("instructor", *(f"block {block}" for block in blocks)),
        [(name, *(at.get((name, block), "·") for block in blocks)) for name in sorted(names)],
    )


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    """Aligned columns; a row shorter than the head says something about the whole line."""
    whole = [row for row in rows if len(row) == len(head)]
    widths = [max(len(row[n]) for row in (head, *whole)) for n in range(len(head))]
    return ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=False)) for row in (head, *rows)]


def clash_text(curriculum: Curriculum, lab: Lab, clash: Clash) -> str:
    """Why a day has no timetable, and what would mend it."""
    from generator.analysis.told import said

    if clash.ran_out:
        return f"{lab.title}: no timetable was found in the time given, and none was ruled out.\n"
    lines = [f"{lab.title}: no timetable keeps all of these together."]
    lines += [f"  {one.location}: {said(curriculum, one.what)}" for one in clash.requirements]
    if clash.mends:
        lines += ["Any one of these would mend it (tried):", *(f"  {said(curriculum, text)}" for text in clash.mends)]
    else:
        lines.append("No single change that was tried mends it.")
    return "".join(f"{line}\n" for line in lines)


def _json(value: Any) -> str:
    import json

    return json.dumps(value, indent=2, ensure_ascii=False) + "\n"


def plan_json(plan: LabPlan) -> dict[str, Any]:
    """The plan for other programs; times are ISO 8601 with their offset."""
    return {
        "lab": plan.lab,
        "learners": plan.learners,
        "group_sizes": list(plan.group_sizes),
        "without": list(plan.without),
        "is_typed": plan.is_typed,
        "bound": plan.bound,
        "aims": [
            {"name": aim.name, "value": aim.value, "bound": aim.bound, "proved": aim.is_proved} for aim in plan.aims
        ],
        "slots": [
            {
                "block": slot.block, "name": slot.name, "starts": slot.starts.isoformat(),
                "ends": slot.ends.isoformat(),
            }
            for slot in plan.slots
        ],
        "visits": [
            {
                "block": turn.block, "group": turn.group, "station": turn.station,
                "instructors": list(turn.instructors),
                "attempts": [
                    {
                        "number": attempt.number, "round": attempt.round,
                        "performers": [{"role": role, "learner": learner} for role, learner in attempt.performers],
                        "partners": list(attempt.partners), "evaluators": list(attempt.evaluators),
                    }
                    for attempt in turn.attempts
                ],
            }
            for turn in plan.turns
        ],
        "learner_days": [
            {
                "group": duty.group, "learner": duty.learner, "performs": duty.performs, "assists": duty.assists,
                "evaluates": duty.evaluates, "minutes": duty.minutes,
            }
            for duty in plan.duties
        ],
        "supplies": [{"name": name, "amount": str(amount)} for name, amount in plan.supplies],
        "verdict": list(plan.verdict),
        "price_of_honest_order": None
        if plan.price is None
        else {
            "blocks": plan.price.blocks, "exact": plan.price.is_exact, "words": plan.price.words,
            "moves": [
                {"station": move.station, "to_lab": move.to_lab, "saves": move.saves} for move in plan.price.moves
            ],
        },
        "changed": list(plan.changed),
    }  # fmt: skip


def clash_json(clash: Clash) -> dict[str, Any]:
    """Why a day has no timetable, for other programs."""
    return {
        "lab": clash.lab,
        "ran_out": clash.ran_out,
        "requirements": [
            {"rule": one.rule, "what": one.what, "where": str(one.location)} for one in clash.requirements
        ],
        "mends": list(clash.mends),
    }
