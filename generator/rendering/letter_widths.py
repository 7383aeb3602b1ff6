"""How wide words are in the handbook's own typeface, so that a figure can break its lines before it is drawn.

Advance widths of Atkinson Hyperlegible Next, from the font files beside the sheets, in thousandths of the type size,
for the characters from the space to the tilde. A screen that falls back on another face gets some room to spare.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

Run = tuple[str, bool]
"""Some words, and whether they are bold."""

FIRST = " "
REGULAR = (
    280, 286, 301, 651, 592, 919, 731, 160, 299, 299, 485, 606, 210, 362, 210, 387, 648, 407, 548, 576, 614, 588, 598,
    510, 615, 595, 210, 210, 553, 628, 553, 480, 778, 626, 613, 645, 669, 569, 552, 694, 694, 392, 512, 631, 541, 824,
    693, 714, 592, 724, 614, 592, 558, 690, 593, 856, 623, 575, 607, 317, 387, 344, 552, 372, 243, 525, 566, 485, 564,
    538, 314, 558, 550, 252, 245, 492, 262, 845, 550, 548, 566, 574, 349, 471, 326, 540, 461, 684, 481, 449, 460, 344,
    237, 344, 555,
)  # fmt: skip
BOLD = (
    312, 303, 390, 765, 610, 969, 725, 210, 335, 335, 485, 595, 271, 373, 272, 440, 659, 440, 579, 600, 624, 607, 626,
    537, 624, 571, 272, 272, 569, 612, 569, 547, 781, 678, 643, 658, 688, 597, 566, 718, 701, 424, 561, 663, 552, 858,
    717, 746, 629, 756, 650, 610, 607, 686, 644, 886, 685, 650, 618, 340, 440, 344, 582, 400, 288, 552, 596, 510, 596,
    563, 365, 593, 571, 300, 259, 555, 318, 882, 571, 576, 596, 599, 376, 508, 376, 567, 530, 740, 539, 521, 505, 381,
    254, 381, 537,
)  # fmt: skip
NO_BREAK = "\u00a0"
"""A space at which no line is broken."""
OTHER = 1000
"""Any other character is taken to be as wide as it is high, which few are."""


def width_of(text: str, *, bold: bool) -> float:
    """The width of a text, in type sizes."""
    table = BOLD if bold else REGULAR
    places = (ord(character) - ord(FIRST) for character in text.replace(NO_BREAK, FIRST))
    return sum(table[place] if 0 <= place < len(table) else OTHER for place in places) / 1000


def run_width(runs: Sequence[Run]) -> float:
    """The width of runs one after the other, in type sizes."""
    return sum(width_of(text, bold=bold) for text, bold in runs)


def wrapped(runs: Sequence[Run], width: float) -> tuple[tuple[Run, ...], ...]:
    """Runs cut at their spaces into lines of at most `width` type sizes; a word too long for a line is cut."""
    words = [(word, bold) for text, bold in runs for word in _cut(text, bold, width)]
    lines: list[list[Run]] = [[]]
    room = width
    for word, bold in words:
        gap = width_of(" ", bold=bold) if lines[-1] else 0.0
        long = width_of(word, bold=bold)
        if lines[-1] and gap + long > room:
            lines.append([])
            gap, room = 0.0, width
        lines[-1].append((" " + word if gap else word, bold))
        room -= gap + long
    return tuple(tuple(_joined(line)) for line in lines if line)


def _cut(text: str, bold: bool, width: float) -> list[str]:
    parts: list[str] = []
    for word in re.split(r"[ \t\r\n]+", text.strip()):
        if word and width_of(word, bold=bold) <= width:
            parts.append(word)
            continue
        part = ""
        for character in word:
            if part and width_of(part + character, bold=bold) > width:
                parts.append(part)
                part = ""
            part += character
        if part:
            parts.append(part)
    return parts


def _joined(line: Sequence[Run]) -> list[Run]:
    joined: list[Run] = []
    for text, bold in line:
        if joined and joined[-1][1] == bold:
            joined[-1] = (joined[-1][0] + text, bold)
        else:
            joined.append((text, bold))
    return joined
