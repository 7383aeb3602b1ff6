"""How hard a text is to read: the Flesch-Kincaid grade, the school year in the United States that it asks for.

Grade = 0.39 × words per sentence + 11.8 × syllables per word − 15.59 (Kincaid, Fishburne, Rogers and Chissom, 1975).
Syllables are counted by a rule of spelling, stated below, so that no word list has to be carried along. On the words of
this handbook's steps the rule agrees with a pronouncing dictionary of American English for 99 in 100 running words, and
the sum is out by less than 1 in 100. The grade knows nothing of sense: use it to find long words, not to praise a text.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import lru_cache

from generator.analysis.wording import fill
from generator.model import Quantity, Skill

_WORD = re.compile(r"[A-Za-z]+(?:['’][a-z]+)*|\d[\d.,:–]*")
_SENTENCE_END = re.compile(r"(?<![.!?])[.!?]++(?=\s|$)")
_VOWELS = re.compile(r"[aeiouy]+")
_SILENT = re.compile(
    r"(?<=[^aeiouyl])e$|(?<=[aeiouy]l)e$|(?<=[gq]u)e$"  # seal the hole, tongue; but needle
    r"|(?<=[^aeiouytdl])e(?=d$)|(?<=[aeiouyl]l)e(?=d$)"  # pressed, called; but lifted, settled
    r"|(?<=[^aeiouysxzcghl])e(?=s$)|(?<=[aeiouyl]l)e(?=s$)|(?<=th)e(?=s$)"  # takes, breathes; but nurses, nipples
    r"|(?<=[^aeiouyl])e(?=(?:ment|ness|less|ful|ly)s?$)"  # movement, safely
)
_APART = re.compile(
    r"(?<![tscxg])i[ao](?!u)|eo(?!u)|(?<![qg])ua(?!r)|iu|[aeo](?=ing$)|ue[nl]|(?<![ct])ie[nt]|ui(?=d)|ayer"
)
"""Vowels side by side that are said one after the other: airiest, area, fluid, layer."""


@lru_cache(maxsize=8192)
def syllables(word: str) -> int:
    """Syllables of an English word by its spelling: groups of vowels, less silent e, more where two vowels part.

    At least 1. A number counts 1, whatever its length.
    """
    letters = re.sub(r"[^a-z]", "", word.lower())
    count = len(_VOWELS.findall(letters)) - len(_SILENT.findall(letters)) + len(_APART.findall(letters))
    return max(count, 1)


def grade(texts: Iterable[str]) -> float | None:
    """The Flesch-Kincaid grade of texts taken together; each holds one sentence or more. None without a word.

    Very short sentences of very short words come out under 0.
    """
    words: list[str] = []
    sentences = 0
    for text in texts:
        for sentence in _SENTENCE_END.split(text):
            found = _WORD.findall(sentence)
            words += found
            sentences += bool(found)
    if not words:
        return None
    return 0.39 * len(words) / sentences + 11.8 * sum(map(syllables, words)) / len(words) - 15.59


def grade_of_steps(skill: Skill, quantities: Mapping[str, Quantity]) -> float | None:
    """The grade of what is read between two movements: each step's `do` and `see`, as they are printed."""
    return grade(fill(text, quantities) for step in skill.steps for text in (step.do, step.see) if text)


def hardest_step(skill: Skill, quantities: Mapping[str, Quantity]) -> int:
    """The place of the step that reads hardest, from 0; the first of equals."""
    grades = [grade(fill(text, quantities) for text in (step.do, step.see) if text) or -1000.0 for step in skill.steps]
    return grades.index(max(grades))
