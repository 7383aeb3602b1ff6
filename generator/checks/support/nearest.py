"""The nearest right name to a wrong one."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches


def did_you_mean(wrong: str, known: Iterable[str], *, otherwise: str) -> str:
    """A remedy that names the nearest known id, or `otherwise` when none is near."""
    near = get_close_matches(wrong, sorted(known), n=1, cutoff=0.6)
    return f"Did you mean `{near[0]}`? If not: {otherwise[0].lower()}{otherwise[1:]}" if near else otherwise


def in_words(names: Iterable[str]) -> str:
    """Names as a list in a sentence: `a`, `a and b`, `a, b and c`."""
    listed = [f"`{name}`" for name in names]
    return listed[0] if len(listed) == 1 else f"{', '.join(listed[:-1])} and {listed[-1]}" if listed else "none"
