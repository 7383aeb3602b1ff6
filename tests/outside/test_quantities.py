"""The shipped numbers against what their sources were seen to say.

Each row was typed from notes on the sources, not from the curriculum: the numbers in the order in which they are
printed, the source that is named for them, and how far it could be opened (`primary` the number was seen in the source
or its abstract, `secondary` it was seen quoted, `memory` it was not found). A number that is changed in the curriculum
alone, or that is made to look better checked than it was, fails here.
"""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path

import pytest

from generator.analysis.wording import says
from generator.model import Curriculum, Quantity
from generator.reading import read_curriculum

SHIPPED = Path(__file__).parents[2] / "curriculum"

SEEN: dict[str, tuple[str, str, str]] = {
    # resuscitation and ventilation
    "compression-rate": ("100 120", "aha2025-bls", "secondary"),
    "adult-compression-depth": ("5 6", "aha2025-bls", "secondary"),
    "child-compression-depth": ("5", "aha2025-pbls", "secondary"),
    "infant-compression-depth": ("4", "aha2025-pbls", "secondary"),
    "depth-injury": ("49 27", "hellevuo2013", "secondary"),
    "adult-ratio": ("30 2", "aha2025-bls", "secondary"),
    "child-ratio-alone": ("30 2", "aha2025-pbls", "secondary"),
    "child-ratio-two": ("15 2", "aha2025-pbls", "secondary"),
    "adult-breath-interval": ("6", "aha2025-als", "secondary"),
    "child-breath-interval": ("2 3", "aha2020-peds", "primary"),
    "breath-duration": ("1", "aha2025-bls", "secondary"),
    "adult-volume": ("500 600", "aha2020-adult", "memory"),
    "compression-fraction": ("60", "aha2025-als", "secondary"),
    "pause-limit": ("10", "aha2025-pbls", "secondary"),
    "pulse-check-limit": ("10", "aha2025-bls", "secondary"),
    "compressor-change": ("2", "aha2025-bls", "secondary"),
    "child-slow-pulse": ("60", "aha2020-peds", "memory"),
    "breath-rate-seen": ("30", "aufderheide2004", "primary"),
    "waveform-low": ("10", "aha2025-als", "secondary"),
    "waveform-jump": ("10", "aha2025-als", "secondary"),
    "saturation-after-arrest": ("90 98", "aha2025-postarrest", "secondary"),
    "choking-back-blows": ("5", "aha2025-bls", "secondary"),
    "choking-thrusts": ("5", "aha2025-bls", "secondary"),
    "child-pad-age": ("8", "aha2025-pbls", "secondary"),
    "pad-width": ("8", "aha2025-bls", "secondary"),
    "pad-gap": ("1 2", "aha2025-pbls", "secondary"),
    "nasal-antidote-dose": ("4", "aha2025-special", "secondary"),
    "antidote-repeat": ("2 3", "aha2025-special", "secondary"),
    # airway and suction
    "one-hand-shortfall": ("14 5", "joffe2010", "primary"),
    "two-hand-gain": ("31 85", "otten2014", "primary"),
    "one-hand-volume": ("322", "bvm-seal2021", "primary"),
    "small-bag-volume": ("571 796", "siegler2017", "primary"),
    "stomach-pressure": ("15 20", "bouvet2014", "primary"),
    "child-stomach-pressure": ("3 18 8 9 14 16", "child-gi2017", "primary"),
    "oral-landmark-spread": ("2 3", "opa-three-landmarks", "primary"),
    "oral-size-man": ("9", "kim2014-opa", "primary"),
    "oral-size-woman": ("8", "kim2014-opa", "primary"),
    "nares-to-lid-man": ("159", "stoneham1993", "primary"),
    "nares-to-lid-woman": ("140", "stoneham1993", "primary"),
    "nasal-past-lid": ("60", "stoneham1993", "primary"),
    "nasal-size-man": ("7", "roberts2005", "primary"),
    "nasal-size-woman": ("6", "roberts2005", "primary"),
    "adult-suction-limit": ("15", "blakeman2022", "primary"),
    "child-suction-limit": ("15", "blakeman2022", "primary"),
    "tube-suction-pressure-adult": ("200", "blakeman2022", "primary"),
    "tube-suction-pressure-child": ("120", "blakeman2022", "primary"),
    "decontamination-first-pass": ("54 90", "pilbery2019", "primary"),
    "vomit-in-arrest": ("20 30", "pilbery2019", "primary"),
    "head-up-angle": ("20", "weingart2012", "secondary"),
    "reservoir-oxygen": ("54", "driver2017", "primary"),
    "bag-oxygen": ("77", "driver2017", "primary"),
    "waveform-misplaced": ("23", "silvestri2005", "primary"),
    "supraglottic-first-try": ("90 52", "wang2018-part", "primary"),
    "supraglottic-survival": ("18 15", "wang2018-part", "primary"),
    "saturation-target": ("94 98", "odriscoll2017", "memory"),
    # oxygen
    "cylinder-residual": ("200", "virginia-oems2010", "primary"),
    "cylinder-factor-d": ("0.16", "virginia-oems2010", "primary"),
    "cylinder-factor-e": ("0.28", "virginia-oems2010", "primary"),
    "cylinder-factor-m": ("1.56", "virginia-oems2010", "primary"),
    "cylinder-factor-h": ("3.14", "virginia-oems2010", "primary"),
    "cannula-flow": ("1 6", "wagstaff2007", "secondary"),
    "reservoir-flow": ("10 15", "wagstaff2007", "secondary"),
    "bag-flow": ("15", "driver2017", "primary"),
    "response-total": ("3 15", "teasdale1974", "secondary"),
    # bleeding, trauma, medication
    "tourniquet-distance": ("5 7.5", "acs-bleedingcontrol2019", "secondary"),
    "improvised-width": ("5", "aha-arc2024-firstaid", "secondary"),
    "packing-hold": ("3", "tccc", "secondary"),
    "tourniquet-survival": ("90 10", "kragh2009", "secondary"),
    "tourniquet-odds": ("5.9", "teixeira2018", "secondary"),
    "leg-raise": ("15 30", "aha-arc2024-firstaid", "secondary"),
    "recovery-recheck": ("1", "erc2025-firstaid", "secondary"),
    "epinephrine-dose": ("0.01", "sicherer2017", "primary"),
    "injector-small": ("0.15 15 30", "sicherer2017", "memory"),
    "injector-large": ("0.3 30", "sicherer2017", "memory"),
    "injector-second": ("5 15", "sicherer2017", "memory"),
    "injector-stay": ("3", "", "memory"),
    "low-glucose": ("70", "aha-arc2024-firstaid", "secondary"),
    "oral-glucose-amount": ("15 20", "aha-arc2024-firstaid", "secondary"),
    "oral-glucose-recheck": ("10", "aha-arc2024-firstaid", "secondary"),
    "inhaler-right": ("31", "sanchis2016", "primary"),
    "inhaler-timing-error": ("45", "sanchis2016", "primary"),
    "spacer-or-nebulizer": ("0.94 0.71", "cates2013", "primary"),
    "nebulizer-flow": ("6 8", "", "memory"),
    "neck-without-restriction": ("18", "neck-not-restricted2023", "primary"),
    "traction-need": ("16 2 4513", "abarbanell2001", "primary"),
    # advanced practice
    "introducer-first-try": ("96 82", "driver2018-introducer", "primary"),
    "route-survival": ("4.5 5.1", "couper2025-route", "primary"),
    "route-restart": ("36 39", "couper2025-route", "primary"),
    "vein-first-try": ("78", "vein-success2013", "primary"),
    "needle-length": ("8.25", "tccc", "secondary"),
    "needle-stay": ("5 10", "tccc", "secondary"),
    "needle-reach": ("100 58", "inaba2011", "secondary"),
    "lead-place-known": ("90 49 31 16", "rajaganeshan2008", "primary"),
    # teaching
    "refresher-share": ("58 26 21 15", "anderson2019", "primary"),
    "booster-gain": ("2.3 2.9", "sutton2011", "primary"),
    "rehearsed-pause": ("84 8", "hunt2014", "primary"),
}
"""Quantity → numbers, source, how far it was opened."""

