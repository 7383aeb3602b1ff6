"""The printed outlines of boxes on a straightened page: how far each lies from its place, and whether it is there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

PX_PER_MM = 8
"""Pixels a millimetre of a straightened sheet: about 200 dpi."""
SHIFT_MM = 1.3
"""How far a box may lie from where the whole page says: paper curls."""
THERE = 0.3
"""How much darker than what is around it an outline must be, on the average, to count as found."""

Darkness = NDArray[np.float32]
"""Rows × columns of a straightened sheet, 0 paper to 1 printed black, sometimes a little more or less."""


def shifts_of(darkness: Darkness, boxes: Sequence[Mapping[str, Any]]) -> NDArray[np.float64]:
    """How far each box lies from its place: number of boxes × 2, in pixels. Its outline is looked for, and what one
    box says must agree with its neighbours.
    """
    reach = round(SHIFT_MM * PX_PER_MM)
    found = np.zeros((len(boxes), 2))
    for place, box in enumerate(boxes):
        frame = _frame(round(float(box["width"]) * PX_PER_MM))
        fit = cv2.matchTemplate(np.clip(_part(darkness, box, frame.shape[0] + 2 * reach), 0, 1), frame, cv2.TM_CCOEFF)
        _, _, _, (x, y) = cv2.minMaxLoc(fit)
        found[place] = (x - reach, y - reach)
    smooth = np.repeat(np.median(found, axis=0)[None], len(boxes), axis=0)
    near = np.linalg.norm(found - smooth, axis=1) < 0.8 * PX_PER_MM
    if near.sum() >= 6:
        at = np.array([(box["x"], box["y"]) for box in boxes], np.float64)
        basis = np.column_stack([np.ones(len(at)), at, at[:, 1] ** 2])
        fit_to, *_ = np.linalg.lstsq(basis[near], found[near], rcond=None)
        smooth = basis @ fit_to
    apart = np.linalg.norm(found - smooth, axis=1) > 0.45 * PX_PER_MM
    found[apart] = smooth[apart]
    return found


def share_there(darkness: Darkness, boxes: Sequence[Mapping[str, Any]]) -> float:
    """The share of boxes whose outline is printed where it should be; 1 for a page without boxes."""
    if not boxes:
        return 1.0
    shifts = shifts_of(darkness, boxes)
    there = 0
    for box, shift in zip(boxes, shifts, strict=True):
        side = round(float(box["width"]) * PX_PER_MM)
        line, beside = _rims(side)
        part = _part(darkness, box, line.shape[0], shift)
        # Each side must be there: two lines of a table look like half a box.
        contrast = [
            float(part[one].mean() - np.minimum(part[other], 1).mean())
            for one, other in zip(_sides(line), _sides(beside), strict=True)
        ]
        there += sorted(contrast)[1] >= THERE
    return there / len(boxes)


def _part(darkness: Darkness, box: Mapping[str, Any], side: int, shift: Any = (0.0, 0.0)) -> Darkness:
    middle = (np.array([box["x"], box["y"]]) + float(box["width"]) / 2) * PX_PER_MM - 0.5 + shift
    return np.asarray(cv2.getRectSubPix(darkness, (side, side), (float(middle[0]), float(middle[1]))))


@cache
def _frame(side: int) -> NDArray[np.float32]:
    """The outline of an empty box, dark on light, softened."""
    pad = 6
    frame = np.zeros((side + 2 * pad, side + 2 * pad), np.float32)
    cv2.rectangle(frame, (pad, pad), (pad + side - 1, pad + side - 1), 1.0, 3)
    return np.asarray(cv2.GaussianBlur(frame, (0, 0), 0.8), dtype=np.float32)


@cache
def _rims(side: int) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Which pixels are the outline, and which lie just outside it."""
    pad = 10
    size = side + 2 * pad
    line, outside = np.zeros((size, size), np.uint8), np.zeros((size, size), np.uint8)
    cv2.rectangle(line, (pad, pad), (size - pad - 1, size - pad - 1), 1, 2)
    cv2.rectangle(outside, (pad - 7, pad - 7), (size - pad + 6, size - pad + 6), 1, 3)
    return line.astype(bool), outside.astype(bool)


def _sides(mask: NDArray[np.bool_]) -> tuple[NDArray[np.bool_], ...]:
    """The four sides of a square ring, without its corners."""
    size = mask.shape[0]
    y, x = np.mgrid[0:size, 0:size] - (size - 1) / 2
    return tuple(
        mask & side
        for side in (
            (y < -np.abs(x) - 4), (y > np.abs(x) + 4), (x < -np.abs(y) - 4), (x > np.abs(y) + 4),
        )
    )  # fmt: skip
