"""What happens to a sheet between the pen and the reader: scanners, cameras, copiers, coffee. Drawn from a seed."""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np
from numpy.typing import NDArray

Gray = NDArray[np.uint8]
Wear = Callable[[Gray, np.random.Generator], Gray]
"""A page of 300 dpi, 255 paper, in; what the reader gets out."""


def at_dpi(gray: Gray, dpi: float) -> Gray:
    """The page at another resolution."""
    return cv2.resize(gray, None, fx=dpi / 300, fy=dpi / 300, interpolation=cv2.INTER_AREA)


def turned(gray: Gray, rng: np.random.Generator, *, degrees: float, perspective: float = 0.0) -> Gray:
    """The page turned and seen from an angle, on a table."""
    height, width = gray.shape
    corners = np.array([(0, 0), (width, 0), (width, height), (0, height)], np.float64)
    angle = np.deg2rad(degrees)
    turn = np.array([(np.cos(angle), -np.sin(angle)), (np.sin(angle), np.cos(angle))])
    moved = (corners - (width / 2, height / 2)) @ turn.T + rng.uniform(-perspective, perspective, (4, 2)) * width
    moved = moved - moved.min(axis=0) + 30
    size = np.ceil(moved.max(axis=0) + 30).astype(int)
    transform = cv2.getPerspectiveTransform(corners.astype(np.float32), moved.astype(np.float32))
    table = int(rng.integers(60, 246))
    return cv2.warpPerspective(gray, transform, (int(size[0]), int(size[1])), flags=cv2.INTER_AREA, borderValue=table)


def _noise(gray: Gray, rng: np.random.Generator, spread: float) -> Gray:
    return np.clip(gray + rng.normal(0, spread, gray.shape), 0, 255).astype(np.uint8)


def _jpeg(gray: Gray, quality: int) -> Gray:
    _, data = cv2.imencode(".jpg", gray, [cv2.IMWRITE_JPEG_QUALITY, quality])
    return cv2.imdecode(data, cv2.IMREAD_GRAYSCALE)


def _levels(gray: Gray, black: float, white: float) -> Gray:
    return (black + gray.astype(np.float32) / 255 * (white - black)).astype(np.uint8)


def flatbed(gray: Gray, rng: np.random.Generator) -> Gray:
    """200 dpi flat-bed: a degree askew, a little noise."""
    page = turned(gray, rng, degrees=rng.uniform(-1.5, 1.5))
    page = cv2.GaussianBlur(at_dpi(page, 200), (0, 0), rng.uniform(0.3, 0.6))
    return _jpeg(_noise(_levels(page, rng.uniform(10, 40), rng.uniform(235, 252)), rng, 2.5), 90)


def rotated(gray: Gray, rng: np.random.Generator) -> Gray:
    """Up to 15 degrees askew, sometimes upside down."""
    page = turned(gray, rng, degrees=rng.uniform(-15, 15) + rng.choice([0, 180]))
    return _jpeg(_noise(at_dpi(page, 200), rng, 3), 85)


def photographed(gray: Gray, rng: np.random.Generator) -> Gray:
    """By hand, with perspective, uneven light and a slight blur."""
    page = at_dpi(turned(gray, rng, degrees=rng.uniform(-8, 8), perspective=0.04), rng.uniform(150, 230))
    page = _shade(page, rng, strength=0.35)
    return _jpeg(_noise(cv2.GaussianBlur(page, (0, 0), rng.uniform(0.6, 1.1)), rng, 5), 75)


def shadowed(gray: Gray, rng: np.random.Generator) -> Gray:
    """A hand's shadow with a soft edge."""
    page = at_dpi(turned(gray, rng, degrees=rng.uniform(-3, 3), perspective=0.01), 200)
    return _jpeg(_noise(_shade(page, rng, strength=0.6, edge=True), rng, 4), 80)


def _shade(gray: Gray, rng: np.random.Generator, *, strength: float, edge: bool = False) -> Gray:
    height, width = gray.shape
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    angle = rng.uniform(0, 2 * np.pi)
    along = (x / width - 0.5) * np.cos(angle) + (y / height - 0.5) * np.sin(angle) - rng.uniform(-0.3, 0.3)
    share = 1 / (1 + np.exp(-along * 40)) if edge else along + 0.5
    return np.clip(gray * (1 - strength * np.clip(share, 0, 1)), 0, 255).astype(np.uint8)


def coarse(gray: Gray, rng: np.random.Generator) -> Gray:
    """100 dpi with strong compression."""
    page = at_dpi(turned(gray, rng, degrees=rng.uniform(-3, 3)), rng.uniform(100, 120))
    return _jpeg(_noise(page, rng, 3), 60)


