"""The two codes on a sheet, as SVG. The only module that knows segno."""

from __future__ import annotations

import io
from functools import lru_cache

import segno

from generator.model import Paper
from generator.rendering.sheets.sheet import Sheet


def sheet_code(sheet: Sheet, paper: Paper, page: int) -> str:
    """What the code on one page of a sheet says: `kind:id:revision:paper:page`, in capitals.

    A print for someone says `:learner:role:day:rung:copy` as well.

    ISO/IEC 18004 packs capitals, digits, `:` and `-` more tightly, which leaves larger modules for a coarse scan.
    Ids hold small letters only, so a reader turns the whole text back to small letters.
    """
    whom = f":{sheet.address.code}" if sheet.address else ""
    return f"{sheet.kind}:{sheet.id}:{sheet.revision}:{paper}:{page}{whom}".upper()


def sheet_codes(sheet: Sheet, paper: Paper, pages: int) -> tuple[str, ...]:
    """The code of each page as SVG, from page 1."""
    # Level Q mends a quarter of the code, which a coffee stain may take. The codes of one sheet differ by a page
    # number, so the mask that suits the first suits them all: choosing it is most of the work.
    mask: int | None = None
    drawn: list[str] = []
    for page in range(1, pages + 1):
        code = segno.make_qr(sheet_code(sheet, paper, page), error="q", mask=mask)
        mask = code.mask
        drawn.append(_svg(code))
    return tuple(drawn)


@lru_cache(maxsize=8)  # a sheet has the same address on every paper
def link_code(address: str) -> str:
    """The code of a page's address as SVG; an empty picture for an address that no QR code can hold."""
    try:
        return _svg(segno.make_qr(address, error="m"))
    except segno.DataOverflowError:
        return '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1"></svg>'


def _svg(code: segno.QRCode) -> str:
    drawing = io.BytesIO()
    code.save(drawing, kind="svg", border=0, xmldecl=False, nl=False, omitsize=True, svgclass=None, lineclass=None)
    return drawing.getvalue().decode("ascii")
