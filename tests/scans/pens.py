"""Marks as people make them with pens and pencils, drawn over a printed page. Everything is drawn from a seed.

The shapes are invented from what hands do; no collection of real marks was used, and the results say so.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

KINDS = ("empty", "marked", "line", "filled")
"""What a box can hold: nothing, a tick or a cross, one line through it, or solid black."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pen:
    """A pen: stroke width in mm, darkness 0 to 1 as a scanner sees it, and how grainy its stroke is."""

    width: float
    darkness: float
    grain: float


def any_pen(rng: np.random.Generator) -> Pen:
    """Ball-point black or blue, red, felt, gel, or pencil from soft to light."""
    sort = rng.choice(
        ["ball", "blue", "red", "felt", "gel", "pencil", "light pencil"], p=[0.25, 0.2, 0.06, 0.14, 0.15, 0.12, 0.08]
    )
    width, darkness, grain = {
        "ball": (0.45, 0.85, 0.12),
        "blue": (0.45, 0.68, 0.12),
        "red": (0.5, 0.48, 0.08),
        "felt": (1.0, 0.92, 0.02),
        "gel": (0.6, 0.95, 0.03),
        "pencil": (0.55, 0.55, 0.35),
        "light pencil": (0.5, 0.36, 0.4),
    }[str(sort)]
    return Pen(
        width=float(width * rng.uniform(0.75, 1.35)),
        darkness=float(np.clip(darkness * rng.uniform(0.88, 1.12), 0.28, 1.0)),
        grain=float(grain),
    )


def mark(
    ink: NDArray[np.float32],
    box: tuple[float, float, float],
    kind: str,
    *,
    scale: float,
    rng: np.random.Generator,
    pen: Pen,
) -> None:
    """Draw one mark into a page of ink (0 none to 1 black). `box` is left, top, side in mm; `scale` pixels a mm."""
    left, top, side = box
    for stroke, width in _strokes(kind, side, rng, pen):
        _draw(ink, np.add(stroke, (left, top)) * scale, width * scale, pen, rng)


def stray(
    ink: NDArray[np.float32], box: tuple[float, float, float], *, scale: float, rng: np.random.Generator, pen: Pen
) -> None:
    """Something near a box that is not a mark in it: a dot, a touch at the rim, the tail of a word."""
    left, top, side = box
    sort = rng.integers(0, 4)
    if sort == 0:  # a resting pen
        spot = rng.uniform(-0.2, 1.2, 2) * side
        stroke, width = np.array([spot, spot + rng.normal(0, 0.12, 2)]), pen.width * 0.8
    elif sort == 1:  # a tail that ends at the rim
        angle = rng.uniform(0, 2 * np.pi)
        far = np.array([np.cos(angle), np.sin(angle)])
        start = side / 2 + far * side * rng.uniform(0.62, 0.75)
        stroke, width = np.array([start, start + far * rng.uniform(1, 4)]), pen.width
    elif sort == 2:  # a line that passes beside the box
        offset = side * rng.choice([-0.12, 1.12]) + rng.normal(0, 0.1)
        across = np.array([[-0.4, 0.0], [1.4, 0.0]]) * side + (0, offset)
        stroke, width = across if rng.random() < 0.5 else across[:, ::-1], pen.width
    else:  # a small hook over the edge
        edge = np.array([rng.uniform(0.1, 0.9) * side, rng.choice([-0.1, 1.1]) * side])
        stroke, width = np.array([edge, edge + rng.normal(0, 0.35, 2)]), pen.width * 0.9
    _draw(ink, np.add(stroke, (left, top)) * scale, width * scale, pen, rng)


def _strokes(kind: str, side: float, rng: np.random.Generator, pen: Pen) -> list[tuple[NDArray[np.float64], float]]:
    if kind == "empty":
        return []
    if kind == "marked":
        return _tick(side, rng, pen) if rng.random() < 0.72 else _cross(side, rng, pen)
    if kind == "line":
        return _line(side, rng, pen)
    return _filled(side, rng, pen)