OTHERS: dict[str, tuple[tuple[int, str], ...]] = {
    "saturation-after-arrest": ((2020, "92 98"), (2025, "94 98")),
    "choking-back-blows": ((2025, "5"),),
    "child-pad-age": ((2025, "25"),),
    "tourniquet-distance": ((2025, "5 7"),),
    "injector-small": ((2017, "25"),),
    "injector-large": ((2017, "0.3 25"),),
    "oral-glucose-amount": ((2024, "20"),),
    "oral-glucose-recheck": ((2025, "15"),),
    "injector-stay": ((2016, "10"),),
}
"""Quantity → what another body says, by year, as far as numbers go."""

RANK = ("memory", "secondary", "primary")


@pytest.fixture(scope="module")
def shipped() -> Curriculum:
    curriculum, _ = read_curriculum(SHIPPED)
    assert curriculum is not None
    return curriculum


def numbers(text: str) -> list[Decimal]:
    return [Decimal(found) for found in re.findall(r"(?<![A-Za-z])\d+(?:\.\d+)?", text)]


def printed(quantity: Quantity) -> list[Decimal]:
    return numbers(says(quantity))


@pytest.mark.parametrize("id", sorted(SEEN))
def test_a_number_is_the_one_that_was_seen(shipped: Curriculum, id: str) -> None:
    figures, source, opened = SEEN[id]
    quantity = shipped.quantities[id]
    assert printed(quantity) == numbers(figures)
    assert quantity.sources[:1] == ((source,) if source else ())
    assert RANK.index(quantity.checked) <= RANK.index(opened)


@pytest.mark.parametrize("id", sorted(OTHERS))
def test_another_view_is_shown_with_its_year(shipped: Curriculum, id: str) -> None:
    told = {(other.year, tuple(numbers(other.says))) for other in shipped.quantities[id].others}
    for year, figures in OTHERS[id]:
        assert (year, tuple(numbers(figures))) in told


def test_most_of_the_numbers_are_compared(shipped: Curriculum) -> None:
    """The rest are forms of words, worked examples, and numbers from memory that name no source."""
    left = {id for id, quantity in shipped.quantities.items() if id not in SEEN and quantity.checked != "memory"}
    assert len(SEEN) >= 90
    assert len(left) <= 25
