"""Train the network that reads boxes, on drawn marks and the wear of `wear.TUNED_ON`, and write its weights.

    python tests/scans/train.py [--pages 900] [--seed 1] [--rounds 24]

Marks and pages are drawn, not collected: see `pens.py`. A page of boxes is drawn with the same corner marks and code
as a sheet, worn, straightened by the product's own reader and cut up. Confidence is calibrated by one temperature on
pages that were not trained on (Guo et al. 2017, "On calibration of modern neural networks"; value from memory).
"""

from __future__ import annotations

import argparse
import io
import sys
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import segno

sys.path.insert(0, str(Path(__file__).parent))
import pens
import wear

from generator.reading.scans.boxes import CLASSES, features_of, patches_of
from generator.reading.scans.straighten import find_codes, straighten

PAGE_MM = (210.0, 297.0)
SCALE = 300 / 25.4
SHARES = (0.34, 0.32, 0.17, 0.17)
"""How often each of empty, marked, line and filled is drawn."""


def blank(rng: np.random.Generator) -> tuple[np.ndarray[Any, Any], list[dict[str, Any]]]:
    """A page full of boxes with clutter between them, and its geometry."""
    page = np.full((round(PAGE_MM[1] * SCALE), round(PAGE_MM[0] * SCALE)), 255, np.uint8)
    places: list[dict[str, Any]] = []
    for name, x, y in (("tl", 12.0, 17.8), ("tr", 193.0, 17.8), ("bl", 12.0, 274.2), ("br", 193.0, 274.2)):
        middle = tuple(round((v + 2.5) * SCALE * 16) for v in (x, y))
        cv2.circle(page, middle, round(2.5 * SCALE * 16), 0, -1, cv2.LINE_AA, 4)
        if name == "tl":
            cv2.circle(page, middle, round(1.1 * SCALE * 16), 255, -1, cv2.LINE_AA, 4)
        places.append({"sort": "corner", "what": f"corner:{name}", "x": x, "y": y, "width": 5.0, "height": 5.0})
    code = segno.make_qr("CHECKLIST:TRAINING:00000000:A4:1", error="q")
    drawing = io.BytesIO()
    code.save(drawing, kind="png", scale=1, border=0)
    modules = cv2.imdecode(np.frombuffer(drawing.getvalue(), np.uint8), cv2.IMREAD_GRAYSCALE)
    x, y = round(169 * SCALE), round(259.2 * SCALE)
    side = round(20 * SCALE)
    page[y : y + side, x : x + side] = cv2.resize(modules, (side, side), interpolation=cv2.INTER_NEAREST)
    places.append({"sort": "code", "what": "code", "x": 169.0, "y": 259.2, "width": 20.0, "height": 20.0})
    for top in np.arange(26.0, 252.0, 12.6):
        for left in np.arange(16.0, 190.0, 12.9):
            at = np.array([left, top]) + rng.uniform(0, 1.0, 2)
            low = tuple(np.round(at * SCALE * 16).astype(int).tolist())
            high = tuple(np.round((at + 6) * SCALE * 16).astype(int).tolist())
            cv2.rectangle(page, low, high, 0, max(1, round(rng.uniform(0.3, 0.45) * SCALE)), cv2.LINE_AA, 4)
            if rng.random() < 0.35:  # the frame of a row or the first letters of a label
                far = np.add(at, (rng.uniform(8.0, 8.6), rng.uniform(0, 6)))
                cv2.putText(page, "ab", tuple(np.round(far * SCALE).astype(int).tolist()), 0, 1.4, 0, 4, cv2.LINE_AA)
            places.append(
                {"sort": "box", "what": "box", "x": float(at[0]), "y": float(at[1]), "width": 6.0, "height": 6.0}
            )
    return page, places


