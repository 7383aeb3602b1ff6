"""How good a timetable is, and what changed from an earlier one, in whole sentences."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from decimal import ROUND_CEILING, Decimal

from generator.analysis.rotation.plan import LabPlan
from generator.analysis.rotation.solve import AIMS, CHANGES, Aim
from generator.model import Curriculum


def counted(count: int, one: str, many: str) -> str:
    """`1 block`, `3 blocks`, `no blocks`."""
    return f"1 {one}" if count == 1 else f"{count or 'no'} {many}"


def whole_amount(amount: Decimal) -> str:
    """Whole things to bring: always enough."""
    return f"{amount.to_integral_value(ROUND_CEILING):f}"


def verdict_of(plan: LabPlan, trainer: str | None = None) -> tuple[str, ...]:
    """One sentence an aim, with what was proved; what honest order costs is in `price`. `trainer`: the name of the costliest one."""
    found = []
    for aim in plan.aims:
        if aim.name == AIMS[2] and not plan.day.plans_instructors:
            continue
        if aim.name == AIMS[3] and plan.day.costliest is None:
            continue
        says = _says(aim, trainer or plan.day.costliest or "costliest trainer")
        found.append(f"{says} {_proof(aim, plan)}".strip())
    if plan.is_typed:
        found.insert(0, "The order was typed by hand and has been judged, not computed.")
    return tuple(found)


def _says(aim: Aim, trainer: str) -> str:
    if aim.name == AIMS[0]:
        return f"The day takes {counted(aim.value, 'block', 'blocks')}."
    if aim.name == AIMS[1]:
        if not aim.value:
            return "No group waits."
        return f"Groups wait {counted(aim.value, 'block', 'blocks')} in all before they are done."
    if aim.name == AIMS[2]:
        if not aim.value:
            return "No instructor changes station."
        return f"Instructors change station {counted(aim.value, 'time', 'times')} in all."
    if aim.name == AIMS[3]:
        return f"The costliest trainer, {trainer}, is on in {counted(aim.value, 'block', 'blocks')}."
    if aim.name == CHANGES:
        return f"Visits moved: {aim.value}."
    return f"{aim.name}: {aim.value}."


def _proof(aim: Aim, plan: LabPlan) -> str:
    if aim.is_proved:
        if aim.value == 0 and aim.name != AIMS[0]:
            return ""
        return "No timetable has fewer." if aim.name == AIMS[0] else "No timetable that is as good in what comes before has fewer."
    if plan.is_typed:
        return f"A bound says that no timetable has fewer than {aim.bound}."
    return f"This is the best found in the time; it is only proved that no timetable has fewer than {aim.bound}."


def changes_in_words(curriculum: Curriculum, before: LabPlan, after: LabPlan) -> tuple[str, ...]:
    """What differs from an earlier plan of the same lab: blocks, groups, visits, instructors."""
    return tuple(_changes(before, after))


def _changes(before: LabPlan, after: LabPlan) -> Iterator[str]:
    had, has = before.timetable.blocks, after.timetable.blocks
    if had != has:
        ends = f"{after.slots[-1].ends:%H:%M}" if after.slots else "at once"
        yield f"The day takes {counted(has, 'block', 'blocks')} instead of {had} and ends at {ends}."
    for group in range(len(before.group_sizes), len(after.group_sizes)):
        yield f"Group {group + 1} is new, with {counted(after.group_sizes[group], 'learner', 'learners')}."
    for group in range(len(after.group_sizes), len(before.group_sizes)):
        yield f"Group {group + 1} does not come."
    for group, (old, new) in enumerate(zip(before.group_sizes, after.group_sizes, strict=False), 1):
        if old != new:
            yield f"Group {group} has {counted(new, 'learner', 'learners')} instead of {old}."
    old_turns = {(turn.group, turn.block): turn.station for turn in before.turns}
    new_turns = {(turn.group, turn.block): turn.station for turn in after.turns}
    for group in range(1, min(len(before.group_sizes), len(after.group_sizes)) + 1):
        for block in range(1, max(had, has) + 1):
            old_place, new_place = old_turns.get((group, block)), new_turns.get((group, block))
            if old_place != new_place:
                yield f"Block {block}: group {group} is at {_place(new_place)} instead of {_place(old_place)}."
    yield from _post_changes(before, after)


def _place(station: str | None) -> str:
    return station or "no station"


def _post_changes(before: LabPlan, after: LabPlan) -> Iterator[str]:
    old, new = _posts(before), _posts(after)
    for name in sorted(old.keys() | new.keys()):
        if name not in after.day.instructors:
            yield f"{name} is absent; {', '.join(sorted(set(old[name].values())))} are run by others."
            continue
        moved = [block for block in sorted(new[name]) if old[name].get(block) != new[name][block]]
        for block in moved:
            was = old[name].get(block)
            instead = f" instead of {was}" if was else ""
            yield f"Block {block + 1}: {name} runs {new[name][block]}{instead}."


def _posts(plan: LabPlan) -> dict[str, dict[int, str]]:
    found: dict[str, dict[int, str]] = defaultdict(dict)
    for post in plan.timetable.posts:
        found[post.instructor][post.block] = post.stop
    return found
