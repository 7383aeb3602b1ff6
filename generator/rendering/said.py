"""The words that code says by itself: every fixed text given to `say`, `many` or `label`, read from the code.

So a catalogue of labels is complete without a list that somebody would have to keep.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path

FOLDER = Path(__file__).parent
_TEXTS = {"say": slice(0, 1), "_say": slice(0, 1), "label": slice(0, 1), "many": slice(1, 3)}
"""Function → which of its arguments are fixed texts."""


@cache
def said_in_code() -> tuple[str, ...]:
    """Every fixed text of pages, sheets and reports that code says, sorted."""
    found: set[str] = set()
    trees = [ast.parse(path.read_text(encoding="utf-8")) for path in sorted(FOLDER.rglob("*.py"))]
    shared = {name: text for tree in trees for name, text in _constants(tree) if name.isupper()}
    for tree in trees:
        named = shared | dict(_constants(tree))
        for node in ast.walk(tree):
            if isinstance(node, ast.Call):
                for argument in node.args[_TEXTS.get(_name(node.func), slice(0, 0))]:
                    found.update(_texts(argument, named))
    return tuple(sorted(found))


def _name(function: ast.expr) -> str:
    if isinstance(function, ast.Attribute):
        return function.attr
    return function.id if isinstance(function, ast.Name) else ""


def _constants(tree: ast.Module) -> Iterator[tuple[str, str]]:
    """Names that stand for one text."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Assign) and isinstance(node.value, ast.Constant) and isinstance(node.value.value, str):
            for target in node.targets:
                if isinstance(target, ast.Name):
                    yield target.id, node.value.value


def _texts(argument: ast.expr, named: Mapping[str, str]) -> Iterator[str]:
    if isinstance(argument, ast.Constant) and isinstance(argument.value, str):
        yield argument.value
    elif isinstance(argument, ast.IfExp):
        yield from _texts(argument.body, named)
        yield from _texts(argument.orelse, named)
    elif isinstance(argument, ast.Name) and argument.id in named:
        yield named[argument.id]