def one_page(seed: int) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any], str]:
    """Patches and classes of one worn page; none where the page could not be straightened."""
    cv2.setNumThreads(1)
    rng = np.random.default_rng(seed)
    page, places = blank(rng)
    ink = np.zeros(page.shape, np.float32)
    boxes = [place for place in places if place["sort"] == "box"]
    classes = rng.choice(len(CLASSES), size=len(boxes), p=SHARES)
    for box, number in zip(boxes, classes, strict=True):
        at = (box["x"], box["y"], box["width"])
        pens.mark(ink, at, pens.KINDS[number], scale=SCALE, rng=rng, pen=pens.any_pen(rng))
        if rng.random() < 0.22:
            pens.stray(ink, at, scale=SCALE, rng=rng, pen=pens.any_pen(rng))
    name = list(wear.TUNED_ON)[seed % len(wear.TUNED_ON)]
    gray = wear.TUNED_ON[name]((page * (1 - ink)).astype(np.uint8), rng)
    codes = find_codes(gray)
    straight = straighten(gray, codes[0], places, PAGE_MM) if codes else None
    if straight is None:
        return np.empty((0, 0, 0), np.float32), np.empty(0, int), name
    return patches_of(straight.darkness, boxes), classes, name


def main() -> None:
    """Train, calibrate, report and write the weights."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pages", type=int, default=900)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rounds", type=int, default=24)
    parser.add_argument("--workers", type=int, default=2)
    options = parser.parse_args()

    from sklearn.neural_network import MLPClassifier

    seeds = [options.seed * 1_000_000 + number for number in range(options.pages)]
    with ProcessPoolExecutor(options.workers) as pool:
        pages = [page for page in pool.map(one_page, seeds, chunksize=4) if len(page[1])]
    print(f"{len(pages)} of {options.pages} pages straightened")
    order = np.random.default_rng(options.seed).permutation(len(pages))
    cut = max(1, len(pages) // 6)
    rest, last = [pages[place] for place in order[cut:]], [pages[place] for place in order[:cut]]
    seen = np.concatenate([features_of(page[0]) for page in rest])
    classes = np.concatenate([page[1] for page in rest])
    network = MLPClassifier(
        (96, 48),
        batch_size=256,
        learning_rate_init=6e-4,
        alpha=3e-4,
        max_iter=options.rounds,
        random_state=options.seed,
        verbose=True,
    )
    network.fit(seen, classes)

    truth = np.concatenate([page[1] for page in last])
    values = np.concatenate([features_of(page[0]) for page in last])
    for weights, biases in zip(network.coefs_[:-1], network.intercepts_[:-1], strict=True):
        values = np.maximum(values @ weights + biases, 0)
    scores = values @ network.coefs_[-1] + network.intercepts_[-1]

    def loss(temperature: float) -> float:
        scaled = scores / temperature
        scaled = scaled - scaled.max(axis=1, keepdims=True)
        return float(np.mean(np.log(np.exp(scaled).sum(axis=1)) - scaled[np.arange(len(truth)), truth]))

    temperature = min(np.linspace(0.5, 6, 111), key=loss)
    scaled = np.exp(scores / temperature - (scores / temperature).max(axis=1, keepdims=True))
    chances = scaled / scaled.sum(axis=1, keepdims=True)
    wrong = chances.argmax(axis=1) != truth
    print(f"temperature {temperature:.2f}; {wrong.sum()} of {len(truth)} wrong without doubts")
    worn = np.concatenate([[page[2]] * len(page[1]) for page in last])
    for name in wear.TUNED_ON:
        print(f"  {name}: {wrong[worn == name].sum()} of {(worn == name).sum()} wrong without doubts")
    for sure in (0.9, 0.97, 0.99, 0.995, 0.998, 0.999, 0.9995):
        decided = chances.max(axis=1) >= sure
        print(f"sure {sure}: {(~decided).mean():.2%} doubtful, {(wrong & decided).sum()} wrong of {decided.sum()}")

    kept: dict[str, Any] = {"layers": len(network.coefs_), "temperature": temperature}
    for number, (weights, biases) in enumerate(zip(network.coefs_, network.intercepts_, strict=True)):
        kept[f"weights_{number}"] = weights.astype(np.float16)
        kept[f"biases_{number}"] = biases.astype(np.float16)
    target = Path(__file__).parents[2] / "generator" / "reading" / "scans" / "network.npz"
    np.savez_compressed(target, **kept)
    print(f"wrote {target.name}, {target.stat().st_size // 1024} KiB")


if __name__ == "__main__":
    main()
