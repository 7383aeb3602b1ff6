"""Where everything stands that a reader of filled sheets must find. Asked of the typesetter, never measured by hand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from generator.model import Paper
from generator.rendering.sheets.sheet import LAYOUT, Sheet

PAGE_MM: dict[Paper, tuple[float, float]] = {"a4": (210.0, 297.0), "us-letter": (215.9, 279.4)}
"""ISO 216 and ANSI/ASME Y14.1 sheet sizes, width and height."""

SORTS = ("box", "field", "corner", "code", "link")
"""`box` a tick box, `field` a box to write in, `corner` a corner mark, `code` the sheet code, `link` its page's."""


def geometry_of(sheet: Sheet, paper: Paper, spots: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """The geometry that is kept beside a PDF. Millimetres from the top left of the page, to a thousandth.

    `what` of a box reads `step:<step id>:attempt-<1 to 3>`, `result:<result>:attempt-<1 to 3>`, `rung:<rung id>` (with
    `:<trainer id>` where a ladder has several trainers on the rung),
    `scored-by:<peer or instructor>` or `role:<role id>`.
    """
    width, height = PAGE_MM[paper]
    places = [
        {
            "sort": spot["sort"],
            "what": spot["what"],
            "page": spot["page"],
            **{name: round(float(spot[name]), 3) for name in ("x", "y", "width", "height")},
        }
        for spot in spots
    ]
    return {
        "layout": LAYOUT,
        "kind": sheet.kind,
        "id": sheet.id,
        "revision": sheet.revision,
        "paper": paper,
        "page_mm": [width, height],
        "pages": max((place["page"] for place in places), default=1),
        "places": sorted(places, key=lambda p: (p["page"], SORTS.index(p["sort"]), p["y"], p["x"], p["what"])),
    }
