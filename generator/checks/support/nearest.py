"""The nearest right name to a wrong one."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches
from functools import lru_cache


def did_you_mean(wrong: str, known: Iterable[str], *, otherwise: str) -> str:
    """A remedy that names the nearest known id, or `otherwise` when none is near."""
    near = _nearest(wrong, frozenset(known))
    return f"Did you mean `{near}`? If not: {otherwise[0].lower()}{otherwise[1:]}" if near else otherwise


@lru_cache(maxsize=1024)
def _nearest(wrong: str, known: frozenset[str]) -> str | None:
    """Kept, because one renamed record can leave a thousand uses of its old name."""
    return next(iter(get_close_matches(wrong, sorted(known), n=1, cutoff=0.6)), None)


def in_words(names: Iterable[str]) -> str:
    """Names as a list in a sentence: `a`, `a and b`, `a, b and c`."""
    listed = [f"`{name}`" for name in names]
    if not listed:
        return "none"
    return listed[0] if len(listed) == 1 else f"{', '.join(listed[:-1])} and {listed[-1]}"
