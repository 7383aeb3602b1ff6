"""Where everything is used: worked out once for all pages."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import TypeVar

from generator.analysis.addresses import OUTCOMES_PAGE, skill_page, trainer_page
from generator.analysis.once import once_each
from generator.analysis.wording import mentioned, words_of
from generator.model import Curriculum, RungPlan, Skill, Term
from generator.model.base import Record

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Use:
    """A place in the handbook: its page (docs-relative, with an anchor where it has one) and its words."""

    words: str
    page: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Uses:
    """The handbook's cross-references, each by id."""

    source_numbers: Mapping[str, int]
    """The number each known source is cited by: the order of first use, unused ones last."""
    sources: Mapping[str, tuple[Use, ...]]
    quantities: Mapping[str, tuple[Use, ...]]
    trainers: Mapping[str, tuple[tuple[Skill, RungPlan], ...]]
    equipment: Mapping[str, tuple[Skill, ...]]
    techniques: Mapping[str, tuple[Skill, ...]]


def skills_in_order(curriculum: Curriculum) -> tuple[Skill, ...]:
    """All skills by strand as the program lists them, then by title; strands it does not list come last."""
    known = [strand.id for strand in curriculum.program.strands]
    return tuple(
        sorted(
            curriculum.skills.values(),
            key=lambda s: (known.index(s.strand) if s.strand in known else len(known), s.strand, s.title, s.id),
        )
    )


def uses_of(curriculum: Curriculum) -> Uses:
    """All cross-references of a curriculum; unknown ids are left out."""
    skills = skills_in_order(curriculum)
    citing = [*_citations(curriculum, skills), *_citations_of_numbers(curriculum), *_citations_of_standards(curriculum)]
    cited = _unique(id for id, _ in citing if id in curriculum.sources)
    rest = [id for id in curriculum.sources if id not in set(cited)]
    return Uses(
        source_numbers={id: number for number, id in enumerate([*cited, *rest], start=1)},
        sources=_gathered(citing),
        quantities=_gathered(_uses_of_numbers(curriculum, skills)),
        trainers=_grouped(curriculum.trainers, ((plan.trainer, (s, plan)) for s in skills for plan in s.ladder)),
        equipment=_grouped(
            curriculum.equipment,
            ((id, s) for s in skills for id in {*s.equipment, *(id for step in s.steps for id in step.uses)}),
        ),
        techniques=_grouped(
            curriculum.techniques, ((id, s) for s in skills for id in {id for step in s.steps for id in step.rests_on})
        ),
    )


def _citations(curriculum: Curriculum, skills: Iterable[Skill]) -> Iterator[tuple[str, Use]]:
    for skill in skills:
        page = skill_page(skill)
        for caution in skill.cautions:
            for id in caution.evidence:
                yield id, Use(words=curriculum.say("{skill}: cautions", skill=skill.title), page=f"{page}#cautions")
        for number, step in enumerate(skill.steps, start=1):
            for id in step.evidence:
                yield (
                    id,
                    Use(
                        words=curriculum.say("{skill}: step {number}", skill=skill.title, number=number),
                        page=f"{page}#step-{step.id}",
                    ),
                )
        for id in (*skill.levels_evidence, *skill.evidence):
            yield id, Use(words=skill.title, page=f"{page}#evidence")


def _citations_of_numbers(curriculum: Curriculum) -> Iterator[tuple[str, Use]]:
    for id, quantity in curriculum.quantities.items():
        for source in (*quantity.sources, *(view.source for view in quantity.others if view.source)):
            yield source, Use(words=curriculum.say("Number: {name}", name=quantity.name), page=f"numbers.md#{id}")


def _citations_of_standards(curriculum: Curriculum) -> Iterator[tuple[str, Use]]:
    for standard in curriculum.standards.values():
        yield (
            standard.source,
            Use(words=curriculum.say("Outcomes: {title}", title=standard.title), page=f"{OUTCOMES_PAGE}#{standard.id}"),
        )


