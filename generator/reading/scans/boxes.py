"""What the boxes of a straightened page hold, each with how sure that is.

A small network looks at each box and its rim. It was trained on drawn marks (`tests/scans/train.py`, which also says
how sure its answers may be called), and its weights lie beside this file. Boxes about which it is not sure enough are
left to a person.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib import resources
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from generator.reading.scans.outlines import PX_PER_MM, Darkness, shifts_of

MARGIN_MM = 2.0
"""How much of the rim is looked at: marks run over it, and the next box is farther away."""
PATCH = 40
"""Pixels a side of what the network sees."""
CELL = 5
DIRECTIONS = 8
SURE = 0.995
"""Least confidence of a decision; below it a person decides. Chosen on the wear that the network was tuned on."""

Patches = NDArray[np.float32]


class Held(StrEnum):
    """What a box holds."""

    EMPTY = "empty"
    MARKED = "marked"
    """A tick or a cross."""
    LINE = "line"
    """One line through it: it could not be seen."""
    FILLED = "filled"
    """Blackened: a tick was taken back."""


CLASSES = (Held.EMPTY, Held.MARKED, Held.LINE, Held.FILLED)
"""In the order of the network's answers."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """One box as it was read. `confidence` is the share of boxes with such an answer of which it is true."""

    what: str
    held: Held
    confidence: float

    @property
    def is_sure(self) -> bool:
        """Whether a person need not look."""
        return self.confidence >= SURE


def read_boxes(darkness: Darkness, places: Sequence[Mapping[str, Any]]) -> tuple[Box, ...]:
    """Read the boxes among the geometry's places of one page, in their order."""
    boxes = [place for place in places if place["sort"] == "box"]
    if not boxes:
        return ()
    chances = chances_of(patches_of(darkness, boxes))
    return tuple(
        Box(what=str(place["what"]), held=CLASSES[int(row.argmax())], confidence=float(row.max()))
        for place, row in zip(boxes, chances, strict=True)
    )


def patches_of(darkness: Darkness, boxes: Sequence[Mapping[str, Any]]) -> Patches:
    """What the network sees of each box: number of boxes × PATCH × PATCH, darkness from 0 to 1."""
    shifts = shifts_of(darkness, boxes)
    patches = np.empty((len(boxes), PATCH, PATCH), np.float32)
    for place, (box, shift) in enumerate(zip(boxes, shifts, strict=True)):
        side = (float(box["width"]) + 2 * MARGIN_MM) * PX_PER_MM
        middle = (np.array([box["x"], box["y"]]) + float(box["width"]) / 2) * PX_PER_MM + shift - 0.5
        cut = cv2.getRectSubPix(darkness, (round(side), round(side)), (float(middle[0]), float(middle[1])))
        patches[place] = cv2.resize(cut, (PATCH, PATCH), interpolation=cv2.INTER_AREA)
    return np.clip(patches, 0.0, 1.2)


def features_of(patches: Patches) -> Patches:
    """What a stroke looks like, not where exactly it is: number of patches × 912.

    The patch at half its size, and how strongly its edges run in each of eight directions in cells of 5 × 5 pixels.
    """
    count, cells = len(patches), PATCH // CELL
    half = patches.reshape(count, PATCH // 2, 2, PATCH // 2, 2).mean(axis=(2, 4)).reshape(count, -1)
    across, down = np.zeros_like(patches), np.zeros_like(patches)
    across[:, :, 1:-1] = patches[:, :, 2:] - patches[:, :, :-2]
    down[:, 1:-1] = patches[:, 2:] - patches[:, :-2]
    strength = np.hypot(across, down)
    turn = np.mod(np.arctan2(down, across), np.pi) / np.pi * DIRECTIONS
    lower = np.floor(turn)
    share = turn - lower
    edges = np.zeros((count, cells, cells, DIRECTIONS), np.float32)
    for direction in range(DIRECTIONS):
        # An edge between two directions counts for both, by how near it is to each.
        part = np.where(lower % DIRECTIONS == direction, strength * (1 - share), 0)
        part += np.where((lower + 1) % DIRECTIONS == direction, strength * share, 0)
        edges[..., direction] = part.reshape(count, cells, CELL, cells, CELL).sum(axis=(2, 4))
    return np.hstack([half, np.sqrt(edges.reshape(count, -1)) * 0.5]).astype(np.float32)


def chances_of(patches: Patches) -> NDArray[np.float64]:
    """The chance of each class for each patch: number of boxes × 4, each row adding to 1."""
    layers, temperature = _network()
    values = features_of(patches)
    for weights, biases in layers[:-1]:
        values = np.maximum(values @ weights + biases, 0)
    weights, biases = layers[-1]
    scores = (values @ weights + biases).astype(np.float64) / temperature
    scores -= scores.max(axis=1, keepdims=True)
    chances = np.exp(scores)
    return np.asarray(chances / chances.sum(axis=1, keepdims=True))


@cache
def _network() -> tuple[tuple[tuple[NDArray[np.float32], NDArray[np.float32]], ...], float]:
    with resources.as_file(resources.files("generator.reading.scans") / "network.npz") as path, np.load(path) as kept:
        count = int(kept["layers"])
        layers = tuple(
            (kept[f"weights_{number}"].astype(np.float32), kept[f"biases_{number}"].astype(np.float32))
            for number in range(count)
        )
        return layers, float(kept["temperature"])
