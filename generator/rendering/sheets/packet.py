"""Many sheets as one PDF, in running order, with bookmarks and a page number that runs through."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from generator.model import Curriculum, Paper
from generator.rendering.sheets import words
from generator.rendering.sheets.making import typeset
from generator.rendering.sheets.sheet import Sheet, Typeset, canonical, digest
from generator.rendering.sheets.store import keep, kept, key_of
from generator.rendering.sheets.typesetter import set_packet


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A sheet in a packet. Its bookmark stands under the last one that is less deep."""

    sheet: Sheet
    bookmark: str
    deeper: int = 0
    sections: bool = False
    """Whether the sheet's own headings are bookmarks too."""
    over: Mapping[str, Any] = field(default_factory=dict, hash=False)
    """What this packet prints in place of the sheet's own data, such as the number of a station."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Packet:
    """Sheets in the order in which they are used. With `fronts`, each starts on a front page for two-sided print."""

    title: str
    parts: tuple[Part, ...]
    fronts: bool = True
    words: Mapping[str, str] = field(default_factory=lambda: words.PACKET, hash=False)
    """The packet's own words, as `words.PACKET` has them."""


def words_of(curriculum: Curriculum) -> Mapping[str, str]:
    """The packet's own words in the words of a program."""
    return {key: curriculum.label(text) for key, text in words.PACKET.items()}


def typeset_packet(packet: Packet, paper: Paper, store: Path) -> Typeset:
    """The packet as one tagged PDF/UA-1; `geometry` holds `pages` and the first page of each part.

    Each sheet is exactly as it is alone, so its own pages are known before: they come from the store. The same input
    gives the same bytes. Raises ValueError for a packet without parts.
    """
    if not packet.parts:
        raise ValueError("a packet needs at least one sheet")
    sheets = tuple({part.sheet.name: part.sheet for part in packet.parts}.values())
    key = digest("\n".join((*(key_of(sheet, paper) for sheet in sheets), canonical(_plan_of(packet)))))
    made = kept(store, key)
    if made is None:
        # A print for someone has the pages of the blank one, whose places a reader of scans will need.
        alone = {s.name: int(typeset(replace(s, address=None), paper, store).geometry["pages"]) for s in sheets}
        pages = [alone[part.sheet.name] for part in packet.parts]
        made = set_packet(_plan_of(packet), sheets, pages, paper)
        keep(store, key, made)
    return made


def _plan_of(packet: Packet) -> dict[str, Any]:
    return {
        "title": packet.title,
        "fronts": packet.fronts,
        "page_of": packet.words["page_of"],
        "empty": packet.words["empty"],
        "parts": [
            {
                "name": part.sheet.name,
                "deeper": part.deeper,
                "sections": part.sections,
                "over": {**part.over, "bookmark": part.bookmark},
            }
            for part in packet.parts
        ],
    }
