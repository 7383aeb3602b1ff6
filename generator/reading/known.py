"""What was read from files that have not changed since, so that a handbook that is served reads only the edited ones.

Kept by the bytes of a file, never by its time: what comes out is what a first reading gives. Records of a file that did
not change are the same objects as before, which others may rely on to know that they did not.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from generator.reading.yaml_tree import Tree, read_tree


class Known:
    """Trees and what was made of them, by file. One for each folder that is read again and again."""

    def __init__(self) -> None:
        self._trees: dict[str, tuple[bytes, Tree]] = {}
        self._made: dict[tuple[str, str], tuple[Tree, Any]] = {}

    def tree(self, data: bytes, file: str) -> Tree:
        """The tree of a file, read only where its bytes are new."""
        known = self._trees.get(file)
        if known is None or known[0] != data:
            known = self._trees[file] = (data, read_tree(data, file))
        return known[1]

    def made(self, what: str, file: str, tree: Tree, make: Callable[[], Any]) -> Any:
        """What `make` makes of a file's tree, made only where the tree is new."""
        known = self._made.get((what, file))
        if known is None or known[0] is not tree:
            known = self._made[what, file] = (tree, make())
        return known[1]
