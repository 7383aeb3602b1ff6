"""A quantity in no form or in several, or with its ends the wrong way round.

Why: it would print no number, or leave the reader to guess which of two counts.

To put it right: give one form only: `value`; or `low` and `high`; or `at_least`, `at_most` or both; or `says`.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.checks.support.nearest import in_words
from generator.diagnostics import Problem
from generator.model import Curriculum, Quantity

RULE = "quantity-form"

FORMS = (("value",), ("low", "high"), ("at_least", "at_most"), ("says",))


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each quantity that does not take exactly one form."""
    for id, quantity in curriculum.quantities.items():
        fault = _fault(quantity)
        if fault:
            field, message, remedy = fault
            yield Problem(
                location=curriculum.at("quantity", id, *((field,) if field else ())),
                rule=RULE,
                message=f"The quantity `{id}` {message}.",
                remedy=remedy,
            )


def _fault(quantity: Quantity) -> tuple[str, str, str] | None:
    given = [field for form in FORMS for field in form if getattr(quantity, field) is not None]
    forms = [form for form in FORMS if any(field in given for field in form)]
    one = "Give one form only: `value`; or `low` and `high`; or `at_least`, `at_most` or both; or `says`."
    if not forms:
        return "", "gives no number", one
    if len(forms) > 1:
        return next(field for field in given if field in forms[1]), f"gives {in_words(given)} at once", one
    if len(given) == 1 and given[0] in ("low", "high"):
        missing = "high" if given[0] == "low" else "low"
        return given[0], f"has `{given[0]}` without `{missing}`", "Give both ends, or write `at_least` or `at_most`."
    for lower, upper in (("low", "high"), ("at_least", "at_most")):
        least, most = getattr(quantity, lower), getattr(quantity, upper)
        if least is not None and most is not None and least > most:
            return lower, f"has `{lower}` {least} above `{upper}` {most}", "Change them round, or mend the slip."
        if least is not None and most is not None and least == most:
            return lower, f"has the same `{lower}` and `{upper}`", f"Write `value: {least}`."
    return None
