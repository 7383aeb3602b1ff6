"""The only module that knows typst: a sheet's data in, a PDF and its spots out."""

from __future__ import annotations

import hashlib
import json
import re
import threading
from collections.abc import Callable
from functools import cache, partial
from importlib.metadata import version
from pathlib import Path
from typing import Any

import typst

from generator.model import Paper
from generator.rendering.sheets.codes import link_code, sheet_codes
from generator.rendering.sheets.geometry import geometry_of
from generator.rendering.sheets.sheet import Sheet, Typeset, canonical

FOLDER = Path(__file__).parent
_MAIN = FOLDER / "sheet.typ"
_FONTS = FOLDER / "fonts"
_TRIES = 6
_LOCK = threading.Lock()

_SPOTS = """query(<spot>).map(spot => {
  let at = spot.location().position()
  spot.value + (page: at.page, x: at.x.mm(), y: at.y.mm())
})"""
_REFUSED = re.compile(r'(?:the text|disallowed codepoint) `"((?:[^"\\]|\\.)*)"`')
_LONG_RUN = re.compile(r"[^\s\-–—/\u00ad\u200b]{21,}")


@cache
def works() -> str:
    """A digest of all that turns data into a page: templates, fonts, code and the versions of the tools."""
    digest = hashlib.sha256(f"typst {version('typst')} segno {version('segno')}".encode())
    for file in sorted([*FOLDER.glob("*.typ"), *FOLDER.glob("*.py"), *_FONTS.glob("*.ttf")]):
        digest.update(file.name.encode() + b"\0" + file.read_bytes())
    return digest.hexdigest()


def set_sheet(sheet: Sheet, paper: Paper) -> Typeset:
    """Typeset a sheet as tagged PDF/UA-1 with no date in it. The same input gives the same bytes."""
    data = _printed(sheet, paper)
    with _LOCK:
        for _ in range(_TRIES):
            try:
                return _set(sheet, paper, data)
            except typst.TypstError as error:
                # PDF/UA forbids characters that no font here can show, and lists them all.
                refused = {_unescaped(text) for text in _REFUSED.findall(error.diagnostic)}
                if not refused:
                    raise
                data = _mapped(data, partial(_without, refused=refused))
        return _set(sheet, paper, _mapped(data, _plain_latin))


def pictures(sheet: Sheet, paper: Paper, pixels_per_inch: float = 100) -> tuple[bytes, ...]:
    """The pages of a sheet as PNG, for looking at and for checking places against ink."""
    pages = set_sheet(sheet, paper).geometry["pages"]
    with _LOCK:
        made = _compiler().compile(
            format="png", ppi=pixels_per_inch, sys_inputs=_inputs(sheet, paper, _printed(sheet, paper), pages)
        )
    return (made,) if isinstance(made, bytes) else tuple(made or ())


def _printed(sheet: Sheet, paper: Paper) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(canonical(sheet.data)) | {"revision": sheet.revision, "paper": paper}
    printed: dict[str, Any] = _mapped(data, _breakable)
    return printed


def _set(sheet: Sheet, paper: Paper, data: dict[str, Any]) -> Typeset:
    # How many pages there are is known only after typesetting, but each page prints a code of its own: guess, and
    # set once more in the rare case that the guess was short. Codes that no page uses leave no trace.
    pages = 1 + len(canonical(data)) // 2600
    compiler = _compiler()
    while True:
        pdf = compiler.compile(format="pdf", sys_inputs=_inputs(sheet, paper, data, pages), pdf_standards=["ua-1"])
        # Free of cost: the compiler remembers the layout that it has just made.
        geometry = geometry_of(sheet, paper, json.loads(compiler.eval(_SPOTS, format="json")))
        if geometry["pages"] <= pages:
            if not isinstance(pdf, bytes):
                raise TypeError("typst gave no PDF")
            return Typeset(pdf=pdf, geometry=geometry)
        pages = geometry["pages"]


def _inputs(sheet: Sheet, paper: Paper, data: dict[str, Any], pages: int) -> dict[str, str]:
    return {
        "sheet": canonical(data),
        "codes": json.dumps(sheet_codes(sheet, paper, pages)),
        "link": link_code(data["url"]),
    }


@cache
def _compiler() -> typst.Compiler:
    fonts = typst.Fonts(include_system_fonts=False, include_embedded_fonts=True, font_paths=[str(_FONTS)])
    return typst.Compiler(str(_MAIN), root=str(FOLDER), font_paths=fonts, ignore_system_fonts=True)


def _mapped(value: Any, change: Callable[[str], str]) -> Any:
    if isinstance(value, str):
        return change(value)
    if isinstance(value, dict):
        return {key: item if key in ("id", "url") else _mapped(item, change) for key, item in value.items()}
    if isinstance(value, list):
        return [_mapped(item, change) for item in value]
    return value


def _breakable(text: str) -> str:
    """Give a word that no column could hold places to break at: a hyphen in a word, nothing in anything else."""

    def broken(match: re.Match[str]) -> str:
        run = match[0]
        return ("\u00ad" if run.isalpha() else "\u200b").join(run[i : i + 12] for i in range(0, len(run), 12))

    return _LONG_RUN.sub(broken, text)


def _without(text: str, refused: set[str]) -> str:
    """A character that no font here can show prints as its Unicode number, so nothing vanishes unseen."""
    for shown in sorted(refused, key=len, reverse=True):
        if shown:
            text = text.replace(shown, f"[{' '.join(f'U+{ord(character):04X}' for character in shown)}]")
    return text


def _plain_latin(text: str) -> str:
    return "".join(c if " " <= c < "\u0180" and c != "\x7f" else f"[U+{ord(c):04X}]" for c in text)


def _unescaped(text: str) -> str:
    """Undo the escapes of a typst message: `\\u{1f600}`, `\\n`, `\\"`."""
    simple = {"n": "\n", "r": "\r", "t": "\t", "0": "\0"}
    return re.sub(
        r"\\(?:u\{([0-9a-fA-F]+)\}|(.))",
        lambda m: chr(int(m[1], 16)) if m[1] else simple.get(m[2], m[2]),
        text,
    )
