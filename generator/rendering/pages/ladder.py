"""The written ladder weighed: what breaks a rule, and the cheapest ladder that keeps them all beside it."""

from __future__ import annotations

from dataclasses import dataclass

from generator.analysis.explain import difference, message, remedy, rung_reason, unproved_sentence, why_none
from generator.analysis.feedback import Finding
from generator.analysis.ladders import BestLadder
from generator.analysis.names import PageNames
from generator.analysis.phrases import fixed
from generator.analysis.worth import WorthTable, skill_worth
from generator.model import Curriculum, Skill
from generator.rendering.pages.writing import Handbook
from generator.rendering.tables.worth import worth_path

_HEADINGS = {
    "honest-first": (fixed("Rewarded before it is right"), fixed("Rewarded before it is right, rung {number}")),
    "proof": (fixed("Nothing here proves it"), fixed("Nothing here proves it, rung {number}")),
    "fit": (fixed("It does not fit"), fixed("It does not fit, rung {number}")),
    "thrift": (fixed("Dear before cheap"), fixed("Dear before cheap, rung {number}")),
}
"""Rule → its heading, of a whole ladder and of one rung."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingView:
    """A rule that the written ladder breaks, with the reason or the remedy."""

    heading: str
    message: str
    remedy: str
    because: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class LadderView:
    """The written ladder beside the best one. Rungs are (name, words), from the lowest up."""

    mark: str
    verdict: str
    findings: tuple[FindingView, ...]
    lead: str
    written: tuple[tuple[str, str], ...]
    best: tuple[tuple[str, str], ...]
    same: tuple[tuple[str, str], ...]
    unproved: str
    same_unproved: str
    table: WorthTable
    csv: str


def ladder_view(book: Handbook, skill: Skill, names: PageNames) -> LadderView:
    """All that the page of a skill says about its ladder."""
    curriculum, found = book.curriculum, book.analysis.skills[skill.id]
    comparison = found.comparison
    best = comparison.best if isinstance(comparison.best, BestLadder) else None
    same = comparison.to_same_end
    if best is None or same is None or best.trainers in (same.trainers, comparison.written):
        same = None
    broken = [finding for finding in found.findings if not finding.is_excused]
    return LadderView(
        mark="critical" if broken else "earned",
        verdict=_verdict(curriculum, len(broken), len(found.findings) - len(broken), comparison.exposure),
        findings=tuple(_finding(curriculum, finding, names) for finding in found.findings),
        lead=_lead(curriculum, book, skill, names),
        written=tuple(
            (curriculum.name_of(curriculum.program.rungs, plan.rung), names.name("trainer", plan.trainer))
            for plan in skill.ladder
        ),
        best=_rungs(curriculum, best, names) if best else (),
        same=_rungs(curriculum, same, names) if same else (),
        unproved=unproved_sentence(curriculum, best, names=names) if best else "",
        same_unproved=unproved_sentence(curriculum, same, names=names) if same else "",
        table=skill_worth(curriculum, book.analysis.inventory, skill),
        csv=worth_path(skill.id),
    )


def _verdict(curriculum: Curriculum, broken: int, excused: int, exposure: int) -> str:
    many = curriculum.many
    if broken:
        return many(broken, "{count} rule is broken on this ladder", "{count} rules are broken on this ladder")
    if excused and exposure:
        return many(
            excused,
            "Keeps every rule, with {count} exception: its exceptions have a reason",
            "Keeps every rule, with {count} exceptions: its exceptions have a reason",
        )
    if excused:
        return many(
            excused,
            "Keeps every rule, with {count} exception: no technique is rewarded before it was earned",
            "Keeps every rule, with {count} exceptions: no technique is rewarded before it was earned",
        )
    return curriculum.say(
        "Keeps every rule: its exceptions have a reason"
        if exposure
        else "Keeps every rule: no technique is rewarded before it was earned"
    )


def _finding(curriculum: Curriculum, finding: Finding, names: PageNames) -> FindingView:
    whole, of_rung = _HEADINGS[finding.rule]
    return FindingView(
        heading=curriculum.say(whole) if finding.rung is None else curriculum.say(of_rung, number=finding.rung + 1),
        message=message(curriculum, finding, names=names),
        remedy=remedy(curriculum, finding, names=names),
        because=finding.because,
    )


def _lead(curriculum: Curriculum, book: Handbook, skill: Skill, names: PageNames) -> str:
    comparison = book.analysis.skills[skill.id].comparison
    if not isinstance(comparison.best, BestLadder):
        return why_none(curriculum, comparison.best, names=names)
    if comparison.written == comparison.best.trainers:
        return curriculum.say(
            "It is the cheapest ladder that keeps every rule. Nothing owned would do as well for less."
        )
    told = difference(curriculum, comparison)
    if comparison.weighted_more is not None and comparison.weighted_more <= 0:
        other = curriculum.say("Keeping every rule takes another ladder, and this one is no dearer for breaking some.")
        return f"{other} {told}"
    less = curriculum.say(
        "You could prove as much with less. The rest of the written ladder is worth its price for what feedback does "
        "not count: pressure, company, a whole run from start to end."
        if comparison.best.unproved
        else "You could prove every technique with less. The rest of the written ladder is worth its price for what "
        "feedback does not count: pressure, company, a whole run from start to end."
    )
    return f"{less} {told}".rstrip()


def _rungs(curriculum: Curriculum, best: BestLadder, names: PageNames) -> tuple[tuple[str, str], ...]:
    return tuple(
        (curriculum.say("Rung {number}", number=index + 1), rung_reason(curriculum, best, index, names=names))
        for index in range(len(best.rungs))
    )
