"""Small plots as SVG text, drawn by hand: no library, no script, and readable in grey.

Lines differ by dash, named in a key; an interval is a bar with a dot. Colours come from the page's
own custom properties, so a plot follows the page to paper and to the dark.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup, escape

_WIDTH, _HEIGHT = 520, 364
_LEFT, _RIGHT, _TOP, _BOTTOM = 62, 14, 40, 52
_KEY = 150
_DASHES = ("none", "9 5", "2 5", "14 4 2 4")
_BAR = 132
_LETTER_WIDTH = 8
"""Of a letter of a plot, a little high."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of a plot; x and y are shares from 0 to 1."""

    label: str
    points: tuple[tuple[float, float], ...]


def curves(lines: Sequence[Line], *, title: str, across: str, up: str) -> Markup:
    """Lines over a square of shares, each with its own dash, and a key above them in the order of the lines."""
    body = [_grid(across, up)]
    for number, line in enumerate(lines):
        dash = f'stroke="var(--ink)" stroke-width="2.5" stroke-dasharray="{_DASHES[number % len(_DASHES)]}"'
        at = _LEFT + number * _KEY
        body.append(
            f'<path d="M{at} 18h34" fill="none" {dash}/>'
            f'<text x="{at + 42}" y="23" class="plot-label"{_squeezed(line.label, _KEY - 50)}>'
            f"{escape(line.label)}</text>"
            f'<polyline points="{" ".join(f"{_x(x):.1f},{_y(y):.1f}" for x, y in line.points)}" fill="none" {dash}/>'
        )
    return Markup(
        f'<svg class="plot" viewBox="0 0 {_WIDTH} {_HEIGHT}" role="img" aria-label="{escape(title)}">'
        f"{''.join(body)}</svg>"
    )


def interval_bar(low: float, share: float, high: float) -> Markup:
    """A share with its interval on a line from 0 to 1. Hidden from screen readers: the numbers stand beside it."""
    return _bar(low, share, high, start=0.0, end=1.0, ticks=(0.0, 0.5, 1.0))


def difference_bar(low: float, difference: float, high: float) -> Markup:
    """A difference of shares with its interval on a line from -0.5 to 0.5, cut there, with a mark at 0."""
    return _bar(low, difference, high, start=-0.5, end=0.5, ticks=(-0.5, 0.0, 0.5))


def _bar(low: float, value: float, high: float, *, start: float, end: float, ticks: Sequence[float]) -> Markup:
    def at(number: float) -> float:
        inside = min(max(number, start), end)
        return round(6 + (inside - start) / (end - start) * (_BAR - 12), 1)

    marks = "".join(f'<path d="M{at(tick)} 4v16" stroke="var(--line)" stroke-width="1"/>' for tick in ticks)
    return Markup(
        f'<svg class="bar" viewBox="0 0 {_BAR} 24" width="{_BAR}" height="24" aria-hidden="true" focusable="false">'
        f'<path d="M6 12H{_BAR - 6}" stroke="var(--line)" stroke-width="1"/>{marks}'
        f'<path d="M{at(low)} 12H{max(at(high), at(low) + 1)}" stroke="var(--ink)" stroke-width="6"/>'
        f'<circle cx="{at(value)}" cy="12" r="4.5" fill="var(--paper)" stroke="var(--ink)" stroke-width="2"/></svg>'
    )


def _squeezed(text: str, room: float) -> str:
    """An attribute that holds a text to its room, as labels of other languages may be longer."""
    if len(text) * _LETTER_WIDTH <= room:
        return ""
    return f' textLength="{room:.0f}" lengthAdjust="spacingAndGlyphs"'


def _x(share: float) -> float:
    return _LEFT + share * (_WIDTH - _LEFT - _RIGHT)


def _y(share: float) -> float:
    return _HEIGHT - _BOTTOM - share * (_HEIGHT - _TOP - _BOTTOM)


def _grid(across: str, up: str) -> str:
    parts = []
    for step in range(0, 11, 2):
        share = step / 10
        heavy = 1.6 if step == 0 else 0.6
        parts.append(
            f'<path d="M{_x(0):.1f} {_y(share):.1f}H{_x(1):.1f}M{_x(share):.1f} {_y(0):.1f}V{_y(1):.1f}" '
            f'stroke="var(--line)" stroke-width="{heavy}" fill="none"/>'
            f'<text x="{_x(0) - 8:.1f}" y="{_y(share) + 5:.1f}" text-anchor="end">{step * 10}</text>'
            f'<text x="{_x(share):.1f}" y="{_y(0) + 20:.1f}" text-anchor="middle">{step * 10}</text>'
        )
    middle_y = (_y(0) + _y(1)) / 2
    parts.append(
        f'<text x="{(_x(0) + _x(1)) / 2:.1f}" y="{_HEIGHT - 8}" text-anchor="middle"'
        f"{_squeezed(across, _x(1) - _x(0))}>{escape(across)}</text>"
        f'<text x="16" y="{middle_y:.1f}" text-anchor="middle" transform="rotate(-90 16 {middle_y:.1f})"'
        f"{_squeezed(up, _y(0) - _y(1))}>"
        f"{escape(up)}</text>"
    )
    return "".join(parts)
