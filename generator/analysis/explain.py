"""Results in the words of a colleague: one or two plain sentences each, with names instead of ids where they are read.

`message` and `remedy` serve the checks; the `..._text` functions are whole answers for the terminal.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from generator.analysis.course import Bring, CarryOver, Reorder, Swap
from generator.analysis.feedback import Finding
from generator.analysis.ladders import BestLadder, Comparison, NoLadder
from generator.analysis.names import Names, upper
from generator.analysis.phrases import (
    listed,
    money,
    name_of,
    technique_name,
    techniques_listed,
    trainer_choice,
    trainer_name,
)
from generator.analysis.practice import stands_for
from generator.analysis.wear import cost_per_attempt
from generator.analysis.whole import Analysis
from generator.model import Curriculum


def message(curriculum: Curriculum, finding: Finding, *, names: Names | None = None) -> str:
    """What a finding about a written ladder found."""
    names, say = names or Names(curriculum=curriculum), curriculum.say
    technique = technique_name(names, finding.technique or "")
    trainer = trainer_name(names, finding.trainer or "")
    if finding.rule == "honest-first":
        not_proved = say(
            "On {trainer} that is given, so {technique} is not proved at {step}.",
            trainer=trainer,
            technique=technique,
            step=_step(names, finding),
        )
        return _after_shown(curriculum, finding.trainer or "", finding.technique or "", not_proved)
    if finding.rule == "proof":
        return say(
            "No rung of this ladder proves {technique}, and {step} does not say what an evaluator must see.",
            technique=technique,
            step=_step(names, finding),
        )
    if finding.rule == "fit":
        refused = say(
            "{trainer} does not accept {equipment}, which {step} uses.",
            trainer=trainer,
            equipment=listed([names.name("equipment", id) for id in finding.equipment], say),
            step=_step(names, finding),
        )
        return upper(refused)
    if finding.after is not None:
        return say(
            "Wear falls from {more} an attempt on {dear} to {less} on {cheap}: the dearer one is met first.",
            more=_attempt(curriculum, finding.after),
            dear=trainer_name(names, finding.after),
            less=_attempt(curriculum, finding.trainer or ""),
            cheap=trainer,
        )
    late = say(
        "{technique} is earned for the first time on {trainer}, the costliest trainer owned: {cost} an attempt.",
        technique=technique,
        trainer=trainer,
        cost=_attempt(curriculum, finding.trainer or ""),
    )
    return upper(late)


def remedy(curriculum: Curriculum, finding: Finding, *, names: Names | None = None) -> str:
    """What the faculty can do about a finding."""
    names, say = names or Names(curriculum=curriculum), curriculum.say
    able = trainer_choice(names, finding.would_do)
    if finding.rule == "proof":
        see = names.typed("see")
        if able:
            return say("Write its {see}, or practise it on {trainers}.", see=see, trainers=able)
        return say("Write its {see}: no owned trainer can prove it.", see=see)
    if finding.rule == "fit":
        fit = "Choose a trainer that accepts it, or name in {steps} only those that this one can host."
        return say(fit, steps=names.typed("steps"))
    if finding.rule == "thrift":
        because = names.typed("because")
        if able:
            return say("Earn it first on {trainers}, or say in {because} why not.", trainers=able, because=because)
        return say("Put the cheaper trainer lower on the ladder, or say in {because} why not.", because=because)
    return _remedy_of_first(curriculum, finding, names, able)


def _remedy_of_first(curriculum: Curriculum, finding: Finding, names: Names, able: str) -> str:
    """What can be done about a technique that is met first where it is given."""
    say, because = curriculum.say, names.typed("because")
    if finding.later is not None:
        return say(
            "Rung {number}, {trainer}, is honest about it: meet that first, or say in {because} why not.",
            number=finding.later + 1,
            trainer=trainer_name(names, curriculum.skills[finding.skill].ladder[finding.later].trainer),
            because=because,
        )
    if able:
        start = "Start on {trainers}, leave the step out here, or say in {because} why not."
        return say(start, trainers=able, because=because)
    return say(
        "No owned trainer is honest about it. Leave the step out here, or see what {gaps} would buy.",
        gaps=names.typed("rungbook gaps"),
    )


def carry_message(curriculum: Curriculum, found: CarryOver, *, names: Names | None = None) -> str:
    """What a carry-over finding found."""
    names, say = names or Names(curriculum=curriculum), curriculum.say
    met = curriculum.many(
        len(found.groups),
        "On {trainer} that is given, and at {station} group {groups} meets {technique} before it was earned at any "
        "station.",
        "On {trainer} that is given, and at {station} groups {groups} meet {technique} before it was earned at "
        "any station.",
        trainer=trainer_name(names, found.trainer),
        station=names.name("station", found.station),
        groups=_numbers(curriculum, found.groups),
        technique=technique_name(names, found.technique),
    )
    text = _after_shown(curriculum, found.trainer, found.technique, met)
    if found.suffers is None:
        return text
    later = say("{skill} rests on it later.", skill=names.titled(found.suffers))
    return f"{text} {later}"


def carry_remedy(curriculum: Curriculum, found: CarryOver, *, names: Names | None = None) -> str:
    """What mends a carry-over finding: swaps first, then stations to bring forward."""
    names, say = names or Names(curriculum=curriculum), curriculum.say
    if not found.mends:
        return say(
            "No order of the day and no later station mends it: add a station that earns it, or change the trainer."
        )
    ways = upper(say("; ").join(_way(curriculum, mend, names) for mend in found.mends))
    if found.order_can_mend:
        return say("{ways}.", ways=ways)
    return say("No order of this day's stations mends it. {ways}.", ways=ways)


def _way(curriculum: Curriculum, mend: Swap | Bring | Reorder, names: Names) -> str:
    say = curriculum.say
    if isinstance(mend, Swap):
        return say(
            "for group {group} swap {station} and {other}",
            group=mend.group,
            station=names.name("station", mend.station),
            other=names.name("station", mend.with_station),
        )
    if isinstance(mend, Bring):
        return curriculum.many(
            len(mend.groups),
            "bring {station} forward from {day} and let group {groups} meet it first",
            "bring {station} forward from {day} and let groups {groups} meet it first",
            station=names.name("station", mend.station),
            day=names.name("lab", mend.from_lab),
            groups=_numbers(curriculum, mend.groups),
        )
    order = say(", ").join(names.name("station", station) for station in mend.stations)
    return say("for group {group} take the order {stations}", group=mend.group, stations=order)


def rung_reason(curriculum: Curriculum, best: BestLadder, index: int, *, names: Names | None = None) -> str:
    """Why a rung of a best ladder is there."""
    names, say = names or Names(curriculum=curriculum), curriculum.say
    rung = best.rungs[index]
    trainer, earns = trainer_name(names, rung.trainer), techniques_listed(names, rung.earns)
    if not rung.is_last:
        text = say(
            "Start on {trainer}: it answers only to correct {techniques}."
            if index == 0
            else "Then go to {trainer}: it answers only to correct {techniques}.",
            trainer=trainer,
            techniques=earns,
        )
    elif not rung.earns:
        text = say(
            "{trainer} will do alone: it takes the whole skill."
            if index == 0
            else "End on {trainer}: it takes the whole skill.",
            trainer=trainer,
        )
    else:
        text = say(
            "{trainer} will do alone: it takes the whole skill and answers only to correct {techniques}."
            if index == 0
            else "End on {trainer}: it takes the whole skill and is the first that answers only to correct "
            "{techniques}.",
            trainer=trainer,
            techniques=earns,
        )
    text = upper(text)
    if rung.left_out:
        steps = listed([names.name("step", f"{best.skill}/{id}") for id in rung.left_out], say)
        left_out = say("Leave out {steps}: here that would be rewarded whatever the hands do.", steps=steps)
        text = f"{text} {left_out}"
    return text


def unproved_sentence(curriculum: Curriculum, best: BestLadder, *, names: Names | None = None) -> str:
    """What no rung of a best ladder proves, in words; empty when it proves everything."""
    if not best.unproved:
        return ""
    unproved = techniques_listed(names or Names(curriculum=curriculum), best.unproved)
    return curriculum.say("No rung of it proves {techniques}: a person must watch.", techniques=unproved)


def why_none(curriculum: Curriculum, none: NoLadder, *, names: Names | None = None) -> str:
    """Why no ladder over the owned trainers keeps the rules."""
    names, say = names or Names(curriculum=curriculum), curriculum.say
    if none.false:
        reasons = [
            say(
                "{trainer} gives {techniques}",
                trainer=trainer_name(names, trainer),
                techniques=techniques_listed(names, false),
            )
            for trainer, false in none.false
        ]
        return say(
            "No ladder keeps the rules: {reasons}, and no owned trainer of no higher wear can earn that first.",
            reasons=say("; ").join(reasons),
        )
    skill = curriculum.skills[none.skill]
    able = [
        (id, items)
        for id, items in none.refused
        if all(stands_for(curriculum.trainers[id], skill, step) for step in skill.steps)
    ]
    if not able:
        return say("No ladder keeps the rules: no owned trainer stands for this skill's patients.")
    nearest, items = min(able, key=lambda pair: len(pair[1]))
    return say(
        "No ladder keeps the rules: no owned trainer takes the whole skill. Nearest is {trainer}, which does not "
        "accept {equipment}.",
        trainer=trainer_name(names, nearest),
        equipment=listed([names.name("equipment", id) for id in items], say),
    )


def difference(curriculum: Curriculum, found: Comparison) -> str:
    """The written ladder against the best one, in words."""
    if not isinstance(found.best, BestLadder) or found.rungs_more is None:
        return ""
    parts = [
        _more_rungs(curriculum, found.rungs_more),
        _more_money(curriculum, found.wear_more or Fraction(0)),
        _more_minutes(curriculum, found.setup_minutes_more or 0),
    ]
    cost = curriculum.say("The written ladder takes {costs}.", costs=listed(parts, curriculum.say))
    if not found.exposure:
        return f"{cost} {curriculum.say('It reassures falsely nowhere.')}"
    met = curriculum.many(
        found.exposure,
        "It meets a technique once where the result is given, before it was earned.",
        "It meets a technique {count} times where the result is given, before it was earned.",
    )
    return f"{cost} {met}"


def _more_rungs(curriculum: Curriculum, amount: int) -> str:
    if amount == 0:
        return curriculum.say("no more rungs")
    if amount > 0:
        return curriculum.many(amount, "{count} more rung", "{count} more rungs")
    return curriculum.many(-amount, "{count} fewer rung", "{count} fewer rungs")


def _more_money(curriculum: Curriculum, amount: Fraction) -> str:
    if amount == 0:
        return curriculum.say("no more wear")
    return curriculum.say(
        "{money} more wear for one attempt on each rung"
        if amount > 0
        else "{money} less wear for one attempt on each rung",
        money=money(curriculum, abs(amount)),
    )


def _more_minutes(curriculum: Curriculum, amount: int) -> str:
    if amount == 0:
        return curriculum.say("no more minutes of setting up")
    if amount > 0:
        return curriculum.many(amount, "{count} more minute of setting up", "{count} more minutes of setting up")
    return curriculum.many(-amount, "{count} fewer minute of setting up", "{count} fewer minutes of setting up")


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


def _after_shown(curriculum: Curriculum, trainer: str, technique: str, sentence: str) -> str:
    """A sentence after what the trainer shows, which is a sentence of its own."""
    record = curriculum.trainers.get(trainer)
    feedback = record.feedback.get(technique) if record else None
    return f"{feedback.shows.rstrip('. ')}. {sentence}" if feedback else sentence


def _step(names: Names, finding: Finding) -> str:
    return names.at_step(f"{finding.skill}/{finding.step or ''}")


def _numbers(curriculum: Curriculum, groups: Sequence[int]) -> str:
    return listed([str(group) for group in groups], curriculum.say)


def _attempt(curriculum: Curriculum, trainer: str) -> str:
    return money(curriculum, cost_per_attempt(curriculum.trainers[trainer]))
