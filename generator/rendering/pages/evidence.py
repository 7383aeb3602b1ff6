"""Pages about what the handbook rests on: numbers, evidence, health."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from urllib.parse import quote, urlsplit

from generator.analysis.addresses import EVIDENCE_PAGE, HEALTH_PAGE, NUMBERS_PAGE, skill_page, trainer_page
from generator.analysis.currency import (
    Standing,
    age_in_years,
    newest_editions,
    review_due,
    standing,
    superseded_by,
)
from generator.analysis.phrases import Say, in_english
from generator.diagnostics import Problem, in_order
from generator.model import Curriculum, Source
from generator.rendering.pages.skill_figures import all_sources, figures_of
from generator.rendering.pages.uses import Use, skills_in_order
from generator.rendering.pages.writing import Handbook, Writer


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceView:
    """A source as the evidence page shows it."""

    source: Source
    number: int
    reference: str
    links: tuple[tuple[str, str], ...]
    """(address, words)."""
    flags: tuple[tuple[str, str], ...]
    """(shape, words) of what a reader should know before leaning on it."""
    newer: Source | None
    uses: tuple[Use, ...]


def numbers_markdown(book: Handbook) -> str:
    """Every cited number, one section each."""
    return Writer(book=book, page=NUMBERS_PAGE).write(
        "numbers.md.j2", title=book.curriculum.say("Numbers"), meta={"search": {"boost": 0.5}}
    )


def evidence_markdown(book: Handbook) -> str:
    """Every source by its number."""
    known, newest = book.curriculum.sources, _newest(book)
    views = (
        SourceView(
            source=known[id],
            number=number,
            reference=book.references[id],
            links=links_of(known[id], book.curriculum.say),
            flags=tuple(_flags(known[id], book)),
            newer=known.get(superseded_by(known[id], newest) or ""),
            uses=book.uses.sources.get(id, ()),
        )
        for id, number in book.uses.source_numbers.items()
    )
    return Writer(book=book, page=EVIDENCE_PAGE).write(
        "evidence.md.j2", title=book.curriculum.say("Evidence"), meta={"search": {"boost": 0.1}}, sources=tuple(views)
    )


def links_of(source: Source, say: Say = in_english) -> tuple[tuple[str, str], ...]:
    """Where to read a source; only web addresses, so that a typed-in `javascript:` goes nowhere."""
    links = []
    if source.DOI:
        links.append((f"https://doi.org/{quote(source.DOI, safe='/')}", "DOI"))
    if source.PMID and source.PMID.isdigit():
        links.append((f"https://pubmed.ncbi.nlm.nih.gov/{source.PMID}/", "PubMed"))
    if source.URL and urlsplit(source.URL).scheme in ("http", "https"):
        links.append((quote(source.URL, safe=":/?&=%#+,;@!~()"), say("Web page")))
    return tuple(links)


def _flags(source: Source, book: Handbook) -> Iterator[tuple[str, str]]:
    care, say = source.custom, book.curriculum.say
    state = standing(source, book.curriculum.program, _newest(book), today=book.today)
    age = age_in_years(source.issued, today=book.today) if source.issued else None
    if state is Standing.SUPERSEDED:
        yield "warning", say("superseded")
    elif state is Standing.OLD:
        yield "warning", say("{count} years old, not looked at since", count=age)
    elif state is Standing.UNDATED:
        yield "note", say("no date given")
    elif age is not None:
        yield (
            "note",
            (
                say("less than a year old")
                if age == 0
                else book.curriculum.many(age, "{count} year old", "{count} years old")
            ),
        )
    if care.reviewed:
        yield "note", say("looked at again on {date}", date=care.reviewed)
    if care.metadata != "primary":
        yield "provisional", say("this record is not yet checked against the source")
    if source.id not in book.uses.sources:
        yield "note", say("not used yet")


def health_markdown(book: Handbook, problems: Sequence[Problem]) -> str:
    """What faculty must look at."""
    curriculum = book.curriculum
    reviews = [
        (skill, due, due < book.today)
        for skill in skills_in_order(curriculum)
        for due in [review_due(skill.reviewed.on, every_months=curriculum.program.review_every_months)]
    ]
    reviews.sort(key=lambda row: row[1])
    provisional = tuple(_provisional(curriculum))
    old = tuple(_old(book))
    shown = in_order(problems)
    figures = figures_of(curriculum)
    return Writer(book=book, page=HEALTH_PAGE).write(
        "health.md.j2",
        title=book.curriculum.say("Health"),
        meta={"search": {"exclude": True}},
        problems=shown,
        reviews=tuple(reviews),
        provisional=provisional,
        old=old,
        figures=figures,
        sources_cited=all_sources(figures),
        counts=(
            (len(shown), curriculum.say("found by the checks"), "findings"),
            (sum(overdue for _, _, overdue in reviews), curriculum.say("reviews overdue"), "reviews"),
            (len(provisional), curriculum.say("provisional"), "provisional"),
            (len(old), curriculum.say("old or superseded sources in use"), "sources"),
        ),
    )


def _provisional(curriculum: Curriculum) -> Iterator[Use]:
    for id, quantity in curriculum.quantities.items():
        if quantity.checked == "memory":
            yield Use(words=curriculum.say("Number: {name}", name=quantity.name), page=f"numbers.md#{id}")
    for skill in skills_in_order(curriculum):
        if skill.levels_provisional:
            words = curriculum.say("{skill}: levels", skill=skill.title)
            yield Use(words=words, page=f"{skill_page(skill)}#before")
        for number, step in enumerate(skill.steps, start=1):
            if step.provisional:
                words = curriculum.say("{skill}: step {number}", skill=skill.title, number=number)
                yield Use(words=words, page=f"{skill_page(skill)}#step-{step.id}")
    for trainer in curriculum.trainers.values():
        if trainer.provisional:
            yield Use(words=curriculum.say("Trainer: {name}", name=trainer.name), page=trainer_page(trainer))


def _old(book: Handbook) -> Iterator[Use]:
    newest, say = _newest(book), book.curriculum.say
    for id in book.uses.source_numbers:
        source = book.curriculum.sources[id]
        state = standing(source, book.curriculum.program, newest, today=book.today)
        if id in book.uses.sources and state in (Standing.OLD, Standing.SUPERSEDED):
            words = say("{title} (old)" if state is Standing.OLD else "{title} (superseded)", title=source.title)
            yield Use(words=words, page=f"evidence.md#{id}")


def _newest(book: Handbook) -> dict[str, Source]:
    return newest_editions(book.curriculum.sources.values())
