"""The only module that knows typst: a sheet's data in, a PDF and its spots out."""

from __future__ import annotations

import errno
import hashlib
import json
import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import cache, partial
from importlib.metadata import version
from pathlib import Path
from typing import Any

import typst

from generator.model import Paper
from generator.rendering.directions import direction_of_language, on_paper
from generator.rendering.printable import breakable, mapped, plain_latin, refused_in, without
from generator.rendering.sheets.codes import link_code, sheet_codes
from generator.rendering.sheets.geometry import geometry_of
from generator.rendering.sheets.sheet import Kind, Sheet, Typeset, canonical
from generator.rendering.sheets.unshown import KEY

FOLDER = Path(__file__).parent
_MAIN = FOLDER / "sheet.typ"
_FONTS = FOLDER / "fonts"
_TRIES = 6
ON_A_PAGE: Mapping[Kind, int] = {"poster": 830, "worth": 3700, "facilitator": 3800, "timetable": 4000, "patient": 6000}
"""Characters of data that fill a page of a kind, rather too few: a code too many costs less than setting twice."""
_LOCK = threading.Lock()

_SPOTS = """query(<spot>).map(spot => {
  let at = spot.location().position()
  spot.value + (page: at.page, x: at.x.mm(), y: at.y.mm())
})"""


@cache
def works() -> str:
    """A digest of all that turns data into a page: templates, fonts, code and the versions of the tools."""
    digest = hashlib.sha256(f"typst {version('typst')} segno {version('segno')}".encode())
    code = (*FOLDER.glob("*.py"), FOLDER.parent / "printable.py", FOLDER.parent / "directions.py")
    for file in sorted([*FOLDER.glob("*.typ"), *code, *_FONTS.glob("*.ttf")]):
        digest.update(file.name.encode() + b"\0" + file.read_bytes())
    return digest.hexdigest()


def set_sheet(sheet: Sheet, paper: Paper) -> Typeset:
    """Typeset a sheet as tagged PDF/UA-1 with no date in it. The same input gives the same bytes."""
    return _tried(partial(_set, sheet, paper), _printed(sheet, paper))


def set_packet(plan: Mapping[str, Any], sheets: Sequence[Sheet], pages: Sequence[int], paper: Paper) -> Typeset:
    """Typeset sheets as one document. `pages` tells how many each of the plan's parts has.

    The geometry holds `pages` in all and `firsts`, the page that each part starts on.
    """
    names = [sheet.name for sheet in sheets]
    firsts, total = first_pages(pages, fronts=plan["fronts"])
    parts = [
        {**part, "sheet": names.index(part["name"]), "first": first, "pages": count}
        for part, first, count in zip(plan["parts"], firsts, pages, strict=True)
    ]
    one = sheets[0].data
    kind_of_document = {name: one[name] for name in ("lang", "region", "program")}
    packet = {**plan, **kind_of_document, "paper": paper, "parts": parts, "of": total}
    data = {"packet": on_paper(packet, direction_of_language(one["lang"]))}
    most = [max(part["pages"] for part in parts if part["sheet"] == number) for number in range(len(sheets))]
    drawn = {
        "codes": json.dumps([sheet_codes(sheet, paper, count) for sheet, count in zip(sheets, most, strict=True)]),
        "links": json.dumps([link_code(sheet.data["url"]) for sheet in sheets]),
    }

    def set_it(texts: dict[str, Any]) -> Typeset:
        compiler = _compiler()
        inputs = {name: canonical(value) for name, value in texts.items()} | drawn | _direction(one["lang"])
        pdf = compiler.compile(format="pdf", sys_inputs=inputs, pdf_standards=["ua-1"])
        found = json.loads(compiler.eval("query(<part>).map(part => part.location().page())", format="json"))
        if not isinstance(pdf, bytes) or found != list(firsts):
            raise TypeError(f"sheets start on pages {found} of the packet, not on {list(firsts)}")
        return Typeset(pdf=pdf, geometry={"pages": total, "firsts": list(firsts)})

    return _tried(set_it, data | {"sheets": [_printed(sheet, paper) for sheet in sheets]})


