"""A picture of a sheet → the sheet as it was printed: upright, flat, in millimetres, with black as 1 and paper as 0.

The sheet code gives the scale, the turn and a first guess of where the corner marks are. The corner marks, together
with the code's own corners, give the perspective. Every place comes from the geometry that printing wrote.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any

import cv2
import numpy as np
import zxingcpp
from numpy.typing import NDArray

from generator.reading.scans.outlines import PX_PER_MM, Darkness, share_there
from generator.reading.scans.pictures import Gray

WINDOW_MM = (34.0, 9.0, 4.0)
"""How far around the guess a corner mark is looked for, in each of three rounds."""
MOST_ERROR_MM = 1.2
"""A mark that the final perspective misses by more than this was not the mark."""

Points = NDArray[Any]
"""Rows of x, y."""
CHOICES = 3
"""Blobs that are kept in mind for each corner, should the nearest one not be the mark."""
OUTLINES = 0.8
"""Least share of boxes whose outline must be found where it should be."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundCode:
    """A code in a picture: its text, and its corners in pixels from the top left of the printed code, clockwise."""

    text: str
    corners: Points


@dataclass(frozen=True, slots=True, kw_only=True)
class Straight:
    """A straightened page."""

    darkness: Darkness
    error_mm: float
    """Root mean square distance between the marks where they were found and where they belong."""
    marks: int
    """Corner marks that were found, of 4."""


def find_codes(gray: Gray) -> tuple[FoundCode, ...]:
    """All QR codes of a picture. A picture in which none is found is looked at again, enlarged and evened out."""
    for image, scale in _looks(gray):
        found = zxingcpp.read_barcodes(image, formats=zxingcpp.BarcodeFormat.QRCode)
        if found:
            return tuple(FoundCode(text=code.text, corners=_corners(code.position) / scale) for code in found)
    return ()


def _corners(position: Any) -> Points:
    corners = (position.top_left, position.top_right, position.bottom_right, position.bottom_left)
    return np.array([(corner.x, corner.y) for corner in corners], np.float64)


def _looks(gray: Gray) -> Iterator[tuple[Gray, float]]:
    """The picture in several ways, each with its enlargement; the next is made only when the last showed no code."""
    yield gray, 1.0
    yield _even(gray), 1.0
    yield _even(cv2.resize(gray, None, fx=2, fy=2, interpolation=cv2.INTER_CUBIC)), 2.0
    sharp = cv2.addWeighted(gray, 2.2, cv2.GaussianBlur(gray, (0, 0), 2.0), -1.2, 0)
    yield cv2.resize(sharp, None, fx=2, fy=2, interpolation=cv2.INTER_CUBIC), 2.0
    yield cv2.medianBlur(gray, 3), 1.0


def _even(gray: Gray) -> Gray:
    """The picture with shadows taken out."""
    ground = _ground(gray)
    return np.asarray(np.clip(gray.astype(np.float32) / ground * 255, 0, 255), dtype=np.uint8)


def _ground(gray: Gray) -> NDArray[np.float32]:
    """The brightness of bare paper at each pixel."""
    small = cv2.resize(gray, None, fx=0.125, fy=0.125, interpolation=cv2.INTER_AREA)
    brightest = cv2.dilate(cv2.medianBlur(small, 3), np.ones((7, 7), np.uint8))
    smooth = cv2.GaussianBlur(brightest.astype(np.float32), (0, 0), 5)
    whole = cv2.resize(smooth, (gray.shape[1], gray.shape[0]), interpolation=cv2.INTER_LINEAR)
    return np.asarray(np.maximum(whole, 8.0), dtype=np.float32)