def _tick(side: float, rng: np.random.Generator, pen: Pen) -> list[tuple[NDArray[np.float64], float]]:
    size = side * rng.uniform(0.6, 1.45)
    vertex = np.array([rng.uniform(0.3, 0.5), rng.uniform(0.68, 1.0)]) * side
    down = np.array([-rng.uniform(0.22, 0.4), -rng.uniform(0.22, 0.5)]) * size
    up = np.array([rng.uniform(0.4, 0.75), -rng.uniform(0.6, 0.95)]) * size
    points = _curve([vertex + down, vertex, vertex + up], rng, bend=0.05 * size)
    return [(points, pen.width)]


def _cross(side: float, rng: np.random.Generator, pen: Pen) -> list[tuple[NDArray[np.float64], float]]:
    middle = side * (0.5 + rng.normal(0, 0.06, 2))
    half = side * rng.uniform(0.3, 0.62)
    strokes = []
    for sign in (1, -1):
        tilt = np.deg2rad(45 + rng.normal(0, 9))
        arm = half * np.array([np.cos(tilt), sign * np.sin(tilt)]) * rng.uniform(0.85, 1.15)
        strokes.append(
            (_curve([middle - arm, middle + rng.normal(0, 0.05, 2), middle + arm], rng, bend=0.15), pen.width)
        )
    return strokes


def _line(side: float, rng: np.random.Generator, pen: Pen) -> list[tuple[NDArray[np.float64], float]]:
    tilt = np.deg2rad(rng.choice([0.0, 0.0, -45.0, 45.0, -20.0]) + rng.normal(0, 7))
    half = side * rng.uniform(0.6, 0.95)
    middle = side * (0.5 + rng.normal(0, 0.07, 2))
    arm = half * np.array([np.cos(tilt), np.sin(tilt)])
    return [(_curve([middle - arm, middle + rng.normal(0, 0.06, 2), middle + arm], rng, bend=0.12), pen.width)]


def _filled(side: float, rng: np.random.Generator, pen: Pen) -> list[tuple[NDArray[np.float64], float]]:
    """A box blackened to and fro, often over a tick."""
    strokes = _tick(side, rng, pen) if rng.random() < 0.6 else []
    width = max(pen.width, 0.6)
    rows = int(side / (width * rng.uniform(0.55, 0.85)))
    tilt = rng.normal(0, 0.25) + rng.choice([0.0, np.pi / 4])
    turn = np.array([[np.cos(tilt), -np.sin(tilt)], [np.sin(tilt), np.cos(tilt)]])
    zigzag = []
    reach = rng.uniform(0.48, 0.62)
    for row, y in enumerate(np.linspace(-0.46, 0.46, rows)):
        x = reach * (1 if row % 2 else -1)
        zigzag.append((np.array([x, y]) + rng.normal(0, 0.025, 2)) * side)
    strokes.append((np.array(zigzag) @ turn.T + side / 2, width))
    return strokes


def _curve(points: list[NDArray[np.float64]], rng: np.random.Generator, *, bend: float) -> NDArray[np.float64]:
    """A line through points that trembles a little."""
    found = [points[0]]
    for start, end in pairwise(points):
        middle = (start + end) / 2 + rng.normal(0, bend, 2)
        for share in np.linspace(0, 1, 9)[1:]:
            found.append((1 - share) ** 2 * start + 2 * share * (1 - share) * middle + share**2 * end)
    return np.array(found) + rng.normal(0, 0.03, (len(found), 2))


def _draw(
    ink: NDArray[np.float32], points: NDArray[np.float64], width: float, pen: Pen, rng: np.random.Generator
) -> None:
    margin = int(width * 2 + 4)
    low = np.maximum(np.floor(points.min(axis=0)).astype(int) - margin, 0)
    high = np.ceil(points.max(axis=0)).astype(int) + margin
    part = ink[low[1] : high[1], low[0] : high[0]]
    if part.size == 0:
        return
    layer = np.zeros(part.shape, np.uint8)
    at = np.round((points - low) * (1 << 4)).astype(np.int32)
    cv2.polylines(layer, [at.reshape(-1, 1, 2)], False, 255, max(1, round(width)), cv2.LINE_AA, 4)
    stroke = layer.astype(np.float32) / 255 * pen.darkness
    if pen.grain:
        noise = cv2.GaussianBlur(rng.random(part.shape, dtype=np.float32), (0, 0), 0.8)
        stroke *= 1 - pen.grain * np.clip((noise - 0.5) * 6 + 0.5, 0, 1)
    np.maximum(part, stroke, out=part)
