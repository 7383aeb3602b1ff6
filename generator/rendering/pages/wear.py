"""What practice costs, how long it can go on, and what could be practised for less."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from generator.analysis.addresses import WEAR_PAGE
from generator.analysis.explain_gaps import saving_sentence, wear_sentence
from generator.analysis.phrases import listed, money
from generator.analysis.wear import TrainerWear
from generator.model import Curriculum
from generator.rendering.pages.writing import Handbook, Writer


@dataclass(frozen=True, slots=True, kw_only=True)
class WearRow:
    """One owned trainer, cells in the order of `_heads`."""

    trainer: str
    cells: tuple[str, ...]


def wear_markdown(book: Handbook) -> str:
    """The page of wear: owned trainers, the dearest attempt first."""
    curriculum, analysis = book.curriculum, book.analysis
    writer = Writer(book=book, page=WEAR_PAGE)
    owned = [wear for wear in analysis.wear if curriculum.trainers[wear.trainer].is_owned]
    owned.sort(key=lambda wear: -wear.cost_per_attempt)
    saved = sum((saving.saved for saving in analysis.savings), Fraction(0))
    attempts = sum(saving.attempts for saving in analysis.savings)
    bought = [wear.trainer for wear in analysis.wear if not curriculum.trainers[wear.trainer].is_owned]
    names = writer.names
    return writer.write(
        "wear.md.j2",
        title=book.curriculum.say("Wear"),
        meta={"search": {"boost": 0.3}},
        heads=_heads(curriculum.say),
        rows=tuple(WearRow(trainer=wear.trainer, cells=_cells(curriculum, wear)) for wear in owned),
        outs=tuple(wear_sentence(curriculum, wear, names=names) for wear in owned if wear.runs_out_at is not None),
        savings=tuple(saving_sentence(curriculum, saving, names=names) for saving in analysis.savings),
        saving_lead=curriculum.say(
            "{attempts} of the attempts planned on the costliest trainer would be answered as honestly elsewhere. "
            "Moved, they would save {money}.",
            attempts=attempts,
            money=money(curriculum, saved),
        ),
        level=f"{float(curriculum.program.spares_service_level):.0%}",
        bought=curriculum.say(
            "Not owned, so not worn: {trainers}.",
            trainers=listed((names.name("trainer", id) for id in bought), curriculum.say),
        )
        if bought
        else "",
    )


def _heads(say: Callable[[str], str]) -> tuple[str, ...]:
    return (
        say("An attempt"),
        say("Attempts planned"),
        say("Cost of those"),
        say("Attempts left"),
        say("Runs out"),
        say("Spares to hold"),
    )


def _cells(curriculum: Curriculum, wear: TrainerWear) -> tuple[str, ...]:
    runs_out = curriculum.labs[wear.runs_out_at].title if wear.runs_out_at is not None else curriculum.say("not yet")
    return (
        money(curriculum, wear.cost_per_attempt).replace(" ", "\u00a0"),
        str(wear.planned) if wear.planned else curriculum.say("none"),
        money(curriculum, wear.planned_cost).replace(" ", "\u00a0") if wear.planned else curriculum.say("nothing"),
        curriculum.say("no end") if wear.life_left is None else f"{wear.life_left:,}",
        curriculum.say("does not wear out") if wear.life_left is None else runs_out,
        curriculum.say("no number is sure") if wear.spares is None else str(wear.spares),
    )


def wear_of_trainer(book: Handbook, trainer: str) -> str:
    """One sentence on a trainer's wear for its own page, made with a page's names."""
    writer = Writer(book=book, page=WEAR_PAGE)
    found = next(wear for wear in book.analysis.wear if wear.trainer == trainer)
    return wear_sentence(book.curriculum, found, names=writer.names)