def straighten(
    gray: Gray, code: FoundCode, places: Sequence[Mapping[str, Any]], page_mm: Sequence[float]
) -> Straight | None:
    """The page as it was printed, or None when its marks cannot be found well enough.

    `places` are the geometry's places of this page; `page_mm` its width and height. A page counts as straight when the
    outlines of its boxes are where they belong: a stain or a letter may look like a corner mark.
    """
    code_mm = _square(next(place for place in places if place["sort"] == "code"))
    corners = [place for place in places if place["sort"] == "corner"]
    boxes = [place for place in places if place["sort"] == "box"]
    wanted = np.array([_middle(place) for place in corners])
    first = _similarity(code_mm, code.corners)
    chances = _marks(gray, first, wanted, corners, WINDOW_MM[0])
    best: tuple[float, Straight] | None = None
    for found in _combinations(chances):
        transform = _perspective(wanted, found, code_mm, code.corners)
        for window in WINDOW_MM[1:]:
            nearer = _marks(gray, transform, wanted, corners, window)
            found = {place: blobs[0] for place, blobs in nearer.items()}  # noqa: PLW2901 - each round starts anew
            if len(found) < 2:
                break
            transform = _perspective(wanted, found, code_mm, code.corners)
        if len(found) < 2:
            continue
        error = _error_mm(transform, wanted, found, code_mm, code.corners)
        if error > MOST_ERROR_MM:
            continue
        darkness = _darkness(_warp(gray, transform, page_mm), code_mm)
        share = share_there(darkness, boxes)
        if best is None or share > best[0]:
            best = share, Straight(darkness=darkness, error_mm=error, marks=len(found))
        if share >= 0.97:
            break
    return best[1] if best is not None and best[0] >= OUTLINES else None


def _marks(
    gray: Gray, transform: Points, wanted: Points, corners: Sequence[Mapping[str, Any]], window: float
) -> dict[int, list[Points]]:
    """For each corner, the middles of blobs in pixels that may be its mark, likeliest first."""
    scale = _scale_at(transform, wanted.mean(axis=0))
    found: dict[int, list[Points]] = {}
    for place, (guess, corner) in enumerate(zip(_apply(transform, wanted), corners, strict=True)):
        blobs = _blobs(gray, guess, radius=corner["width"] / 2 * scale, reach=window * scale)
        if blobs:
            found[place] = blobs[:CHOICES]
    return found


def _combinations(chances: Mapping[int, list[Points]]) -> Iterator[dict[int, Points]]:
    """One blob for each corner, likeliest first; then without one of the corners, which may be torn off or stained."""
    if len(chances) < 2:
        return
    names = list(chances)
    ranked = sorted(product(*(range(len(chances[name])) for name in names)), key=sum)
    for picks in ranked:
        yield {name: chances[name][pick] for name, pick in zip(names, picks, strict=True)}
    for left_out in names if len(names) > 3 else ():
        yield {name: chances[name][0] for name in names if name != left_out}


def _error_mm(
    transform: Points, wanted: Points, found: Mapping[int, Points], code_mm: Points, code_pixels: Points
) -> float:
    """The largest distance in mm between where a mark or a corner of the code is and where it belongs."""
    back = np.linalg.inv(transform)
    of_marks = [float(np.linalg.norm(_apply(back, found[place][None])[0] - wanted[place])) for place in found]
    of_code = np.linalg.norm(_apply(back, code_pixels) - code_mm, axis=1) / 1.5
    return max(*of_marks, float(of_code.max()))


def _square(place: Mapping[str, Any]) -> Points:
    x, y, width, height = (float(place[name]) for name in ("x", "y", "width", "height"))
    return np.array([(x, y), (x + width, y), (x + width, y + height), (x, y + height)])


def _middle(place: Mapping[str, Any]) -> tuple[float, float]:
    return place["x"] + place["width"] / 2, place["y"] + place["height"] / 2


def _similarity(mm: Points, pixels: Points) -> Points:
    """Scale, turn and shift from millimetres to pixels: four near points say no more than that reliably."""
    fit, _ = cv2.estimateAffinePartial2D(mm.astype(np.float64), pixels.astype(np.float64), method=cv2.LMEDS)
    if fit is None:
        fit = cv2.getAffineTransform(mm[:3].astype(np.float32), pixels[:3].astype(np.float32))
    return np.vstack([fit, (0.0, 0.0, 1.0)])


def _perspective(wanted: Points, found: Mapping[int, Points], code_mm: Points, code_pixels: Points) -> Points:
    """From millimetres to pixels, by least squares over the marks and the code's corners.

    A mark counts several times: its middle is known to a fraction of a pixel, a code's corner to a pixel or so.
    """
    weight = 6
    mm = np.vstack([*[np.repeat(wanted[place][None], weight, axis=0) for place in found], code_mm])
    pixels = np.vstack([*[np.repeat(found[place][None], weight, axis=0) for place in found], code_pixels])
    if len(found) < 3:
        fit, _ = cv2.estimateAffine2D(mm, pixels, method=cv2.LMEDS)
        return np.vstack([fit, (0.0, 0.0, 1.0)]) if fit is not None else _similarity(code_mm, code_pixels)
    homography, _ = cv2.findHomography(mm, pixels, method=0)
    return np.asarray(homography, dtype=np.float64)


