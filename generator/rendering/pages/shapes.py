"""Marks that read without colour: each meaning has a word and a shape, drawn inline so that nothing is fetched."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache, lru_cache

from markupsafe import Markup

from generator.model import Worth

_BODIES = {
    # Worth: filled shapes are honest, hollow ones are not; square, disc, cross and dashes differ at a glance.
    "measured": '<rect x="2" y="2" width="20" height="20" rx="2" fill="currentColor"/>'
    '<path d="M7 17v-4M12 17V7M17 17v-7" stroke="var(--rb-paper,#fff)" stroke-width="3"/>',
    "earned": '<circle cx="12" cy="12" r="10.5" fill="currentColor"/>'
    '<path d="M7 12.5l3.5 3.5L17.5 8.5" fill="none" stroke="var(--rb-paper,#fff)" stroke-width="3"/>',
    "given": '<circle cx="12" cy="12" r="9.75" fill="none" stroke="currentColor" stroke-width="2.5"/>'
    '<path d="M8 8l8 8M16 8l-8 8" stroke="currentColor" stroke-width="2.75"/>',
    "silent": '<circle cx="12" cy="12" r="9.75" fill="none" stroke="currentColor" stroke-width="2.5" '
    'stroke-dasharray="3.2 3.6"/>',
    "unfit": '<path d="M3 21L21 3" stroke="currentColor" stroke-width="2.5"/>',
    # Levels of caution.
    "warning": '<path d="M12 1.5L23.5 22H.5z" fill="currentColor"/>'
    '<path d="M12 8.5v6.5M12 17v2.6" stroke="var(--rb-paper,#fff)" stroke-width="2.75"/>',
    "caution": '<path d="M12 .8L23.2 12 12 23.2.8 12z" fill="none" stroke="currentColor" stroke-width="2.5"/>'
    '<path d="M12 6.5V13M12 15v2.6" stroke="currentColor" stroke-width="2.75"/>',
    "note": '<circle cx="12" cy="12" r="10" fill="none" stroke="currentColor" stroke-width="2"/>'
    '<path d="M12 10.5V18M12 6v2.6" stroke="currentColor" stroke-width="2.5"/>',
    # Other marks.
    "critical": '<path d="M7.5 1h9L23 7.5v9L16.5 23h-9L1 16.5v-9z" fill="currentColor"/>',
    "provisional": '<path d="M3 3h18v18H3z" fill="none" stroke="currentColor" stroke-width="2.25" '
    'stroke-dasharray="4 3"/><path d="M9 9.5a3 3 0 1 1 3 3.2v1.6M12 16v2.4" fill="none" stroke="currentColor" '
    'stroke-width="2.25"/>',
    "local": '<path d="M4 23V2h14l-3.5 5L18 12H6" fill="none" stroke="currentColor" stroke-width="2.75"/>',
    "sheet": '<path d="M5 1.5h10l4.5 4.5v16.5H5z" fill="none" stroke="currentColor" stroke-width="2"/>'
    '<path d="M8 10h8M8 14h8M8 18h5" stroke="currentColor" stroke-width="2"/>',
}

TABLE_SHAPES = ("measured", "earned", "given", "silent", "unfit")
"""The shapes of a worth table."""

WORTH_SAYS = {
    Worth.MEASURED: "The result appears only when the technique is right, and it shows a number.",
    Worth.EARNED: "The result appears only when the technique is right.",
    Worth.GIVEN: "The result appears whatever the hands do. It proves nothing.",
    Worth.SILENT: "No feedback. A person must watch.",
}


SHAPES = frozenset(_BODIES)
"""Names of the marks."""


@cache
def shape(name: str) -> Markup:
    """An inline picture of one mark, hidden from screen readers because its word always stands beside it."""
    return Markup(
        f'<svg class="rb-shape rb-shape-{name}" viewBox="0 0 24 24" width="24" height="24" aria-hidden="true" '
        f'focusable="false">{_BODIES[name]}</svg>'
    )


def symbols(names: Iterable[str]) -> Markup:
    """The shapes that a table uses many times, drawn once; `used` then points at them."""
    drawn = Markup().join(
        Markup(f'<symbol id="rb-shape-{name}" viewBox="0 0 24 24">{_BODIES[name]}</symbol>') for name in names
    )
    return Markup('<svg class="rb-symbols" width="0" height="0" aria-hidden="true" focusable="false">{}</svg>').format(
        drawn
    )


@cache
def used(name: str) -> Markup:
    """One of the shapes that `symbols` drew."""
    return Markup(f'<svg class="rb-shape" viewBox="0 0 24 24" aria-hidden="true"><use href="#rb-shape-{name}"/></svg>')


@lru_cache(1_000, typed=True)  # typed: words that are markup already are not those that look like it
def mark(kind: str, word: str) -> Markup:
    """A shape with its word."""
    return Markup('<span class="rb-mark rb-mark-{}">{}{}</span>').format(kind, shape(kind), word)
