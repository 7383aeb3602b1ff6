"""A file of a scan → gray pictures of its pages. Only this module knows image and PDF files."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pypdfium2
from numpy.typing import NDArray

Gray = NDArray[np.uint8]
"""Rows × columns, 0 black to 255 white."""

PDF_DPI = 200
LARGEST_PIXELS = 60_000_000
"""A4 at 600 dpi has 35 million; more than this is not a page."""
ENDINGS = frozenset({".pdf", ".png", ".jpg", ".jpeg", ".tif", ".tiff", ".webp", ".bmp"})


class PictureError(Exception):
    """A file or a page that cannot be opened as a picture: a fixed text says why, with what stands in its braces."""

    def __init__(self, words: str, **parts: object) -> None:
        super().__init__(words.format(**parts))
        self.words = words
        self.parts: dict[str, Any] = parts


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """One page of a scan."""

    file: str
    """The file's name, without its folder."""
    page: int
    """From 1."""
    gray: Gray


def pages_in(path: Path) -> int:
    """How many pages a PDF has; 1 for every other file and for a PDF that cannot be opened."""
    if path.suffix.lower() != ".pdf":
        return 1
    try:
        document = pypdfium2.PdfDocument(path.read_bytes())
    except (OSError, pypdfium2.PdfiumError):
        return 1
    try:
        return max(len(document), 1)
    finally:
        document.close()


def pictures_of(path: Path, *, first: int = 1, last: int | None = None) -> Iterator[Picture | PictureError]:
    """The pages of a file in order; what cannot be opened is yielded as the reason, so that no page goes missing.

    `first` and `last` choose pages of a PDF, from 1.
    """
    if path.suffix.lower() == ".pdf":
        yield from _of_pdf(path, first, last)
        return
    try:
        data = np.frombuffer(path.read_bytes(), np.uint8)
    except OSError as error:
        yield PictureError("it cannot be opened: {error}", error=error.strerror or error)
        return
    if data.size == 0:
        yield PictureError("it is empty")
        return
    try:
        if path.suffix.lower() in (".tif", ".tiff"):
            is_good, pages = cv2.imdecodemulti(data, cv2.IMREAD_GRAYSCALE)
        else:
            # The camera's own note on which way is up is followed, as every picture viewer does.
            one = cv2.imdecode(data, cv2.IMREAD_GRAYSCALE)
            is_good, pages = one is not None, (one,)
    except cv2.error:
        is_good, pages = False, ()
    if not is_good or len(pages) == 0:
        yield PictureError("it is not a picture that can be read")
        return
    for number, gray in enumerate(pages, start=1):
        yield _checked(path.name, number, gray)


def _of_pdf(path: Path, first: int, last: int | None) -> Iterator[Picture | PictureError]:
    try:
        document = pypdfium2.PdfDocument(path.read_bytes())
    except OSError as error:
        yield PictureError("it cannot be opened: {error}", error=error.strerror or error)
        return
    except pypdfium2.PdfiumError:
        yield PictureError("it is not a PDF that can be read, or it needs a password")
        return
    try:
        for number in range(first, min(last or len(document), len(document)) + 1):
            try:
                page = document[number - 1]
                width, height = page.get_size()
                scale = min(PDF_DPI / 72, (LARGEST_PIXELS / max(width * height, 1)) ** 0.5)
                gray = page.render(scale=scale, grayscale=True).to_numpy()
            except pypdfium2.PdfiumError:
                yield PictureError("page {number} cannot be drawn", number=number)
                continue
            yield _checked(path.name, number, gray.reshape(gray.shape[:2]))
    finally:
        document.close()


def _checked(file: str, page: int, gray: Gray) -> Picture | PictureError:
    if gray.size > LARGEST_PIXELS or min(gray.shape) < 200:
        height, width = gray.shape
        pixels = {"number": page, "width": width, "height": height}
        return PictureError("page {number} is {width} × {height} pixels, which is not a scanned page", **pixels)
    return Picture(file=file, page=page, gray=np.ascontiguousarray(gray))


def png(gray: Gray, *, most: int | None = None, enlarged: int = 1) -> bytes:
    """A picture as PNG, at most `most` pixels high, or enlarged so that a person sees each stroke."""
    if most is not None and gray.shape[0] > most:
        share = most / gray.shape[0]
        gray = cv2.resize(gray, None, fx=share, fy=share, interpolation=cv2.INTER_AREA)
    if enlarged > 1:
        gray = cv2.resize(gray, None, fx=enlarged, fy=enlarged, interpolation=cv2.INTER_CUBIC)
    _, data = cv2.imencode(".png", gray)
    return bytes(data)


def packed(gray: Gray) -> bytes:
    """A picture as JPEG, good enough for a person to look at."""
    _, data = cv2.imencode(".jpg", gray, [cv2.IMWRITE_JPEG_QUALITY, 80])
    return bytes(data)


def unpacked(data: bytes) -> Gray:
    """A packed picture."""
    return np.asarray(cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_GRAYSCALE), dtype=np.uint8)