def blurred(gray: Gray, rng: np.random.Generator) -> Gray:
    """Out of focus."""
    page = at_dpi(turned(gray, rng, degrees=rng.uniform(-4, 4)), 200)
    return _jpeg(_noise(cv2.GaussianBlur(page, (0, 0), rng.uniform(1.2, 2.0)), rng, 3), 80)


def copied(gray: Gray, rng: np.random.Generator) -> Gray:
    """A photocopy: hard contrast that thickens or thins every stroke, and specks."""
    page = at_dpi(turned(gray, rng, degrees=rng.uniform(-2, 2)), 200)
    soft = cv2.GaussianBlur(page, (0, 0), 0.8).astype(np.float32)
    hard = 255 / (1 + np.exp(-(soft - rng.uniform(130, 190)) / 14))
    specks = rng.random(page.shape) > 0.9996
    hard[cv2.dilate(specks.astype(np.uint8), np.ones((2, 2), np.uint8)) > 0] = 20
    return _noise(hard.astype(np.uint8), rng, 2)


def stained(gray: Gray, rng: np.random.Generator) -> Gray:
    """A coffee ring or two and a fold."""
    page = turned(gray, rng, degrees=rng.uniform(-3, 3)).astype(np.float32)
    height, width = page.shape
    for _ in range(int(rng.integers(1, 3))):
        middle = (int(rng.uniform(0, width)), int(rng.uniform(0, height)))
        ring = np.zeros(page.shape, np.float32)
        radius = int(rng.uniform(300, 520))
        cv2.circle(ring, middle, radius, 1.0, int(rng.uniform(20, 60)))
        cv2.circle(ring, middle, radius, 0.35, -1)
        ring = cv2.GaussianBlur(ring, (0, 0), 9)
        page *= 1 - rng.uniform(0.15, 0.4) * np.clip(ring, 0, 1)
    fold = int(rng.uniform(0.3, 0.7) * height)
    page[fold - 2 : fold + 2] *= 0.82
    return _jpeg(_noise(at_dpi(np.clip(page, 0, 255).astype(np.uint8), 200), rng, 3), 80)


def fine(gray: Gray, rng: np.random.Generator) -> Gray:
    """300 dpi, clean."""
    return _noise(turned(gray, rng, degrees=rng.uniform(-1, 1)), rng, 2)


TUNED_ON: dict[str, Wear] = {
    wear.__name__: wear for wear in (flatbed, rotated, photographed, shadowed, coarse, blurred, copied, stained, fine)
}
"""Kinds of wear that the reader was tuned on."""


def faxed(gray: Gray, rng: np.random.Generator) -> Gray:
    """Two levels only, with dithering: 200 dpi."""
    page = at_dpi(turned(gray, rng, degrees=rng.uniform(-2, 2)), 200).astype(np.float32)
    spread = rng.uniform(20, 45)
    return np.where(page + rng.normal(0, spread, page.shape) > 140, 255, 0).astype(np.uint8)


def shaken(gray: Gray, rng: np.random.Generator) -> Gray:
    """Moved while the picture was taken."""
    page = at_dpi(turned(gray, rng, degrees=rng.uniform(-6, 6), perspective=0.02), 200)
    length = int(rng.integers(4, 8))
    kernel = np.zeros((length, length), np.float32)
    cv2.line(kernel, (0, int(rng.integers(0, length))), (length - 1, int(rng.integers(0, length))), 1.0)
    return _jpeg(_noise(cv2.filter2D(page, -1, kernel / kernel.sum()), rng, 4), 75)


def faded(gray: Gray, rng: np.random.Generator) -> Gray:
    """A weak scan: everything between light and mid gray."""
    page = at_dpi(turned(gray, rng, degrees=rng.uniform(-2, 2)), 150)
    return _noise(_levels(page, rng.uniform(90, 130), rng.uniform(215, 235)), rng, 4)


def curled(gray: Gray, rng: np.random.Generator) -> Gray:
    """Paper that does not lie flat: rows shift sideways in a wave of up to a millimeter."""
    page = at_dpi(gray, 200)
    height, width = page.shape
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    phase, size = rng.uniform(0, 2 * np.pi), rng.uniform(2, 7)
    moved = cv2.remap(page, x + size * np.sin(y / height * 2 * np.pi + phase), y, cv2.INTER_LINEAR, borderValue=255)
    return _jpeg(_noise(moved, rng, 4), 80)


NEVER_TUNED_ON: dict[str, Wear] = {wear.__name__: wear for wear in (faxed, shaken, faded, curled)}
"""Kinds of wear that were used only to report."""
