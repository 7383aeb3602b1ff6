"""Results in the words of a colleague: one or two plain sentences each, with names instead of ids where they are read.

`message` and `remedy` serve the checks; the `..._text` functions are whole answers for the terminal.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from generator.analysis.course import Bring, CarryOver, Swap
from generator.analysis.feedback import Finding
from generator.analysis.ladders import BestLadder, Comparison, NoLadder
from generator.analysis.names import Names, upper
from generator.analysis.phrases import (
    counted,
    joined,
    listed,
    money,
    name_of,
    technique_name,
    trainer_choice,
    trainer_name,
)
from generator.analysis.practice import stands_for
from generator.analysis.wear import cost_per_attempt
from generator.analysis.whole import Analysis
from generator.model import Curriculum


def message(curriculum: Curriculum, finding: Finding, *, names: Names | None = None) -> str:
    """What a finding about a written ladder found."""
    say = names or Names(curriculum=curriculum)
    technique = technique_name(say, finding.technique or "")
    trainer = trainer_name(say, finding.trainer or "")
    if finding.rule == "honest-first":
        shown = _shown(say, finding.trainer or "", finding.technique or "")
        return f"{shown}On {trainer} that is given, so {technique} is not proved at {_step(say, finding)}."
    if finding.rule == "proof":
        return (
            f"No rung of this ladder proves {technique}, and {_step(say, finding)} does not say what an evaluator "
            "must see."
        )
    if finding.rule == "fit":
        items = listed([say.name("equipment", id) for id in finding.equipment])
        return f"{upper(trainer)} does not accept {items}, which {_step(say, finding)} uses."
    if finding.after is not None:
        dear = f"{_attempt(say, finding.after)} an attempt on {trainer_name(say, finding.after)}"
        cheap = f"{_attempt(say, finding.trainer or '')} on {trainer}"
        return f"Wear falls from {dear} to {cheap}: the dearer one is met first."
    cost = f"{_attempt(say, finding.trainer or '')} an attempt"
    return f"{upper(technique)} is earned for the first time on {trainer}, the costliest trainer owned: {cost}."


def remedy(curriculum: Curriculum, finding: Finding, *, names: Names | None = None) -> str:
    """What the faculty can do about a finding."""
    say = names or Names(curriculum=curriculum)
    able = trainer_choice(say, finding.would_do)
    if finding.rule == "proof":
        rest = f", or practise it on {able}" if able else ": no owned trainer can prove it"
        return f"Write its {say.typed('see')}{rest}."
    if finding.rule == "fit":
        return f"Choose a trainer that accepts it, or name in {say.typed('steps')} only those that this one can host."
    if finding.rule == "thrift":
        first = f"Earn it first on {able}" if able else "Put the cheaper trainer lower on the ladder"
        return f"{first}, or say in {say.typed('because')} why not."
    if finding.later is not None:
        honest = trainer_name(say, curriculum.skills[finding.skill].ladder[finding.later].trainer)
        text = f"Rung {finding.later + 1}, {honest}, is honest about it: meet that first"
        return f"{text}, or say in {say.typed('because')} why not."
    if able:
        return f"Start on {able}, leave the step out here, or say in {say.typed('because')} why not."
    gaps = say.typed("rungbook gaps")
    return f"No owned trainer is honest about it. Leave the step out here, or see what {gaps} would buy."


def carry_message(curriculum: Curriculum, found: CarryOver, *, names: Names | None = None) -> str:
    """What a carry-over finding found."""
    say = names or Names(curriculum=curriculum)
    technique = technique_name(say, found.technique)
    shown = _shown(say, found.trainer, found.technique)
    later = ""
    if found.suffers is not None:
        later = f" {say.titled(found.suffers)} rests on it later."
    given = f"{shown}On {trainer_name(say, found.trainer)} that is given"
    who = f"{_groups(found.groups)} meet{'' if len(found.groups) > 1 else 's'}"
    station = say.name("station", found.station)
    return f"{given}, and at {station} {who} {technique} before it was earned at any station.{later}"


def carry_remedy(curriculum: Curriculum, found: CarryOver, *, names: Names | None = None) -> str:
    """What mends a carry-over finding: swaps first, then stations to bring forward."""
    say = names or Names(curriculum=curriculum)
    ways = []
    for mend in found.mends:
        if isinstance(mend, Swap):
            first, second = say.name("station", mend.station), say.name("station", mend.with_station)
            ways.append(f"for group {mend.group} swap {first} and {second}")
        elif isinstance(mend, Bring):
            who = _groups(mend.groups)
            station, day = say.name("station", mend.station), say.name("lab", mend.from_lab)
            ways.append(f"bring {station} forward from {day} and let {who} meet it first")
        else:
            order = ", ".join(say.name("station", station) for station in mend.stations)
            ways.append(f"for group {mend.group} take the order {order}")
    if not ways:
        return "No order of the day and no later station mends it: add a station that earns it, or change the trainer."
    text = f"{upper('; '.join(ways))}."
    return text if found.order_can_mend else f"No order of this day's stations mends it. {text}"


def rung_reason(curriculum: Curriculum, best: BestLadder, index: int, *, names: Names | None = None) -> str:
    """Why a rung of a best ladder is there."""
    say = names or Names(curriculum=curriculum)
    rung = best.rungs[index]
    trainer = trainer_name(say, rung.trainer)
    earns = listed([technique_name(say, technique) for technique in rung.earns])
    answers = f"answers only to correct {earns}" if rung.earns else ""
    if rung.is_last:
        start = f"{upper(trainer)} will do alone: it" if index == 0 else f"End on {trainer}: it"
        first = f" and {'is the first that ' if index else ''}{answers}" if answers else ""
        text = f"{start} takes the whole skill{first}."
    else:
        text = f"{'Start on' if index == 0 else 'Then go to'} {trainer}: it {answers}."
    if rung.left_out:
        steps = listed([say.name("step", f"{best.skill}/{id}") for id in rung.left_out])
        text += f" Leave out {steps}: here that would be rewarded whatever the hands do."
    return text


def unproved_sentence(curriculum: Curriculum, best: BestLadder, *, names: Names | None = None) -> str:
    """What no rung of a best ladder proves, in words; empty when it proves everything."""
    say = names or Names(curriculum=curriculum)
    unproved = listed([technique_name(say, technique) for technique in best.unproved])
    return f"No rung of it proves {unproved}: a person must watch." if unproved else ""


def why_none(curriculum: Curriculum, none: NoLadder, *, names: Names | None = None) -> str:
    """Why no ladder over the owned trainers keeps the rules."""
    say = names or Names(curriculum=curriculum)
    if none.false:
        reasons = [
            f"{trainer_name(say, trainer)} gives {listed([technique_name(say, t) for t in false])}"
            for trainer, false in none.false
        ]
        why = "and no owned trainer of no higher wear can earn that first"
        return f"No ladder keeps the rules: {'; '.join(reasons)}, {why}."
    skill = curriculum.skills[none.skill]
    able = [
        (id, items)
        for id, items in none.refused
        if all(stands_for(curriculum.trainers[id], skill, step) for step in skill.steps)
    ]
    if not able:
        return "No ladder keeps the rules: no owned trainer stands for this skill's patients."
    nearest, items = min(able, key=lambda pair: len(pair[1]))
    return (
        "No ladder keeps the rules: no owned trainer takes the whole skill. "
        f"Nearest is {trainer_name(say, nearest)}, which does not accept "
        f"{listed([say.name('equipment', id) for id in items])}."
    )


def difference(curriculum: Curriculum, found: Comparison) -> str:
    """The written ladder against the best one, in words."""
    if not isinstance(found.best, BestLadder) or found.rungs_more is None:
        return ""
    parts = [
        _more(found.rungs_more, "rung"),
        _more_money(curriculum, found.wear_more or Fraction(0)),
        _more(found.setup_minutes_more or 0, "minute", " of setting up"),
    ]
    cost = f"The written ladder takes {listed(parts)}."
    if not found.exposure:
        return f"{cost} It reassures falsely nowhere."
    times = "once" if found.exposure == 1 else f"{found.exposure} times"
    return f"{cost} It meets a technique {times} where the result is given, before it was earned."


def ladder_text(curriculum: Curriculum, analysis: Analysis, skill: str) -> str:
    """A skill's written ladder beside the best one, with reasons and findings, as lines of text."""
    found = analysis.skills[skill]
    comparison = found.comparison
    record = curriculum.skills[skill]
    lines = [f"{record.title} ({skill})", "  written"]
    for number, plan in enumerate(record.ladder, 1):
        because = f"  because: {plan.because}" if plan.because else ""
        lines.append(f"    {number}  {name_of(curriculum, plan.trainer)}  [{plan.rung}]{because}")
    lines.append("  best")
    if isinstance(comparison.best, NoLadder):
        lines.append(f"    {why_none(curriculum, comparison.best)}")
    else:
        lines += _rung_lines(curriculum, comparison.best)
        lines.append(f"  {difference(curriculum, comparison)}")
        same = comparison.to_same_end
        if same is not None and same.trainers != comparison.best.trainers:
            lines.append("  best that ends where the written one ends")
            lines += _rung_lines(curriculum, same)
    for finding in found.findings:
        reason = f" Because: {finding.because}" if finding.because else f" {remedy(curriculum, finding)}"
        lines.append(f"  {finding.rule}: {message(curriculum, finding)}{reason}")
    return "\n".join(lines)


