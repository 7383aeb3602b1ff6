"""Results in the words of a colleague: one or two plain sentences each, with names instead of ids where they are read.

`message` and `remedy` serve the checks; the `..._text` functions are whole answers for the terminal.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from fractions import Fraction

from generator.analysis.absence import Absence
from generator.analysis.course import Bring, CarryOver, Swap
from generator.analysis.feedback import Finding
from generator.analysis.gaps import Cover, Gap, Gaps, Touched
from generator.analysis.ladders import BestLadder, Comparison, NoLadder
from generator.analysis.names import Names, lower, upper
from generator.analysis.practice import stands_for
from generator.analysis.wear import Saving, TrainerWear, cost_per_attempt
from generator.analysis.whole import Analysis
from generator.model import Curriculum

MOST = 3
"""Names listed before the rest become a number."""


def message(curriculum: Curriculum, finding: Finding, *, names: Names | None = None) -> str:
    """What a finding about a written ladder found."""
    say = names or Names(curriculum=curriculum)
    technique = _technique(say, finding.technique or "")
    trainer = _trainer(say, finding.trainer or "")
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
        dear = f"{_attempt(say, finding.after)} an attempt on {_trainer(say, finding.after)}"
        cheap = f"{_attempt(say, finding.trainer or '')} on {trainer}"
        return f"Wear falls from {dear} to {cheap}: the dearer one is met first."
    cost = f"{_attempt(say, finding.trainer or '')} an attempt"
    return f"{upper(technique)} is earned for the first time on {trainer}, the costliest trainer owned: {cost}."


def remedy(curriculum: Curriculum, finding: Finding, *, names: Names | None = None) -> str:
    """What the faculty can do about a finding."""
    say = names or Names(curriculum=curriculum)
    able = _choice(say, finding.would_do)
    if finding.rule == "proof":
        rest = f", or practise it on {able}" if able else ": no owned trainer can prove it"
        return f"Write its {say.typed('see')}{rest}."
    if finding.rule == "fit":
        return f"Choose a trainer that accepts it, or name in {say.typed('steps')} only those that this one can host."
    if finding.rule == "thrift":
        first = f"Earn it first on {able}" if able else "Put the cheaper trainer lower on the ladder"
        return f"{first}, or say in {say.typed('because')} why not."
    if finding.later is not None:
        honest = _trainer(say, curriculum.skills[finding.skill].ladder[finding.later].trainer)
        text = f"Rung {finding.later + 1}, {honest}, is honest about it: meet that first"
        return f"{text}, or say in {say.typed('because')} why not."
    if able:
        return f"Start on {able}, leave the step out here, or say in {say.typed('because')} why not."
    gaps = say.typed("rungbook gaps")
    return f"No owned trainer is honest about it. Leave the step out here, or see what {gaps} would buy."


def carry_message(curriculum: Curriculum, found: CarryOver, *, names: Names | None = None) -> str:
    """What a carry-over finding found."""
    say = names or Names(curriculum=curriculum)
    technique = _technique(say, found.technique)
    shown = _shown(say, found.trainer, found.technique)
    later = ""
    if found.suffers is not None:
        later = f" {say.titled(found.suffers)} rests on it later."
    given = f"{shown}On {_trainer(say, found.trainer)} that is given"
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
    trainer = _trainer(say, rung.trainer)
    earns = listed([_technique(say, technique) for technique in rung.earns])
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
    unproved = listed([_technique(say, technique) for technique in best.unproved])
    return f"No rung of it proves {unproved}: a person must watch." if unproved else ""


def why_none(curriculum: Curriculum, none: NoLadder, *, names: Names | None = None) -> str:
    """Why no ladder over the owned trainers keeps the rules."""
    say = names or Names(curriculum=curriculum)
    if none.false:
        reasons = [
            f"{_trainer(say, trainer)} gives {listed([_technique(say, t) for t in false])}"
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
        f"Nearest is {_trainer(say, nearest)}, which does not accept "
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
        lines.append(f"    {number}  {_name_of(curriculum, plan.trainer)}  [{plan.rung}]{because}")
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


def gaps_text(curriculum: Curriculum, gaps: Gaps) -> str:
    """The gaps and what closes them, as lines of text."""
    say = Names(curriculum=curriculum)
    lines = []
    if gaps.without is not None:
        lines.append(f"Without {_trainer(say, gaps.without)}:")
        if gaps.used_by:
            lines.append(f"  The written ladders of {listed(_code(gaps.used_by))} stand on it.")
        if gaps.lost:
            lines.append(f"  No ladder keeps the rules any more for {listed(_code(gaps.lost))}.")
    if not gaps.gaps:
        lines.append("Every technique that a critical step rests on has an honest trainer in this lab.")
    for gap in gaps.gaps:
        opened = " (opened by its absence)" if gap.technique in gaps.opened else ""
        lines.append(f"No owned trainer proves {_technique(say, gap.technique)}{opened}:")
        for touched in gap.touches:
            title = curriculum.skills[touched.skill].title
            lines.append(f"  {title}: {listed(_code(touched.steps))}.")
        if gap.unfit:
            unfit = upper(_choice(say, gap.unfit, "and"))
            lines.append(f"  {unfit} would answer, but cannot host these steps.")
    if gaps.cover.trainers:
        what = "them" if len(gaps.gaps) > 1 else "it"
        lines.append(f"Cheapest way to close {what}: {_bought(curriculum, gaps.cover)}.")
        runner = f"{_bought(curriculum, gaps.runner_up)}" if gaps.runner_up else "there is no other"
        lines.append(f"Next best: {runner}.")
    for technique, skill in gaps.open:
        lines.append(
            f"Nothing in the catalogue closes {_technique(say, technique)} for {curriculum.skills[skill].title}."
        )
    return "\n".join(lines)


def gap_lead(curriculum: Curriculum, gap: Gap, *, names: Names | None = None) -> str:
    """Why a technique cannot be taught honestly in this lab."""
    say = names or Names(curriculum=curriculum)
    if not gap.unfit:
        return f"No owned trainer is honest about {_technique(say, gap.technique)}."
    unfit = upper(_choice(say, gap.unfit, "and"))
    return f"{unfit} would answer, but cannot host the steps that rest on it."


def gaps_verdict(gaps: Gaps) -> str:
    """The gaps in one line."""
    if not gaps.gaps:
        return "Every technique that a critical step rests on has an honest trainer in this lab"
    skills = {touched.skill for gap in gaps.gaps for touched in gap.touches}
    count, touched = len(gaps.gaps), len(skills)
    return (
        f"{count} {'technique has' if count == 1 else 'techniques have'} no honest trainer, "
        f"which touches {touched} {'skill' if touched == 1 else 'skills'}"
    )


def touched_sentence(curriculum: Curriculum, touched: Touched, *, names: Names | None = None) -> str:
    """The skill and the critical steps that a gap touches, and what in the catalogue would do."""
    say = names or Names(curriculum=curriculum)
    steps = listed([say.name("step", f"{touched.skill}/{step}") for step in touched.steps])
    able = _choice(say, touched.candidates)
    would_do = f"{upper(able)} would do." if able else "Nothing in the catalogue would do."
    return f"{say.name('skill', touched.skill)}: {steps}. {would_do}"


def absence_lines(
    curriculum: Curriculum, absence: Absence, *, names: Names | None = None, ladders: bool = True
) -> tuple[str, ...]:
    """What is lost while a trainer is out of service; with `ladders` also which written ladders stand on it."""
    say = names or Names(curriculum=curriculum)
    lines = []
    if absence.lost:
        lines.append(f"No ladder keeps the rules any more for {listed(say.name('skill', id) for id in absence.lost)}.")
    opened: dict[str, list[str]] = {}
    for technique, skill in absence.opened:
        opened.setdefault(technique, []).append(skill)
    for technique, skills in opened.items():
        where = listed(say.name("skill", id) for id in skills)
        lines.append(f"Nothing else proves {_technique(say, technique)} for {where}.")
    if absence.used_by and ladders:
        standing = listed(say.name("skill", id) for id in absence.used_by)
        ladders_of, stand = ("ladder of", "stands") if len(absence.used_by) == 1 else ("ladders of", "stand")
        lines.append(f"The written {ladders_of} {standing} {stand} on it.")
    return tuple(lines)


def wear_sentence(curriculum: Curriculum, wear: TrainerWear, *, names: Names | None = None) -> str:
    """What the labs do to one trainer, in words."""
    say = names or Names(curriculum=curriculum)
    name = upper(_trainer(say, wear.trainer))
    text = f"{name} costs {money(curriculum, wear.cost_per_attempt)} an attempt; the labs plan {wear.planned}."
    if wear.runs_out_at is not None:
        text += f" It is rated for {wear.life_left} more and wears out on {say.name('lab', wear.runs_out_at)}."
    elif wear.life_left is not None:
        text += f" It is rated for {wear.life_left} more."
    if wear.spares:
        text += f" Hold {_count(wear.spares, 'spare')}."
    return text


def saving_sentence(curriculum: Curriculum, saving: Saving, *, names: Names | None = None) -> str:
    """What could be practised as honestly on something cheaper, in words."""
    say = names or Names(curriculum=curriculum)
    return (
        f"{_count(saving.attempts, 'attempt')} at {say.name('station', saving.station)} on "
        f"{say.name('lab', saving.lab)} could be made as honestly on "
        f"{_trainer(say, saving.cheaper)}, which would save {money(curriculum, saving.saved)}."
    )


def _rung_lines(curriculum: Curriculum, best: BestLadder) -> list[str]:
    lines = [f"    {index + 1}  {rung_reason(curriculum, best, index)}" for index in range(len(best.rungs))]
    if best.unproved:
        lines.append(f"    -  {unproved_sentence(curriculum, best)}")
    return lines


def _bought(curriculum: Curriculum, cover: Cover) -> str:
    names = listed([_name_of(curriculum, id) for id in cover.trainers])
    proved = "" if cover.is_proved else ", not proved to be the cheapest"
    return f"{names}, {money(curriculum, cover.cost)}{proved}"


def _shown(say: Names, trainer: str, technique: str) -> str:
    """What the trainer shows, as a sentence of its own with a space after it."""
    record = say.curriculum.trainers.get(trainer)
    feedback = record.feedback.get(technique) if record else None
    return f"{feedback.shows.rstrip('. ')}. " if feedback else ""


def _step(say: Names, finding: Finding) -> str:
    return say.at_step(f"{finding.skill}/{finding.step or ''}")


def _technique(say: Names, id: str) -> str:
    record = say.curriculum.techniques.get(id)
    return say.words("technique", id, lower(record.name) if record else id)


def _name_of(curriculum: Curriculum, trainer: str) -> str:
    record = curriculum.trainers.get(trainer)
    return record.name if record else trainer


def _trainer(say: Names, id: str) -> str:
    return say.words("trainer", id, f"the {lower(_name_of(say.curriculum, id))}")


def _choice(say: Names, trainers: Sequence[str], last: str = "or") -> str:
    """Trainers by name and id as a choice, the cheapest few and the number of the rest."""
    names = [say.choice(id, f"the {lower(_name_of(say.curriculum, id))}") for id in trainers[:MOST]]
    if len(trainers) > MOST:
        names.append(_count(len(trainers) - MOST, "other"))
    return _joined(names, last)


def _groups(groups: Sequence[int]) -> str:
    numbers = _joined([str(group) for group in groups], "and")
    return f"group{'s' if len(groups) > 1 else ''} {numbers}"


def _code(ids: Iterable[str]) -> list[str]:
    return [f"`{id}`" for id in ids]


def listed(names: Iterable[str]) -> str:
    """Names in a row: `a`, `a and b`, `a, b and c`."""
    return _joined(tuple(names), "and")


def _joined(names: Sequence[str], last: str) -> str:
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} {last} {names[-1]}"


def _more(amount: int, unit: str, after: str = "") -> str:
    if amount == 0:
        return f"no more {unit}s{after}"
    more = "more" if amount > 0 else "fewer"
    return f"{_count(abs(amount), f'{more} {unit}')}{after}"


def _more_money(curriculum: Curriculum, amount: Fraction) -> str:
    if amount == 0:
        return "no more wear"
    return f"{money(curriculum, abs(amount))} {'more' if amount > 0 else 'less'} wear for one attempt on each rung"


def _attempt(say: Names, trainer: str) -> str:
    return money(say.curriculum, cost_per_attempt(say.curriculum.trainers[trainer]))


def _count(number: int, unit: str) -> str:
    return f"{number} {unit}{'' if number == 1 else 's'}"


def money(curriculum: Curriculum, amount: Fraction | Decimal) -> str:
    """An amount with the program's currency; cents only where there are some."""
    exact = Fraction(amount)
    text = f"{float(exact):,.0f}" if exact.denominator == 1 else f"{float(exact):,.2f}"
    return f"{text} {curriculum.program.currency}"