def _uses_of_numbers(curriculum: Curriculum, skills: Iterable[Skill]) -> Iterator[tuple[str, Use]]:
    for skill in skills:
        page = skill_page(skill)
        for number, step in enumerate(skill.steps, start=1):
            use = Use(
                words=curriculum.say("{skill}: step {number}", skill=skill.title, number=number),
                page=f"{page}#step-{step.id}",
            )
            for id in (*_mentions(step), *((step.pace,) if step.pace else ())):
                yield id, use
        for id in _mentions_elsewhere(skill):
            yield id, Use(words=skill.title, page=page)
    for trainer in curriculum.trainers.values():
        for id in _mentions(trainer):
            yield id, Use(words=curriculum.say("Trainer: {name}", name=trainer.name), page=trainer_page(trainer))
    for standard in curriculum.standards.values():
        for id in _mentions(standard):
            yield (
                id,
                Use(
                    words=curriculum.say("Outcomes: {title}", title=standard.title),
                    page=f"{OUTCOMES_PAGE}#{standard.id}",
                ),
            )


@once_each
def _mentions(record: Record) -> tuple[str, ...]:
    return tuple(id for text in words_of(record) for id in mentioned(text))


@once_each
def _mentions_elsewhere(skill: Skill) -> tuple[str, ...]:
    """What a skill mentions outside its steps."""
    return tuple(id for text in words_of(skill.model_copy(update={"steps": ()})) for id in mentioned(text))


def _gathered(pairs: Iterable[tuple[str, Use]]) -> dict[str, tuple[Use, ...]]:
    found: dict[str, dict[Use, None]] = {}
    for id, use in pairs:
        found.setdefault(id, {})[use] = None
    return {id: tuple(uses) for id, uses in found.items()}


def _grouped(known: Iterable[str], pairs: Iterable[tuple[str, T]]) -> dict[str, tuple[T, ...]]:
    """What goes with each of some ids, in order. One walk for all of them: there are more ids the more skills."""
    found: dict[str, list[T]] = {id: [] for id in known}
    for id, value in pairs:
        if id in found:
            found[id].append(value)
    return {id: tuple(values) for id, values in found.items()}


def _unique(ids: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(ids))


Names = tuple[tuple[str, ...], ...]
"""The names of each term: its own and its synonyms."""


def names_of(terms: Iterable[Term]) -> Names:
    """What `terms_in` looks for."""
    return tuple((term.term, *term.also) for term in terms)


def terms_in(words: Iterable[str], names: Names) -> frozenset[str]:
    """Those of the terms of which any of some texts holds a name as whole words."""
    index = _index(names)
    text = " ".join(words).casefold()
    firsts = {"", *_WORDS.findall(text)} & index.keys()
    return frozenset(term for first in firsts for term, words in index[first] if _has_whole(text, words))


def _has_whole(text: str, words: str) -> bool:
    """Whether a text holds words that no letter, digit or underline runs into. A pattern for it takes ten times as
    long: it tries every place of the text."""
    start = text.find(words)
    while start >= 0:
        end = start + len(words)
        if not _WORDS.fullmatch(text[start - 1 : start]) and not _WORDS.fullmatch(text[end : end + 1]):
            return True
        start = text.find(words, start + 1)
    return False


@cache
def finder_of(names: Names) -> Callable[[Skill], frozenset[str]]:
    """A function that finds terms anywhere in a skill."""
    return once_each(lambda skill: terms_in(words_of(skill), names))


_WORDS = re.compile(r"\w+")


@cache
def _index(names: Names) -> dict[str, list[tuple[str, str]]]:
    """Terms by the first word of each of their names, so that few are looked for in a text."""
    index: dict[str, list[tuple[str, str]]] = {}
    for term, *others in names:
        for name in (term, *others):
            words = name.casefold()
            first = _WORDS.search(words)
            index.setdefault(first[0] if first else "", []).append((term, words))
    return index
