"""Counts in languages with other plural forms than English: the `Plural-Forms` of a gettext catalogue."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cache
from gettext import c2py


@dataclass(frozen=True, slots=True, kw_only=True)
class Plurals:
    """The plural forms of a catalogue, and the rule that chooses among them."""

    rule: str = "n != 1"
    """A C expression of `n`, as `Plural-Forms` has it: the place of the form, from 0."""
    forms: Mapping[tuple[str, str], tuple[str, ...]] = field(default_factory=dict)
    """Words for one and for more (msgid and msgid_plural) → each form in the program's own words."""

    def form(self, one: str, more: str, count: int | Decimal) -> str | None:
        """The form for a count; None when the catalogue has none. A fraction takes the last form."""
        forms = self.forms.get((one, more))
        if not forms:
            return None
        last = len(forms) - 1
        try:
            place = int(_chooser(self.rule)(int(count))) if count == int(count) else last
        except ZeroDivisionError:  # a rule is typed by somebody
            place = last
        return forms[min(max(place, 0), last)]


@cache
def _chooser(rule: str) -> Callable[[int], int]:
    return c2py(rule)
