"""How good a timetable is, and what changed from an earlier one, in whole sentences.

Pages and sheets print the first, so it is `Told`; the second is for the terminal alone, which writes English.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from decimal import ROUND_CEILING, Decimal

from generator.analysis.rotation.plan import LabPlan
from generator.analysis.rotation.solve import AIMS, CHANGES, Aim
from generator.analysis.told import Told
from generator.model import Curriculum


def _with_word(count: int, one: str, many: str) -> str:
    return f"1 {one}" if count == 1 else f"{count or 'no'} {many}"


def whole_amount(amount: Decimal) -> str:
    """Whole things to bring: always enough."""
    return f"{amount.to_integral_value(ROUND_CEILING):f}"


def verdict_of(plan: LabPlan, trainer: str | None = None) -> tuple[str, ...]:
    """One sentence an aim, with what was proved. `trainer`: the name of the costliest one.

    What honest order costs is told in `price`.
    """
    found: list[str] = []
    for aim in plan.aims:
        if aim.name == AIMS[2] and not plan.day.plans_instructors:
            continue
        if aim.name == AIMS[3] and plan.day.costliest is None:
            continue
        figure = _figure(aim, trainer or plan.day.costliest or "costliest trainer")
        proof = _proof(aim, plan)
        found.append(figure if proof is None else Told("{figure} {proof}", figure=figure, proof=proof))
    if plan.is_typed:
        found.insert(0, Told("The order was typed by hand and has been judged, not computed."))
    return tuple(found)


def _figure(aim: Aim, trainer: str) -> Told:
    count = aim.value
    some, none = {
        AIMS[0]: (
            Told.many(count, "The day takes {count} block.", "The day takes {count} blocks."),
            Told("The day takes no block."),
        ),
        AIMS[1]: (
            Told.many(
                count,
                "Groups wait {count} block in all before they are done.",
                "Groups wait {count} blocks in all before they are done.",
            ),
            Told("No group waits."),
        ),
        AIMS[2]: (
            Told.many(
                count,
                "Instructors change station {count} time in all.",
                "Instructors change station {count} times in all.",
            ),
            Told("No instructor changes station."),
        ),
        AIMS[3]: (
            Told.many(
                count,
                "The costliest trainer, {trainer}, is on in {count} block.",
                "The costliest trainer, {trainer}, is on in {count} blocks.",
                trainer=trainer,
            ),
            Told("The costliest trainer stays off."),
        ),
        CHANGES: (Told("Visits moved: {count}.", count=count), Told("No visit moved.")),
    }[aim.name]
    return some if count else none


def _proof(aim: Aim, plan: LabPlan) -> Told | None:
    if aim.is_proved:
        if aim.value == 0 and aim.name != AIMS[0]:
            return None
        return Told(
            "No timetable has fewer."
            if aim.name == AIMS[0]
            else "No timetable that is as good in what comes before has fewer."
        )
    return Told(
        "A bound says that no timetable has fewer than {count}."
        if plan.is_typed
        else "This is the best found in the time; it is only proved that no timetable has fewer than {count}.",
        count=aim.bound,
    )


def changes_in_words(curriculum: Curriculum, before: LabPlan, after: LabPlan) -> tuple[str, ...]:
    """What differs from an earlier plan of the same lab: blocks, groups, visits, instructors."""
    return tuple(_changes(before, after))


def _changes(before: LabPlan, after: LabPlan) -> Iterator[str]:
    had, has = before.timetable.blocks, after.timetable.blocks
    if had != has:
        ends = f"{after.slots[-1].ends:%H:%M}" if after.slots else "at once"
        yield f"The day takes {_with_word(has, 'block', 'blocks')} instead of {had} and ends at {ends}."
    for group in range(len(before.group_sizes), len(after.group_sizes)):
        yield f"Group {group + 1} is new, with {_with_word(after.group_sizes[group], 'learner', 'learners')}."
    for group in range(len(after.group_sizes), len(before.group_sizes)):
        yield f"Group {group + 1} does not come."
    for group, (old, new) in enumerate(zip(before.group_sizes, after.group_sizes, strict=False), 1):
        if old != new:
            yield f"Group {group} has {_with_word(new, 'learner', 'learners')} instead of {old}."
    for group in range(1, min(len(before.group_sizes), len(after.group_sizes)) + 1):
        old_blocks, new_blocks = _blocks_of(before, group), _blocks_of(after, group)
        for station in dict.fromkeys((*old_blocks, *new_blocks)):
            left = [block for block in old_blocks.get(station, ()) if block not in new_blocks.get(station, ())]
            come = [block for block in new_blocks.get(station, ()) if block not in old_blocks.get(station, ())]
            if left and come:
                yield f"Group {group} is at {station} in {_blocks(come)} instead of {_blocks(left)}."
            elif left or come:
                yield f"Group {group} is {'no longer' if left else 'also'} at {station} in {_blocks(left or come)}."
    yield from _post_changes(before, after)


def _blocks_of(plan: LabPlan, group: int) -> dict[str, list[int]]:
    found: dict[str, list[int]] = defaultdict(list)
    for turn in plan.turns:
        if turn.group == group:
            found[turn.station].append(turn.block)
    return found


def _blocks(numbers: Sequence[int]) -> str:
    """`block 3`, `blocks 1, 2, 4`, with runs of three and more as `1 to 4`."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    said = [f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs]
    return f"{'block' if len(numbers) == 1 else 'blocks'} {', '.join(said)}"


def _post_changes(before: LabPlan, after: LabPlan) -> Iterator[str]:
    old, new = _posts(before), _posts(after)
    for name in sorted(old.keys() | new.keys()):
        if name not in after.day.instructors:
            ran = " and ".join(sorted(set(old[name].values())))
            yield f"{name} is absent; others run {ran}."
            continue
        moved: dict[tuple[str, str | None], list[int]] = defaultdict(list)
        for block in sorted(new[name]):
            if old[name].get(block) != new[name][block]:
                moved[new[name][block], old[name].get(block)].append(block + 1)
        for (station, was), blocks in moved.items():
            instead = f" instead of {was}" if was else ""
            yield f"{name} runs {station}{instead} in {_blocks(blocks)}."


def _posts(plan: LabPlan) -> dict[str, dict[int, str]]:
    found: dict[str, dict[int, str]] = defaultdict(dict)
    for post in plan.timetable.posts:
        found[post.instructor][post.block] = post.stop
    return found
