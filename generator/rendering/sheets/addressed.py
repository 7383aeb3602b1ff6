"""A lab day's checklists printed for each learner by name of code, so that a scan needs no typing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from generator.analysis.practice import plan_for
from generator.model import Curriculum, Lab
from generator.model.roster import RosterLine
from generator.rendering.sheets.packet import Packet, Part, words_of
from generator.rendering.sheets.sheet import Address, Sheet


def addressed_packet(
    curriculum: Curriculum, lab: Lab, sheets: Sequence[Sheet], roster: Sequence[RosterLine], *, fronts: bool = True
) -> Packet:
    """One checklist for each learner at each station of a day, by learner, then in the order of the stations.

    A station whose rung is not on its skill's ladder has no checklist here: nobody could tell what it practises.
    """
    known = {sheet.id: sheet for sheet in sheets if sheet.kind == "checklist"}
    parts = []
    for line in roster:
        for stop in lab.stations:
            station = curriculum.stations.get(stop.station)
            skill = curriculum.skills.get(station.skill) if station else None
            plan = plan_for(skill, station) if skill and station else None
            if station is None or skill is None or plan is None or skill.id not in known:
                continue
            several = sum(other.rung == plan.rung for other in skill.ladder) > 1
            address = Address(
                learner=line.learner,
                role=line.role,
                on=lab.on,
                rung=plan.rung,
                trainer=plan.trainer if several else None,
            )
            sheet = replace(known[skill.id], address=address)
            parts.append(Part(sheet=sheet, bookmark=f"{line.learner}: {sheet.title}"))
    title = curriculum.say("{title}: checklists by learner", title=lab.title)
    return Packet(title=title, parts=tuple(parts), fronts=fronts, words=words_of(curriculum))
