"""The words that code says by itself: every fixed text given to `say`, `many` or `label`, read from the code.

So a catalogue of labels is complete without a list that somebody would have to keep.
"""

from __future__ import annotations

import ast
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from pathlib import Path

PACKAGE = Path(__file__).parent.parent
FOLDERS = ("analysis", "reading", "rendering")
_TEXTS = {
    "say": slice(0, 1),
    "_say": slice(0, 1),
    "label": slice(0, 1),
    "many": slice(1, 3),
    "counted": slice(2, 4),
    "fixed": slice(0, 1),
    "Told": slice(0, 1),
    "Refused": slice(1, 3),
    "PictureError": slice(0, 1),
    "refused": slice(0, 2),
}
"""Function → which of its arguments are fixed texts."""
_COUNTS = {"many": slice(1, 3), "counted": slice(2, 4)}
"""Function → which two of its arguments are the words for one and for more."""


@cache
def said_in_code(folders: tuple[str, ...] = FOLDERS) -> tuple[str, ...]:
    """Every fixed text that analysis, pages, sheets and reports say, sorted; or only those of some folders."""
    return tuple(sorted({text for _, _, texts in texts_by_call(folders) for text in texts}))


def texts_by_call(folders: tuple[str, ...] = FOLDERS) -> Iterator[tuple[str, str, tuple[str, ...]]]:
    """Each argument that should be a fixed text: file, the argument as it is written, and the texts that it can be.

    Folders and files are relative to the package. An argument of which no text is known yields none.
    """
    trees = _trees(folders)
    shared = _gathered((name, text) for tree in trees.values() for name, text in _constants(tree) if name.isupper())
    for path, tree in trees.items():
        named = shared | _gathered(_constants(tree))
        for node in ast.walk(tree):
            if isinstance(node, ast.Call):
                for argument in node.args[_TEXTS.get(_name(node.func), slice(0, 0))]:
                    where = path.relative_to(PACKAGE).as_posix()
                    yield where, ast.unparse(argument), tuple(_texts(argument, named))


@cache
def counted_in_code(folders: tuple[str, ...] = FOLDERS) -> tuple[tuple[str, str], ...]:
    """Words for one and for more that stand together in the code, sorted: entries with plural forms."""
    calls = [node for tree in _trees(folders).values() for node in ast.walk(tree) if isinstance(node, ast.Call)]
    found: set[tuple[str, str]] = set()
    for call in calls:
        pair = [tuple(_texts(argument, {})) for argument in call.args[_COUNTS.get(_name(call.func), slice(0, 0))]]
        if len(pair) == 2:
            found.update(zip(*pair, strict=True))
    return tuple(sorted(found))


@cache
def _trees(folders: tuple[str, ...]) -> Mapping[Path, ast.Module]:
    """Every module of some folders, read."""
    paths = [path for folder in folders for path in _modules(PACKAGE / folder)]
    return {path: ast.parse(path.read_text(encoding="utf-8")) for path in paths}


def _modules(path: Path) -> list[Path]:
    return sorted(path.rglob("*.py")) if path.is_dir() else [path]


def _name(function: ast.expr) -> str:
    if isinstance(function, ast.Attribute):
        return function.attr
    return function.id if isinstance(function, ast.Name) else ""


def _gathered(pairs: Iterable[tuple[str, str]]) -> dict[str, set[str]]:
    """Texts by name: a name may stand for another text in another function."""
    found: dict[str, set[str]] = {}
    for name, text in pairs:
        found.setdefault(name, set()).add(text)
    return found


def _constants(tree: ast.Module) -> Iterator[tuple[str, str]]:
    """Names that stand for a text, or for one of two."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Assign):
            for target in node.targets:
                if isinstance(target, ast.Name):
                    yield from ((target.id, text) for text in _texts(node.value, {}))


def _texts(argument: ast.expr, named: Mapping[str, Iterable[str]]) -> Iterator[str]:
    if isinstance(argument, ast.Constant) and isinstance(argument.value, str):
        yield argument.value
    elif isinstance(argument, ast.IfExp):
        yield from _texts(argument.body, named)
        yield from _texts(argument.orelse, named)
    elif isinstance(argument, ast.Name) and argument.id in named:
        yield from named[argument.id]
    elif isinstance(argument, ast.Subscript):
        yield from _texts(argument.value, named)
    elif isinstance(argument, ast.Dict):
        for value in argument.values:
            yield from _texts(value, named)
