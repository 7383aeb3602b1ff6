"""A number with a unit typed into a skill's or a technique's text.

Why: guidelines change numbers. A number that stands in one place is changed once, with its source; a typed one is
overlooked on some sheet.

To put it right: put the number into quantities.yaml and write its id in braces: `{breath-interval}`. Numbers without
a unit are fine, and so are those in `disagreements`, `provisional` notes and revisions.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from itertools import chain

from generator.analysis.wording import says
from generator.checks.support.texts import passages
from generator.diagnostics import Problem, Severity
from generator.model import Curriculum

RULE = "number-typed-in"

EXEMPT = frozenset({"disagreements", "revisions", "provisional", "levels_provisional", "also_called"})

WORDS = (
    "half|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|fifteen|twenty|thirty|forty|fifty|sixty|ninety|"
    "hundred"
)
LONG_UNITS = (
    r"seconds?|minutes?|hours?|days|weeks?|months|years|millimet(?:er|re)s?|centimet(?:er|re)s?|met(?:er|re)s?|"
    r"inch(?:es)?|feet|foot|millilit(?:er|re)s?|lit(?:er|re)s?|milligrams?|micrograms?|grams?|kilograms?|kilos?|pounds?|"
    r"percent|per ?cent|degrees?|joules?|times (?:a|per) minute|per minute"
)
SHORT_UNITS = (
    r"s|secs?|mins?|h|hrs?|mm|cm|m|in(?=[.,;)]|$)|ft|mL|ml|L|L/min|lpm|mg|mcg|µg|μg|g|kg|lbs?|mmHg|mm Hg|cmH2O|cm H2O|"
    r"kPa|psi|bpm|/min|J|Fr|mmol/L|mg/dL|mg/kg|mL/kg"
)

WORD_UNITS = "mm|cm|mL|kg|mg|mmHg|psi"
"""Short units that are clear after a number in words; `two m` or `one in` may be anything."""
NUMBERS = frozenset(word for typed in WORDS.split("|") for word in (typed, typed.capitalize()))
GAPS = '-(“"‘/'
"""What may stand before a number in words, besides a space."""
ANY_DIGIT = re.compile(r"\d")


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each typed number with a unit: the usual ones, and those that the curriculum's own quantities have."""
    own = {quantity.unit for quantity in curriculum.quantities.values() if quantity.unit}
    patterns = (_in_digits(own), _in_words(own))
    printed = {_same(says(quantity)): id for id, quantity in curriculum.quantities.items()}
    for passage in passages(curriculum):
        if passage.kind not in ("skill", "technique"):
            continue
        # Cheap looks first: most texts hold neither a digit nor a number in words.
        suits = (
            ANY_DIGIT.search(passage.text) is not None,
            _may_hold_words(passage.text),
        )
        if not any(suits) or passage.path[0] in EXEMPT or passage.field in EXEMPT:
            continue
        found = (pattern.finditer(passage.text) for pattern, may in zip(patterns, suits, strict=True) if may)
        for match in chain.from_iterable(found):
            yield Problem(
                location=passage.at(curriculum),
                rule=RULE,
                message=f"“{match[0].strip()}” is a number typed into the text.",
                remedy=_remedy(match[0].strip(), printed),
                severity=Severity.WARNING,
            )


def _may_hold_words(text: str) -> bool:
    for gap in GAPS:
        if gap in text:
            text = text.replace(gap, " ")
    return not NUMBERS.isdisjoint(text.split())


def _remedy(typed: str, printed: Mapping[str, str]) -> str:
    id = printed.get(_same(typed))
    if id:
        return f"Write `{{{id}}}`, which prints these words."
    return "Put it into quantities.yaml with its source and write its id in braces."


def _same(text: str) -> str:
    """Words and digits only, so that `6-second` and `6 seconds` are one."""
    parts = re.findall(r"[a-z%/°]+|[\d.]+", text.lower().replace("–", "-"))
    return " ".join(part.rstrip("s") for part in parts)


def _in_digits(own: Iterable[str]) -> re.Pattern[str]:
    """6 seconds, 100–120 per minute, 5 to 6 cm, 10-second, 20 %, 30°, 30:2."""
    units = "|".join((*_longest_first(unit for unit in own if re.search(r"\w$", unit)), LONG_UNITS, SHORT_UNITS))
    digits = r"\d+(?:[.,/]\d+)?"
    return re.compile(
        rf"(?<![\w.{{-]){digits}(?:\s*(?:-|–|to|or)\s*{digits})?(?:[\s-]?(?:{units})(?!\w)|\s?[%°])"
        r"|(?<![\w:])\d{1,2}:\d{1,2}(?![\w:])"
    )


def _in_words(own: Iterable[str]) -> re.Pattern[str]:
    """Six seconds, two to three minutes, half a minute."""
    long_enough = (unit for unit in own if re.fullmatch(r"[a-z ]{4,}", unit))
    units = "|".join((*_longest_first(long_enough), LONG_UNITS, WORD_UNITS))
    return re.compile(
        rf"\b(?:{WORDS})(?:(?:-|\s+(?:to|or)\s+)(?:{WORDS}))?(?:\s+an?)?[\s-](?:{units})\b", re.IGNORECASE
    )


def _longest_first(units: Iterable[str]) -> Iterator[str]:
    return (re.escape(unit) for unit in sorted(units, key=len, reverse=True))
