"""Identifiers against check digits that the bodies behind them have printed."""

from __future__ import annotations

import pytest

from generator.analysis.identifiers import (
    doi_fault,
    isbn10_check_digit,
    isbn13_check_digit,
    isbn_fault,
    issn_check_digit,
    issn_fault,
    pmcid_fault,
    pmid_fault,
)


def test_issn_worked_example():
    """ISO 3297 and ISSN Manual, worked example 0317-8471: the sum is 120, the check digit 1.

    Read as the Library of Congress prints it, loc.gov/issn/check.html.
    """
    assert issn_check_digit("0317847") == "1"
    assert issn_fault("0317-8471") is None


@pytest.mark.parametrize(
    "issn",
    [
        "0378-5955",  # Hearing Research, the usual second example
        "2434-561X",  # a registered ISSN that ends in X, value from memory
        "2434-561x",
        "0009-7322",  # Circulation, printed on the journal
        "0300-9572",  # Resuscitation, printed on the journal
        "1049-3867",  # Women's Health Issues, printed on the journal, value from memory
    ],
)
def test_registered_issns(issn):
    assert issn_fault(issn) is None


@pytest.mark.parametrize(
    ("isbn", "where"),
    [
        ("978-3-16-148410-0", "the bar code example of the encyclopedia article on ISBN"),
        ("978-0-11-000222-4", "ISBN Users' Manual, check digit of the 13-digit ISBN; value from memory"),
        ("0-8436-1072-7", "ISBN Users' Manual (10-digit editions), check digit; value from memory"),
        ("0-306-40615-2", "the usual worked example of the 10-digit check"),
        ("978-0-306-40615-7", "the same book in 13 digits"),
        ("0-8044-2957-X", "the usual example with X, weights 10 to 1"),
        ("0-201-53082-1", "a 10-digit ISBN as printed in a library catalogue"),
    ],
)
def test_printed_isbns(isbn, where):
    assert isbn_fault(isbn) is None, where
    assert isbn_fault(isbn.replace("-", "")) is None
    assert isbn_fault(isbn.replace("-", " ")) is None


def test_two_isbns_in_one_field():
    assert isbn_fault("978-3-16-148410-0 0-306-40615-2") is None
    assert isbn_fault("978-3-16-148410-0, 0-306-40615-3") == "ends in 3 where its check digit should be 2"


def test_isbn13_of_an_isbn10_differs_only_in_its_check_digit():
    for nine in ("030640615", "084361072", "080442957"):
        assert isbn_fault(nine + isbn10_check_digit(nine)) is None
        assert isbn_fault("978" + nine + isbn13_check_digit("978" + nine)) is None


def test_every_single_wrong_digit_is_caught():
    """Both moduli catch every change of one digit: each weight shares no factor with its modulus."""
    good10, good13, good_issn = "0306406152", "9780306406157", "0317-8471"
    tried = 0
    for good, fault in ((good10, isbn_fault), (good13, isbn_fault), (good_issn, issn_fault)):
        for place, digit in enumerate(good):
            if not digit.isdigit():
                continue
            for other in "0123456789":
                if other != digit:
                    tried += 1
                    assert fault(good[:place] + other + good[place + 1 :]) is not None
    assert tried == 9 * (10 + 13 + 8)


def test_every_swap_of_neighbours_is_caught_by_modulus_11():
    """Modulus 11 catches every swap of two neighbours; modulus 10 with weights 1 and 3 does not."""
    tried = 0
    for seven in ("0317847", "0378595", "2434561", "0009732"):
        eight = seven + issn_check_digit(seven)
        for place in range(6):
            if eight[place] != eight[place + 1]:
                swapped = eight[:place] + eight[place + 1] + eight[place] + eight[place + 2 :]
                assert issn_fault(f"{swapped[:4]}-{swapped[4:]}") is not None
                tried += 1
    assert tried > 15


@pytest.mark.parametrize(
    "doi",
    [
        "10.1000/182",  # the DOI Handbook's own DOI
        "10.1000.10/123456",  # DOI Handbook 2.2: a registrant code with a sub-element
        "10.1038/issn.1476-4687",  # DOI Handbook 2.2: a suffix that holds another standard's number
        "10.1161/CIR.0000000000001369",
        # an early suffix, still valid: Crossref's own note on patterns for DOIs names this family
        "10.1002/(SICI)1097-0258(19980815/30)17:15/16<1661::AID-SIM968>3.0.CO;2-2",
        "10.5555/12345678",  # the prefix kept for examples
    ],
)
def test_dois_that_are_well_formed(doi):
    assert doi_fault(doi) is None


@pytest.mark.parametrize(
    ("doi", "fault"),
    [
        ("https://doi.org/10.1000/182", "should start at `10.`, without `https://doi.org/`"),
        ("doi:10.1000/182", "should start at `10.`, without `doi:`"),
        ("11.1000/182", "should start with `10.`"),
        ("10.1000-182", "has no slash between its prefix and its suffix"),
        ("10.1000/18 2", "has a space in it"),
        ("10.10/182", "should be `10.`, four to nine digits, a slash and a suffix"),
        ("10.1000/", "should be `10.`, four to nine digits, a slash and a suffix"),
        ("10.1000/182.", "ends with `.`, which belongs to the sentence around it"),
    ],
)
def test_dois_that_are_not(doi, fault):
    assert doi_fault(doi) == fault


def test_pubmed_identifiers():
    """NLM: a PMID is one to eight digits with no leading nought; a PMCID is PMC and digits."""
    assert pmid_fault("1") is None
    assert pmid_fault("41122885") is None
    for wrong in ("0123", "PMID 41122885", "123456789", "", "4112288a", "PMC123"):
        assert pmid_fault(wrong) is not None
    assert pmcid_fault("PMC2764331") is None
    for wrong in ("2764331", "pmc 1", "PMC"):
        assert pmcid_fault(wrong) is not None
