"""What the lab cannot teach honestly, the cheapest way to close it, and what each trainer's absence would cost."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from generator.analysis.absence import Absence
from generator.analysis.addresses import GAPS_PAGE
from generator.analysis.explain_gaps import absence_lines, gap_lead, gaps_verdict, touched_sentence
from generator.analysis.gaps import Gaps
from generator.analysis.names import PageNames
from generator.analysis.phrases import listed, money
from generator.model import Curriculum
from generator.rendering.pages.writing import Handbook, Writer


@dataclass(frozen=True, slots=True, kw_only=True)
class GapView:
    """A technique without an honest trainer; `touches` are sentences."""

    technique: str
    name: str
    right: str
    lead: str
    touches: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class AbsenceView:
    """A trainer whose absence would be felt."""

    trainer: str
    mark: str
    verdict: str
    lines: tuple[str, ...]


def gaps_markdown(book: Handbook) -> str:
    """The page of the gaps."""
    curriculum, gaps = book.curriculum, book.analysis.gaps
    writer = Writer(book=book, page=GAPS_PAGE)

    def priced(amount: Decimal) -> str:
        return money(curriculum, amount)

    def price(trainer: str) -> Decimal:
        return curriculum.trainers[trainer].wear.purchase

    felt = tuple(absence for absence in book.analysis.absences if absence.lost or absence.opened)
    return writer.write(
        "gaps.md.j2",
        title=book.curriculum.say("Gaps"),
        meta={"search": {"boost": 0.3}},
        verdict=gaps_verdict(curriculum, gaps),
        gaps=tuple(_gaps(curriculum, gaps, writer.names)),
        cover=gaps.cover if gaps.cover.trainers else None,
        runner_up=gaps.runner_up,
        money=priced,
        price=price,
        absences=tuple(_absence(curriculum, absence, writer.names) for absence in felt),
        spared=_spared(book, [absence for absence in book.analysis.absences if absence not in felt], writer.names),
    )


def _gaps(curriculum: Curriculum, gaps: Gaps, names: PageNames) -> list[GapView]:
    found = []
    for gap in gaps.gaps:
        technique = curriculum.techniques.get(gap.technique)
        found.append(
            GapView(
                technique=gap.technique,
                name=technique.name if technique else gap.technique,
                right=technique.right if technique else "",
                lead=gap_lead(curriculum, gap, names=names),
                touches=tuple(touched_sentence(curriculum, touched, names=names) for touched in gap.touches),
            )
        )
    return found


def _absence(curriculum: Curriculum, absence: Absence, names: PageNames) -> AbsenceView:
    lost, opened = len(absence.lost), len({technique for technique, _ in absence.opened})
    parts = []
    if lost:
        parts.append(
            curriculum.many(lost, "{count} skill is left without a ladder", "{count} skills are left without a ladder")
        )
    if opened:
        parts.append(
            curriculum.many(
                opened,
                "{count} technique is left to a person's eye",
                "{count} techniques are left to a person's eye",
            )
        )
    return AbsenceView(
        trainer=absence.trainer,
        mark="critical" if lost else "warning",
        verdict=curriculum.say(", ").join(parts),
        lines=absence_lines(curriculum, absence, names=names),
    )


def _spared(book: Handbook, absences: list[Absence], names: PageNames) -> str:
    if not absences:
        return ""
    say = book.curriculum.say
    listing = listed((names.name("trainer", absence.trainer) for absence in absences), say)
    return say("Others can stand in for these, one at a time: {trainers}.", trainers=listing)