def _apply(transform: Points, points: Points) -> Points:
    return np.asarray(cv2.perspectiveTransform(points[None].astype(np.float64), transform)[0])


def _scale_at(transform: Points, point: Points) -> float:
    """Pixels a millimetre near a point."""
    near = _apply(transform, point + np.array([(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)]))
    return float(np.mean([np.linalg.norm(near[1] - near[0]), np.linalg.norm(near[2] - near[0])]))


def _blobs(gray: Gray, guess: Points, *, radius: float, reach: float) -> list[Points]:
    """The middles of round blobs of about this radius near a guess, nearest and roundest first."""
    left, top = (int(max(0, guess[axis] - reach)) for axis in (0, 1))
    part = gray[top : int(guess[1] + reach) + 1, left : int(guess[0] + reach) + 1]
    if min(part.shape, default=0) < 2 * radius:
        return []
    # Each picture is looked at at about 4 pixels a radius: fine enough, and quick for a scan of 600 dpi.
    shrink = min(1.0, 8.0 / radius)
    small = cv2.resize(part, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA) if shrink < 1 else part
    r = radius * shrink
    block = int(6 * r) | 1
    dark = cv2.adaptiveThreshold(small, 255, cv2.ADAPTIVE_THRESH_MEAN_C, cv2.THRESH_BINARY_INV, max(block, 3), 12)
    contours, _ = cv2.findContours(dark, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    found: list[tuple[float, Points]] = []
    for contour in contours:
        if len(contour) < 8:
            continue
        area = cv2.contourArea(contour)
        short, long = _sides(contour)
        if not 0.55 < area / (np.pi * r * r) < 1.7 or short < 0.62 * long or area < 0.62 * short * long:
            continue
        round_ness = 4 * np.pi * area / max(cv2.arcLength(contour, closed=True) ** 2, 1e-9)
        if round_ness < 0.62:
            continue
        moments = cv2.moments(contour)
        middle = np.array([moments["m10"], moments["m01"]]) / moments["m00"]
        middle = (middle + 0.5) / shrink - 0.5 + (left, top)
        cost = float(np.linalg.norm(middle - guess)) / reach + 1.5 * (1 - min(round_ness, 1.0))
        found.append((cost, middle))
    return [middle for _, middle in sorted(found, key=lambda one: one[0])]


def _sides(contour: Any) -> tuple[float, float]:
    """The sides of the smallest rectangle around a contour, short and long."""
    _, size, _ = cv2.minAreaRect(contour)
    return max(min(size), 1e-9), max(*size, 1e-9)


def _warp(gray: Gray, transform: Points, page_mm: Sequence[float]) -> Gray:
    size = (round(page_mm[0] * PX_PER_MM), round(page_mm[1] * PX_PER_MM))
    # A pixel's middle stands half a pixel into it, on both sides.
    to_mm = np.array([(1 / PX_PER_MM, 0, 0.5 / PX_PER_MM), (0, 1 / PX_PER_MM, 0.5 / PX_PER_MM), (0, 0, 1)])
    whole = transform @ to_mm
    shrunk = gray
    if _scale_at(transform, np.array(page_mm) / 2) > 1.8 * PX_PER_MM:
        shrunk = cv2.GaussianBlur(gray, (0, 0), 0.5)
    flat = cv2.warpPerspective(
        shrunk, whole, size, flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP, borderMode=cv2.BORDER_REPLICATE
    )
    return np.asarray(flat, dtype=np.uint8)


def _darkness(page: Gray, code_mm: Points) -> Darkness:
    """Paper as 0 and printed black as 1, by the darkest parts of the code, which is certainly printed."""
    ground = _ground(page)
    dark = 1.0 - page.astype(np.float32) / ground
    (left, top), (right, bottom) = (code_mm[0] * PX_PER_MM).astype(int), (code_mm[2] * PX_PER_MM).astype(int)
    black = float(np.percentile(dark[max(top, 0) : bottom, max(left, 0) : right], 80))
    return np.asarray(dark / max(black, 0.08), dtype=np.float32)
