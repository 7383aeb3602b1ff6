"""The lines that sheets are made of: steps, cautions, doubts, local rules, paces, rungs."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from generator.analysis.wording import beat_of, fill, mentioned, pieces, ranges, says
from generator.model import Caution, Curriculum, Named, RungPlan, Skill, Step
from generator.rendering.directions import OPEN, SHUT
from generator.rendering.sheets import words
from generator.rendering.sheets.deciding import passing

MUST_KNOW = 3
"""A must-know box holds fewer than 4 items (CAP 676)."""

Fill = Callable[[str], str]


def of_skill(curriculum: Curriculum, skill: Skill, *, with_why: bool) -> dict[str, Any]:
    """The part that checklist and practice card share. `with_why` adds the reason to each caution."""
    order = list(words.CAUTION_LEVELS)
    worst = sorted(skill.cautions, key=lambda caution: order.index(caution.level))
    more = len(worst) - MUST_KNOW
    return {
        "must_know": [_caution(curriculum, caution, with_why) for caution in worst[:MUST_KNOW]],
        "more_cautions": curriculum.many(
            more, "The page holds {count} more caution.", "The page holds {count} more cautions."
        )
        if more > 0
        else None,
        "local": local_rules(curriculum, skill, None),
    }


def step_of(curriculum: Curriculum, skill: Skill, number: int, step: Step, *, is_evaluator: bool) -> dict[str, Any]:
    """One step as both sheets print it. `is_evaluator` lets in what only an evaluator reads."""
    text = filler(curriculum)
    populations = [curriculum.name_of(curriculum.program.populations, id) for id in step.populations]
    cues = [text for error in step.errors for text in (error.error, error.cue)]
    printed = [step.do, *([step.see or ""] if is_evaluator else cues)]
    numbers = list(quantities_of(*printed))
    if step.pace and not is_evaluator and step.pace not in numbers:
        numbers.append(step.pace)
    return {
        "id": step.id,
        "number": number,
        "do": text(step.do),
        "by": curriculum.name_of(skill.roles, step.by) if step.by else None,
        "only": curriculum.say("{who} only", who=", ".join(populations)) if populations else None,
        "critical": step.critical,
        "local": local_rules(curriculum, skill, step.id),
        "provisional": doubts_of(curriculum, step, numbers),
        # A step that could fill most of a page may run over it; every other step stays whole.
        "long": len(step.do) + len(step.see or "") + len(step.provisional or "") > 800 or len("".join(cues)) > 450,
    } | ({"see": text(step.see) if step.see else None} if is_evaluator else {})


def local_rules(curriculum: Curriculum, skill: Skill, step: str | None) -> list[str]:
    """Local rules of a skill (step None) or of one of its steps, each with the role that made it."""
    if curriculum.local is None:
        return []
    text = filler(curriculum)
    lines = []
    for rule in curriculum.local.rules:
        if rule.skill != skill.id or rule.step != step:
            continue
        levels = ", ".join(short_of(curriculum.program.levels, level) for level in rule.levels)
        only = curriculum.say(" Here only: {levels}.", levels=levels) if levels else ""
        lines.append(f"{text(rule.rule)}{only} ({curriculum.local.authority})")
    return lines


def doubts_of(curriculum: Curriculum, step: Step, numbers: Sequence[str]) -> list[str]:
    """What about a step could not be confirmed: its own remark, then numbers that are from memory."""
    doubts = [filler(curriculum)(step.provisional)] if step.provisional else []
    for id in numbers:
        quantity = curriculum.quantities.get(id)
        if quantity and quantity.checked == "memory":
            number = f"{quantity.name} ({says(quantity, curriculum.say)})"
            doubts.append(curriculum.say("{number} is from memory, not yet checked in a source.", number=number))
    return doubts


def quantities_of(*texts: str) -> tuple[str, ...]:
    """Quantities that some texts name, each once, in order."""
    return tuple(dict.fromkeys(id for text in texts for id in mentioned(text)))


def other_views(curriculum: Curriculum, skill: Skill) -> list[str]:
    """What other bodies say about the numbers of a skill, with their year."""
    lines: dict[str, None] = {}
    for id in quantities_of(*(text for step in skill.steps for text in (step.do, step.see or ""))):
        quantity = curriculum.quantities.get(id)
        for other in quantity.others if quantity else ():
            doubt = curriculum.say(" (from memory, not yet checked in a source)") if other.checked == "memory" else ""
            theirs = f"{other.says}{doubt}"
            line = curriculum.say(
                "{number}: {value} here; {body} ({year}) says {theirs}.",
                number=quantity.name if quantity else "",
                value=says(quantity, curriculum.say) if quantity else "",
                body=other.body,
                year=other.year,
                theirs=theirs,
            )
            lines[line] = None
    return list(lines)


def pace_of(curriculum: Curriculum, step: Step) -> list[dict[str, Any]]:
    """The pace of a step as a list of none or one: name, words of the number, words to count aloud."""
    quantity = curriculum.quantities.get(step.pace) if step.pace else None
    if quantity is None:
        return []
    beat = beat_of(quantity, curriculum.say)
    said = says(quantity, curriculum.say)
    return [{"name": quantity.name, "says": said, "words": list(beat.words) if beat else []}]


def rung_of(curriculum: Curriculum, skill: Skill, plan: RungPlan) -> str:
    """A rung on one line: its trainer, the steps practised there, when it is passed."""
    numbers = [number for number, step in enumerate(skill.steps, 1) if step.id in plan.steps]
    only = (
        curriculum.say(" Steps {numbers} only.", numbers=ranges(numbers, curriculum.say))
        if numbers and len(numbers) < len(skill.steps)
        else ""
    )
    return f"{trainer_of(curriculum, plan)}.{only} {passing(curriculum, plan.pass_rule)}"


def trainer_of(curriculum: Curriculum, plan: RungPlan) -> str:
    """The name of a rung's trainer, or its id when it is unknown."""
    trainer = curriculum.trainers.get(plan.trainer)
    return trainer.name if trainer else plan.trainer


def item_of(curriculum: Curriculum, id: str) -> str:
    """The name of a piece of equipment, or its id when it is unknown."""
    item = curriculum.equipment.get(id)
    return item.name if item else id


def short_of(named: Sequence[Named], id: str) -> str:
    """The short name of a level, or its id when it is unknown."""
    return next((one.short or one.name for one in named if one.id == id), id)


def _caution(curriculum: Curriculum, caution: Caution, with_why: bool) -> dict[str, str | None]:
    text = filler(curriculum)
    known = [curriculum.quantities.get(id) for id in quantities_of(caution.what, caution.why if with_why else "")]
    is_doubtful = any(quantity and quantity.checked == "memory" for quantity in known)
    doubt = curriculum.say(", provisional") if is_doubtful else ""
    basis = curriculum.say(words.COMMON_PRACTICE) if caution.basis == "common practice" else ""
    return {
        "level": caution.level,
        "word": curriculum.say(words.CAUTION_LEVELS[caution.level]) + basis + doubt,
        "what": text(caution.what),
        "why": text(caution.why) if with_why else None,
    }


def filler(curriculum: Curriculum) -> Fill:
    """How this curriculum's texts are filled with its numbers."""

    def filled(text: str) -> str:
        if not text.startswith(OPEN):
            return fill(text, curriculum)
        # The words around a number may be in another language than the text that names it.
        found = pieces(text, curriculum)
        return "".join(piece if isinstance(piece, str) else f"{OPEN}{piece.text}{SHUT}" for piece in found)

    return filled