def first_pages(pages: Sequence[int], *, fronts: bool) -> tuple[tuple[int, ...], int]:
    """The page each part starts on, from 1, and how many pages there are. With `fronts` they start on odd ones.

    `first_pages([2, 1, 3], fronts=True)` is `((1, 3, 5), 7)`.
    """
    firsts: list[int] = []
    after = 1
    for count in pages:
        if fronts and after % 2 == 0:
            after += 1
        firsts.append(after)
        after += count
    return tuple(firsts), after - 1


def _tried(set_it: Callable[[dict[str, Any]], Typeset], data: dict[str, Any]) -> Typeset:
    """Typeset; what no font can show is replaced and tried again, for PDF/UA forbids such characters and lists them."""
    missing: set[str] = set()
    with _LOCK:
        for _ in range(_TRIES):
            try:
                made = set_it(data)
                return replace(made, geometry=made.geometry | {KEY: sorted(missing)}) if missing else made
            except typst.TypstError as error:
                refused = refused_in(error.diagnostic)
                if not refused:
                    raise
                missing |= refused
                data = mapped(data, partial(without, refused=refused))
        made = set_it(mapped(data, plain_latin))
        return replace(made, geometry=made.geometry | {KEY: sorted(missing)})


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
    if sheet.kind == "checklist":
        data["address"] = _address(sheet)
    printed: dict[str, Any] = on_paper(mapped(data, breakable), direction_of_language(data["lang"]))
    return printed


def _address(sheet: Sheet) -> dict[str, str] | None:
    """What an addressed checklist prints in its fields, in the words of its own rungs and scorers."""
    whom = sheet.address
    if whom is None:
        return None
    rungs = {rung["id"]: rung["name"] for rung in sheet.data["rungs"]}
    rung = f"{whom.rung}:{whom.trainer}" if whom.trainer else whom.rung
    scorers = {scorer["id"]: scorer["name"] for scorer in sheet.data["scorers"]}
    return {
        "learner": whom.learner,
        "date": whom.on.isoformat(),
        "about": f"{rungs.get(rung, whom.rung)}, {scorers.get(whom.role, whom.role)}",
    }


def _set(sheet: Sheet, paper: Paper, data: dict[str, Any]) -> Typeset:
    # How many pages there are is known only after typesetting, but each page prints a code of its own: guess, and
    # set once more in the rare case that the guess was short. Codes that no page uses leave no trace.
    pages = 1 + len(canonical(data)) // ON_A_PAGE.get(sheet.kind, 2600)
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
    } | _direction(data["lang"])


def _direction(language: str) -> dict[str, str]:
    return {"direction": "rtl"} if direction_of_language(language) == "rtl" else {}


FACES = (
    *(f"AtkinsonHyperlegibleNext_{weight}" for weight in ("400Regular", "600SemiBold", "700Bold", "800ExtraBold")),
    *(f"NotoSans{script}_{weight}" for script in ("Hebrew", "Arabic") for weight in ("400Regular", "700Bold")),
)
"""The faces of the sheets. Hebrew and Arabic letters come from faces of their own, in two weights."""


def need_fonts(folder: Path) -> None:
    """Raise FileNotFoundError where a font is missing: the typesetter would take another and say nothing."""
    for face in FACES:
        path = folder / f"{face}.ttf"
        if not path.is_file():
            raise FileNotFoundError(errno.ENOENT, "A font of the sheets is missing; install Rungbook again", str(path))


@cache
def _compiler() -> typst.Compiler:
    need_fonts(_FONTS)
    fonts = typst.Fonts(include_system_fonts=False, include_embedded_fonts=True, font_paths=[str(_FONTS)])
    return typst.Compiler(str(_MAIN), root=str(FOLDER), font_paths=fonts, ignore_system_fonts=True)
