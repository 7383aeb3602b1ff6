"""A glossary synonym where the handbook's own text should use the term.

Why: one thing with two names makes a learner look for two things, and two evaluators ask for different ones. The
glossary's `also` words are for the search: they lead a reader who knows the thing by another name to ours.

To put it right: write the glossary's own term. Left alone are titles, `also_called`, other bodies' words, a synonym
that only shortens its term (`scoop` for `scoop stretcher`), and one that stands in the name of a trainer, a technique
or a piece of equipment: there it is that thing's name.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from itertools import islice
from typing import NamedTuple

from generator.checks.support.kept import kept
from generator.checks.support.texts import passages
from generator.diagnostics import Problem, Related, Severity
from generator.model import Curriculum, Term

RULE = "writing-name"

READ = frozenset({"skill", "station", "lab", "trainer", "technique", "scenario"})
"""Kinds whose text learners and instructors read; quantities and standards restate what others say."""
NOT_OURS = frozenset(
    {"title", "name", "also_called", "others", "disagreements", "provisional", "levels_provisional", "reviewed"}
)
_WORD = re.compile(r"[^\W_][\w’'-]*(?<![’'-])")

Words = tuple[str, ...]


class Name(NamedTuple):
    """A name for a thing: as it is typed, its words in small letters, and the term to write, if it is not ours."""

    typed: str
    words: Words
    instead_of: Term | None


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each synonym in the text of a skill, station, lab day, trainer, technique or scenario."""
    names = _names(curriculum)
    if not names:
        return
    for passage in passages(curriculum):
        if passage.kind not in READ or not NOT_OURS.isdisjoint(passage.path):
            continue
        for found, term in _synonyms(passage.text, names):
            yield Problem(
                location=passage.at(curriculum),
                rule=RULE,
                message=f"“{found}” is a second name for “{term.term}”.",
                remedy=f"Write “{term.term}”; the search finds it by the other name too.",
                severity=Severity.WARNING,
                related=(Related(location=curriculum.at("term", term.term), message="the glossary's entry is here"),),
            )


def _synonyms(text: str, names: dict[str, tuple[Name, ...]]) -> Iterator[tuple[str, Term]]:
    """Synonyms in a text, longest first; words inside a longer name of the glossary are passed over with it."""
    # Letters of some alphabets change their number or their place in a word as they become small.
    small = _WORD.findall(text.lower()) if text.isascii() else [word.lower() for word in _WORD.findall(text)]
    if names.keys().isdisjoint(small):
        return
    passed = 0
    for place in [place for place, word in enumerate(small) if word in names]:
        if place < passed:
            continue
        for name in names[small[place]]:
            end = place + len(name.words)
            if tuple(small[place:end]) != name.words:
                continue
            if name.instead_of is not None or _is_abbreviation(name.typed):
                typed = _between(text, place, end - 1)
                if _is_abbreviation(name.typed) and not typed.startswith(name.typed):
                    continue
                if name.instead_of is not None:
                    yield typed, name.instead_of
            passed = end
            break


def _between(text: str, first: int, last: int) -> str:
    """From one word of a text to another, both counted from 0. Few words begin a name, so places are found late."""
    places = [match.span() for match in islice(_WORD.finditer(text), last + 1)]
    return text[places[first][0] : places[last][1]]


@kept
def _names(curriculum: Curriculum) -> dict[str, tuple[Name, ...]]:
    """First word → the glossary's names that begin with it, plurals too, longest first."""
    named = " | ".join(
        " ".join(_words(record.name))
        for group in (curriculum.equipment, curriculum.trainers, curriculum.techniques)
        for record in group.values()
    )
    terms = {_words(term.term) for term in curriculum.terms}
    found: dict[Words, Name] = {}
    for term in curriculum.terms:
        for typed in (term.term, *term.also):
            words = _words(typed)
            is_ours = (
                words in terms
                or set(words) <= set(_words(term.term))
                or re.search(rf"\b{re.escape(' '.join(words))}\b", named) is not None
            )
            for ending in ("", "s", "es"):
                form = (*words[:-1], words[-1] + ending) if words else ()
                if form and (is_ours or form not in found):
                    found[form] = Name(typed, form, None if is_ours else term)
    index: dict[str, list[Name]] = {}
    for name in found.values():
        index.setdefault(name.words[0], []).append(name)
    return {
        first: tuple(sorted(names, key=lambda name: len(name.words), reverse=True)) for first, names in index.items()
    }


def _words(text: str) -> Words:
    return tuple(match[0].lower() for match in _WORD.finditer(text))


def _is_abbreviation(name: str) -> bool:
    return any(letter.isupper() for letter in name[1:])
