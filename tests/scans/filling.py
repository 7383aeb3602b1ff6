"""Fill in a printed sheet as an evaluator does, and scan it: what goes in is known, so what comes out can be judged."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parent))
import pens
import wear

SCALE = 300 / 25.4
Gray = NDArray[np.uint8]


def pages_of(pdf: bytes) -> list[Gray]:
    """The pages of a print at 300 dpi."""
    document = pypdfium2.PdfDocument(pdf)
    return [document[n].render(scale=300 / 72, grayscale=True).to_numpy().squeeze() for n in range(len(document))]


def filled(
    pages: list[Gray], geometry: Mapping[str, Any], marks: Mapping[str, str], *, seed: int, worn: str = "flatbed"
) -> list[Gray]:
    """The pages with `marks` (kind by place; places without one stay empty), worn. One ball-point pen throughout."""
    rng = np.random.default_rng(seed)
    pen = pens.Pen(width=0.5, darkness=0.85, grain=0.05)
    places = {place["what"]: place for place in geometry["places"] if place["sort"] == "box"}
    unknown = set(marks) - set(places)
    assert not unknown, unknown
    scans = []
    for number, page in enumerate(pages, start=1):
        ink = np.zeros(page.shape, np.float32)
        for what, kind in marks.items():
            place = places[what]
            if place["page"] == number:
                at = (place["x"], place["y"], place["width"])
                pens.mark(ink, at, kind, scale=SCALE, rng=rng, pen=pen)
        kinds = {**wear.TUNED_ON, **wear.NEVER_TUNED_ON}
        scans.append(kinds[worn]((page * (1 - ink)).astype(np.uint8), rng))
    return scans
