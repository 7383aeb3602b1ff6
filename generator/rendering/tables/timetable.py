"""A lab day as a table for a spreadsheet: one row for each visit of a group to a station."""

from __future__ import annotations

from generator.model import Curriculum
from generator.rendering.lab_day import LabDay, role_words
from generator.rendering.tables.csv import csv_text

COLUMNS = (
    "lab", "date", "block", "starts", "ends", "time_zone", "group", "learners", "station", "station_id", "title",
    "skill", "rung", "trainer", "run_by",
)  # fmt: skip


def timetable_text(day: LabDay, curriculum: Curriculum) -> str:
    """RFC 4180 text with the columns of `COLUMNS`, by block and group; clock times are local."""
    rungs = curriculum.program.rungs
    rows: list[tuple[object, ...]] = []
    for turn in sorted(day.turns, key=lambda t: (t.block, t.group, t.station)):
        slot, station = day.slot(turn.block), curriculum.stations.get(turn.station)
        skill = curriculum.skills.get(station.skill) if station else None
        trainer = curriculum.trainers.get(station.trainer) if station else None
        rows.append(
            (
                day.lab.id,
                slot.starts.date().isoformat(),
                turn.block,
                f"{slot.starts:%H:%M}",
                f"{slot.ends:%H:%M}",
                day.lab.time_zone,
                turn.group,
                day.group_sizes[turn.group - 1],
                next((n for n, stop in enumerate(day.lab.stations, 1) if stop.station == turn.station), None),
                turn.station,
                station.title if station else None,
                skill.title if skill else None,
                curriculum.name_of(rungs, station.rung) if station else None,
                trainer.name if trainer else None,
                "; ".join(map(role_words, turn.instructors)),
            )
        )
    return csv_text(COLUMNS, rows)
