"""Private documents to PDF: tagged, with a title, with fonts inside, and nothing left behind on the disk."""

from __future__ import annotations

import json
import threading
from functools import cache, partial
from pathlib import Path
from typing import Any

import typst

from generator.rendering.printable import breakable, mapped, plain_latin, refused_in, without
from generator.rendering.sheets.typesetter import need_fonts

_FOLDER = Path(__file__).parent
_SHEETS = _FOLDER.parent / "sheets"
_TRIES = 6
_LOCK = threading.Lock()


def pdf_of(document: dict[str, Any]) -> bytes:
    """Typeset a document of plain data as PDF/UA-1 with no date in it. The same input gives the same bytes."""
    made = _made(document, {"format": "pdf", "pdf_standards": ["ua-1"]})
    return made[0]


def pictures_of(document: dict[str, Any], pixels_per_inch: float = 100) -> tuple[bytes, ...]:
    """The pages of a document as PNG, for looking at."""
    return _made(document, {"format": "png", "ppi": pixels_per_inch})


def _made(document: dict[str, Any], how: dict[str, Any]) -> tuple[bytes, ...]:
    data = mapped(json.loads(json.dumps(document)), breakable)
    with _LOCK:
        for _ in range(_TRIES):
            try:
                return _compiled(data, how)
            except typst.TypstError as error:
                # PDF/UA forbids characters that no font here can show, and lists them all.
                refused = refused_in(error.diagnostic)
                if not refused:
                    raise
                data = mapped(data, partial(without, refused=refused))
        return _compiled(mapped(data, plain_latin), how)


def _compiled(data: dict[str, Any], how: dict[str, Any]) -> tuple[bytes, ...]:
    text = json.dumps(data, sort_keys=True, ensure_ascii=False)
    made = _compiler().compile(sys_inputs={"document": text}, **how)
    return (made,) if isinstance(made, bytes) else tuple(made or ())


@cache
def _compiler() -> typst.Compiler:
    need_fonts(_SHEETS / "fonts")
    fonts = typst.Fonts(include_system_fonts=False, include_embedded_fonts=True, font_paths=[str(_SHEETS / "fonts")])
    main = _FOLDER / "document.typ"
    return typst.Compiler(str(main), root=str(_FOLDER.parent), font_paths=fonts, ignore_system_fonts=True)
