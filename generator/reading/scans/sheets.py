"""Pages of scans → whole filled sheets. A page that cannot be read is kept with the reason; none goes missing."""

from __future__ import annotations

import multiprocessing
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from generator.reading.scans.boxes import Box, read_boxes
from generator.reading.scans.codes import SheetCode, parse_code
from generator.reading.scans.outlines import PX_PER_MM
from generator.reading.scans.pictures import Gray, Picture, PictureError, packed, pages_in, pictures_of, unpacked
from generator.reading.scans.prints import Key, places_of
from generator.reading.scans.straighten import find_codes, straighten

Prints = Mapping[Key, Mapping[str, Any]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """A page that could not be read, with its picture where there is one.

    Reason and remedy are fixed texts; what stands in their braces is in `parts`.
    """

    file: str
    page: int
    reason: str
    remedy: str
    parts: Mapping[str, object] = field(default_factory=dict)
    gray: Gray | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadPage:
    """One page of a sheet, with its boxes and what is needed to show them to a person."""

    file: str
    page_of_file: int
    code: SheetCode
    boxes: tuple[Box, ...]
    places: Sequence[Mapping[str, Any]]
    jpeg: bytes
    """The straightened page, packed: a pile of hundreds of pages is held at once."""
    trace: bytes
    """A coarse picture, by which this page is known again."""

    def upright(self) -> Gray:
        """The straightened page."""
        return unpacked(self.jpeg)

    def cut(self, what: str, *, margin_mm: float = 3.0) -> Gray | None:
        """The picture of one place with some of what is around it, or None when it is not on this page."""
        place = next((place for place in self.places if place["what"] == what), None)
        if place is None:
            return None
        left, top = (max(int((place[axis] - margin_mm) * PX_PER_MM), 0) for axis in ("x", "y"))
        right = int((place["x"] + place["width"] + margin_mm) * PX_PER_MM)
        bottom = int((place["y"] + place["height"] + margin_mm) * PX_PER_MM)
        return self.upright()[top:bottom, left:right]


@dataclass(slots=True, kw_only=True)
class FilledSheet:
    """The pages of one filled sheet by page number."""

    code: SheetCode
    pages: dict[int, ReadPage] = field(default_factory=dict)
    wanted: int = 1
    is_mixed_up: bool = False
    """Whether another sheet like it lay open at the same time, so that a page may belong to either."""

    @property
    def is_whole(self) -> bool:
        """Whether every page is there."""
        return len(self.pages) == self.wanted


def refused(reason: str, remedy: str, *, file: str, page: int, gray: Gray | None = None, **parts: object) -> Refusal:
    """A page that could not be read. Reason and remedy are fixed texts, `parts` what stands in their braces."""
    return Refusal(file=file, page=page, reason=reason, remedy=remedy, parts=parts, gray=gray)


def read_page(picture: Picture, prints: Prints) -> ReadPage | Refusal:
    """Read one page: its code, its corner marks, its boxes."""

    at: dict[str, Any] = {"file": picture.file, "page": picture.page, "gray": picture.gray}
    codes = [(found, parse_code(found.text)) for found in find_codes(picture.gray)]
    ours = [(found, code) for found, code in codes if code is not None]
    if not ours:
        return refused(
            "no sheet code was found on it" if not codes else "its code is not that of a sheet",
            "Scan the page again, whole and at 200 dpi or more, or type it in.",
            **at,
        )
    if len(ours) > 1:
        return refused("it shows the codes of two pages", "Scan one page at a time.", **at)
    found, code = ours[0]
    geometry = prints.get(code.key)
    if geometry is None:
        return refused(
            "revision {revision} of the {kind} {id} is not among the prints that are known",
            "Name the folder it was printed to with --prints, or type it in.",
            revision=code.revision,
            kind=code.kind,
            id=code.id,
            **at,
        )
    places = places_of(geometry, code.page)
    straight = straighten(picture.gray, found, places, geometry["page_mm"]) if places else None
    if straight is None:
        return refused(
            "its corner marks were not found where they belong",
            "Scan the page again, flat and whole, or type it in.",
            **at,
        )
    return ReadPage(
        file=picture.file,
        page_of_file=picture.page,
        code=code,
        boxes=read_boxes(straight.darkness, places),
        places=places,
        jpeg=packed(np.asarray(255 - 255 * np.clip(straight.darkness, 0, 1), dtype=np.uint8)),
        trace=(np.clip(straight.darkness[::16, ::16], 0, 1) * 3).astype(np.uint8).tobytes(),
    )


TYPE_IT_IN = "Scan it again, or type it in."
CHUNK = 6
"""Pages of a PDF that one process reads before it asks for more."""
POOL_PAYS_FROM = 12
"""Fewer pages than this are read before other processes have started."""


def read_files(paths: Sequence[Path], prints: Prints, *, workers: int = 1) -> Iterator[ReadPage | Refusal]:
    """Every page of every file, in order, however many processes share the work."""
    chunks = [
        (path, first, min(first + CHUNK - 1, count))
        for path in paths
        for count in [pages_in(path)]
        for first in range(1, count + 1, CHUNK)
    ]
    if workers < 2 or sum(last - first + 1 for _, first, last in chunks) < POOL_PAYS_FROM:
        for chunk in chunks:
            yield from _read_chunk(chunk, prints)
        return
    # A fresh process each: a forked one may wait for ever for a thread of OpenCV that was not forked with it.
    fresh = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(workers, mp_context=fresh, initializer=_begin, initargs=(prints,)) as pool:
        for pages in pool.map(_read_given, chunks):
            yield from pages


_given: dict[Key, Mapping[str, Any]] = {}
"""The prints of a worker process: handed over once, for they are far larger than a chunk."""


def _begin(prints: Prints) -> None:
    cv2.setNumThreads(1)
    _given.update(prints)


def _read_given(chunk: tuple[Path, int, int]) -> list[ReadPage | Refusal]:
    return _read_chunk(chunk, _given)


def _read_chunk(chunk: tuple[Path, int, int], prints: Prints) -> list[ReadPage | Refusal]:
    path, first, last = chunk
    found: list[ReadPage | Refusal] = []
    # A TIFF may hold several pages in its one chunk.
    pictures = pictures_of(path, first=first, last=last) if path.suffix.lower() == ".pdf" else pictures_of(path)
    for page, picture in enumerate(pictures, start=first):
        if isinstance(picture, PictureError):
            found.append(refused(picture.words, TYPE_IT_IN, file=path.name, page=page, **picture.parts))
        else:
            found.append(read_page(picture, prints))
    return found


def gathered(pages: Iterable[ReadPage], prints: Prints) -> tuple[FilledSheet, ...]:
    """Whole sheets from pages in the order they were scanned.

    A page that was printed for someone finds its sheet by that. Of blank sheets, a page goes to the open sheet of its
    kind that lacks it; where two lie open, both are called mixed up, because the page may belong to either.
    """
    sheets: list[FilledSheet] = []
    waiting: dict[Any, list[FilledSheet]] = {}
    for page in pages:
        of_whom = (page.code.key, page.code.address)
        lacking = [sheet for sheet in waiting.get(of_whom, ()) if page.code.page not in sheet.pages]
        if not lacking:
            wanted = int(prints[page.code.key].get("pages", 1))
            lacking = [FilledSheet(code=page.code, wanted=wanted)]
            sheets.append(lacking[0])
            waiting.setdefault(of_whom, []).append(lacking[0])
        elif len(lacking) > 1:
            for sheet in lacking:
                sheet.is_mixed_up = True
        sheet = lacking[0]
        sheet.pages[page.code.page] = page
        if sheet.is_whole:
            waiting[of_whom].remove(sheet)
    return tuple(sheets)
