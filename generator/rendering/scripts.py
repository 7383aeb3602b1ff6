"""Labels in the site's own scripts: found where they stand, and exchanged as the scripts are written.

A label is a string of a script that a reader sees. Which ones are is told by their look: a sentence or a word that
begins with a capital, not an address, a class, the name of a key or the text of an error.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from functools import cache
from importlib import resources

_STRING = re.compile(r'(?P<before>[\w!=.(]*\s*)(?:"(?P<plain>(?:[^"\\\n]|\\.)*)"|`(?P<parts>(?:[^`\\\n]|\\.)*)`)')
_PART = re.compile(r"\$\{([^{}`\"]+)\}")
_COMMENT = re.compile(r"^\s*(?://|\*|/\*)")
_NO_LABEL = re.compile(r"[<>\[\]#=|;\\/{}()]|^(?:rb-|use strict|M[0-9])|^\S+-\S+$|^[a-z][\w.:-]*$|:is|\.\w")
_KEYS = frozenset(
    {"Escape", "Enter", "Space", "Tab", "ArrowUp", "ArrowDown", "ArrowLeft", "ArrowRight", "GET", "DOMContentLoaded"}
)
_COMPARED = re.compile(r"(?:===|!==|case|Error\()\s*$")
NAMES = ("pacer.js", "practice.js", "scenario.js", "offline.js", "worker.js")
"""The scripts that a reader sees words of."""


def script_in_own_words(source: str, label: Callable[[str], str]) -> str:
    """A script with its labels exchanged. Without other words it is the same to the byte."""
    return "\n".join(line if _COMMENT.match(line) else _exchanged(line, label) for line in source.split("\n"))


def _exchanged(line: str, label: Callable[[str], str]) -> str:
    def exchange(found: re.Match[str]) -> str:
        words = _label_of(found)
        own = label(words) if words is not None else words
        if words is None or own is None or own == words:
            return found[0]
        if found["plain"] is not None:
            return f"{found['before']}{json.dumps(own, ensure_ascii=True)}"
        parts = {part: f"${{{part}}}" for part in _PART.findall(found["parts"])}
        safe = own.replace("\\", "\\\\").replace("`", "\\`").replace("$", "\\$")
        for part, typed in parts.items():
            safe = safe.replace("{" + part + "}", typed)
        return f"{found['before']}`{safe}`"

    return _STRING.sub(exchange, line)


def _label_of(found: re.Match[str]) -> str | None:
    """The label that a string of a script is, with its parts in braces; None for any other string."""
    if _COMPARED.search(found["before"]):
        return None
    words = found["plain"] if found["plain"] is not None else _PART.sub(r"{\1}", found["parts"])
    bare = words if found["plain"] is not None else _PART.sub("", found["parts"])
    if words in _KEYS or _NO_LABEL.search(bare) or not re.search(r"[^\W\d_]{2}", bare):
        return None
    return words if " " in bare.strip() or bare[:1].isupper() else None


@cache
def script_label_ids() -> tuple[str, ...]:
    """Every label of the scripts, sorted."""
    found: set[str] = set()

    def note(words: str) -> str:
        found.add(words)
        return words

    for folder in ("assets", "offline"):
        for entry in (resources.files("generator.rendering") / folder).iterdir():
            if entry.name in NAMES:
                script_in_own_words(entry.read_text(encoding="utf-8"), note)
    return tuple(sorted(found))
