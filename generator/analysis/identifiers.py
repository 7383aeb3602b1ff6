"""Whether a DOI, PMID, PMCID, ISBN or ISSN is well formed, and if not, what is wrong with it.

Form and check digit only: nothing here asks whether the number was ever given out. Each `*_fault` function takes
the text as typed and returns None when it is well formed, otherwise a short phrase that completes "X ...".
"""

from __future__ import annotations

import re

_DOI = re.compile(r"10\.\d{4,9}(?:\.\d+)*/[^\s\x00-\x1f\x7f-\x9f]+")
_RESOLVERS = ("https://doi.org/", "http://doi.org/", "https://dx.doi.org/", "http://dx.doi.org/", "doi:")


def doi_fault(text: str) -> str | None:
    """What is wrong with a DOI name (ISO 26324 and the DOI Handbook, 2.2).

    A prefix `10.` with a registrant code of at least four digits, a slash, and a suffix. Spaces are legal in a
    suffix but no agency gives them out, so they are taken for a slip.
    """
    resolver = next((one for one in _RESOLVERS if text.lower().startswith(one)), None)
    faults = (
        (resolver is not None, f"should start at `10.`, without `{text[: len(resolver or '')]}`"),
        (not text.startswith("10."), "should start with `10.`"),
        ("/" not in text, "has no slash between its prefix and its suffix"),
        (re.search(r"\s", text) is not None, "has a space in it"),
        (_DOI.fullmatch(text) is None, "should be `10.`, four to nine digits, a slash and a suffix"),
        (text.endswith((".", ",", ";")), f"ends with `{text[-1:]}`, which belongs to the sentence around it"),
    )
    return next((fault for is_wrong, fault in faults if is_wrong), None)


def pmid_fault(text: str) -> str | None:
    """What is wrong with a PubMed identifier: one to eight digits without a leading nought (NLM)."""
    if re.fullmatch(r"[1-9]\d{0,7}", text):
        return None
    return "should be one to eight digits and nothing else, the first of them not 0"


def pmcid_fault(text: str) -> str | None:
    """What is wrong with a PubMed Central identifier: `PMC` and digits (NLM)."""
    return None if re.fullmatch(r"PMC[1-9]\d{0,8}", text) else "should be `PMC` and digits"


def isbn_fault(text: str) -> str | None:
    """What is wrong with an ISBN of 10 or 13 digits (ISO 2108). One field may hold several, set apart by spaces."""
    whole = _bare(text)
    if len(whole) in (10, 13) or not re.search(r"[\s,;]", text):
        return _one_isbn_fault(whole)
    faults = (_one_isbn_fault(_bare(one)) for one in re.split(r"[\s,;]+", text) if one)
    return next((fault for fault in faults if fault), None)


def _one_isbn_fault(bare: str) -> str | None:
    if re.fullmatch(r"\d{9}[\dX]", bare):
        expected = isbn10_check_digit(bare[:9])
    elif re.fullmatch(r"\d{13}", bare):
        if bare[:3] not in ("978", "979"):
            return "has 13 digits but does not start with 978 or 979"
        expected = isbn13_check_digit(bare[:12])
    else:
        return f"should have 10 or 13 digits and has {len(bare)} characters besides hyphens"
    return None if bare[-1] == expected else f"ends in {bare[-1]} where its check digit should be {expected}"


def isbn10_check_digit(nine: str) -> str:
    """The check digit after nine digits: weights 10 to 2, modulus 11, `X` for ten (ISBN Users' Manual)."""
    return _modulus_11(nine, 10)


def isbn13_check_digit(twelve: str) -> str:
    """The check digit after twelve digits: weights 1 and 3 in turn, modulus 10 (ISBN Users' Manual)."""
    total = sum(int(digit) * (3 if place % 2 else 1) for place, digit in enumerate(twelve))
    return str(-total % 10)


def issn_fault(text: str) -> str | None:
    """What is wrong with an ISSN: two groups of four with a hyphen, the last a check digit (ISO 3297)."""
    if not re.fullmatch(r"\d{4}-\d{3}[\dXx]", text):
        return "should be two groups of four digits with a hyphen between, such as 0317-8471"
    expected = issn_check_digit(text[:4] + text[5:8])
    given = text[-1].upper()
    return None if given == expected else f"ends in {given} where its check digit should be {expected}"


def issn_check_digit(seven: str) -> str:
    """The check digit after seven digits: weights 8 to 2, modulus 11, `X` for ten (ISO 3297, ISSN Manual)."""
    return _modulus_11(seven, 8)


def _modulus_11(digits: str, first_weight: int) -> str:
    total = sum(int(digit) * (first_weight - place) for place, digit in enumerate(digits))
    check = -total % 11
    return "X" if check == 10 else str(check)


def _bare(text: str) -> str:
    return re.sub(r"[\s\-\u2010-\u2015]", "", text).upper()
