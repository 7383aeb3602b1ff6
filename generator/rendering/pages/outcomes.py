"""The page of published outcomes: what each list asks, which skill meets it at which level, and what nobody covers."""

from __future__ import annotations

from dataclasses import dataclass

from generator.analysis.addresses import OUTCOMES_PAGE
from generator.analysis.outcomes import Coverage, coverage
from generator.analysis.phrases import fixed
from generator.model import Curriculum, Skill, Standard
from generator.rendering.pages.uses import skills_in_order
from generator.rendering.pages.writing import Handbook, Writer
from generator.rendering.tables.outcomes import OUTCOMES_PATH

YES, NO, NOT_ASKED = fixed("yes"), fixed("no"), fixed("not asked")


@dataclass(frozen=True, slots=True, kw_only=True)
class OutcomeRow:
    """One outcome with a word for each level of the program."""

    found: Coverage
    cells: tuple[str, ...]


def outcomes_markdown(book: Handbook) -> str:
    """The page; a program that follows no list has none."""
    curriculum = book.curriculum
    found = coverage(curriculum)
    named = {skill.id for one in found for skill in one.skills}
    uncovered = tuple(one for one in found if not one.is_covered)
    writer, say = Writer(book=book, page=OUTCOMES_PAGE), curriculum.say
    return writer.write(
        "outcomes.md.j2",
        title=say("Outcomes"),
        meta={"hide": ["navigation", "toc"], "search": {"boost": 0.5}},
        lists=tuple((standard, rows_of(curriculum, standard, found)) for standard in curriculum.standards.values()),
        uncovered=uncovered,
        uncovered_says=curriculum.many(
            len(uncovered),
            "{count} of these outcomes is not covered, or not at every level.",
            "{count} of these outcomes are not covered, or not at every level.",
        ),
        region=lambda standard: say("Outcomes of {title}", title=standard.title),
        caption=lambda standard: say("Outcomes of {title} against levels and skills", title=standard.title),
        by_skill=_by_skill(curriculum, found),
        unnamed=tuple(s for s in skills_in_order(curriculum) if s.id not in named),
        csv=OUTCOMES_PATH,
        in_words=lambda levels: ", ".join(writer.named("level", level) for level in levels),
        short_levels=lambda skill: ", ".join(writer.short("level", level) for level in skill.levels),
    )


def rows_of(curriculum: Curriculum, standard: Standard, found: tuple[Coverage, ...]) -> tuple[OutcomeRow, ...]:
    """The rows of one list."""
    return tuple(
        OutcomeRow(found=one, cells=tuple(_word(one, level.id) for level in curriculum.program.levels))
        for one in found
        if one.standard is standard
    )


def _word(found: Coverage, level: str) -> str:
    cover = next((cover for cover in found.levels if cover.level == level), None)
    if cover is None:
        return NOT_ASKED if found.levels else NO
    return YES if cover.is_covered else NO


def _by_skill(curriculum: Curriculum, found: tuple[Coverage, ...]) -> tuple[tuple[Skill, tuple[Coverage, ...]], ...]:
    met: dict[str, list[Coverage]] = {}
    for one in found:
        for skill in one.skills:
            met.setdefault(skill.id, []).append(one)
    return tuple((skill, tuple(met[skill.id])) for skill in skills_in_order(curriculum) if skill.id in met)