def _rung_lines(curriculum: Curriculum, best: BestLadder) -> list[str]:
    lines = [f"    {index + 1}  {rung_reason(curriculum, best, index)}" for index in range(len(best.rungs))]
    if best.unproved:
        lines.append(f"    -  {unproved_sentence(curriculum, best)}")
    return lines


def _shown(say: Names, trainer: str, technique: str) -> str:
    """What the trainer shows, as a sentence of its own with a space after it."""
    record = say.curriculum.trainers.get(trainer)
    feedback = record.feedback.get(technique) if record else None
    return f"{feedback.shows.rstrip('. ')}. " if feedback else ""


def _step(say: Names, finding: Finding) -> str:
    return say.at_step(f"{finding.skill}/{finding.step or ''}")


def _groups(groups: Sequence[int]) -> str:
    numbers = joined([str(group) for group in groups], "and")
    return f"group{'s' if len(groups) > 1 else ''} {numbers}"


def _more(amount: int, unit: str, after: str = "") -> str:
    if amount == 0:
        return f"no more {unit}s{after}"
    more = "more" if amount > 0 else "fewer"
    return f"{counted(abs(amount), f'{more} {unit}')}{after}"


def _more_money(curriculum: Curriculum, amount: Fraction) -> str:
    if amount == 0:
        return "no more wear"
    return f"{money(curriculum, abs(amount))} {'more' if amount > 0 else 'less'} wear for one attempt on each rung"


def _attempt(say: Names, trainer: str) -> str:
    return money(say.curriculum, cost_per_attempt(say.curriculum.trainers[trainer]))
