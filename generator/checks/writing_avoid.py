"""A word that the glossary says to avoid.

Why: one thing with two names makes a learner look for two things, and search finds only half.

To put it right: write the glossary's own term instead. A longer term of the glossary that holds the word is fine.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date

from generator.checks.support.prose import without_code
from generator.checks.support.texts import passages, prose_at
from generator.diagnostics import Location, Problem, Related, Severity
from generator.model import Curriculum, Term

RULE = "writing-avoid"

NOT_OURS = frozenset({"also_called", "others", "disagreements"})
"""Fields that hold other people's words."""


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each avoided word in a record's text or on a prose page, the glossary itself left out."""
    terms = {word.lower(): term for term in curriculum.terms for word in term.avoid}
    if not terms:
        return
    pattern = _pattern(terms, curriculum.terms)
    ours = [passage for passage in passages(curriculum) if passage.kind != "term" and passage.path[0] not in NOT_OURS]
    # The cheap looks first: most avoided words stand nowhere, and most texts hold none of the others.
    everything = "\n".join(passage.text for passage in ours).lower()
    words = tuple(word for word in terms if word in everything)
    for passage in ours if words else ():
        lowered = passage.text.lower()
        if not any(word in lowered for word in words):
            continue
        for match in pattern.finditer(passage.text):
            if match["avoid"]:
                yield _problem(curriculum, passage.at(curriculum), match["avoid"], terms)
    for path, text in curriculum.prose.items():
        for match in pattern.finditer(without_code(text)):
            if match["avoid"]:
                yield _problem(curriculum, prose_at(curriculum, path, match.start()), match["avoid"], terms)


def _pattern(avoid: dict[str, Term], terms: tuple[Term, ...]) -> re.Pattern[str]:
    """Avoided words with an optional plural, unless they stand inside a longer word or a longer term."""
    words = "|".join(re.escape(word) for word in sorted(avoid, key=len, reverse=True))
    longer = sorted(
        {
            name.lower()
            for term in terms
            for name in (term.term, *term.also)
            if any(word in name.lower() and word != name.lower() for word in avoid)
        },
        key=len,
        reverse=True,
    )
    kept = "|".join(re.escape(name) for name in longer)
    before, after = r"(?<![\w-])", r"(?:es|s)?(?![\w-])"
    allowed = f"{before}(?:{kept}){after}|" if kept else ""
    return re.compile(f"{allowed}{before}(?P<avoid>{words}){after}", re.IGNORECASE)


def _problem(curriculum: Curriculum, location: Location, word: str, terms: dict[str, Term]) -> Problem:
    term = terms[word.lower()]
    return Problem(
        location=location,
        rule=RULE,
        message=f"“{word}” is a word that the glossary says to avoid.",
        remedy=f"Write “{term.term}”.",
        severity=Severity.WARNING,
        related=(Related(location=curriculum.at("term", term.term), message="the glossary's entry is here"),),
    )
