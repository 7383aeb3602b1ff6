"""What a YAML parser's complaint means to a person who does not program."""

from __future__ import annotations

import re
from typing import Any

import yaml

from generator.diagnostics import Location, Problem
from generator.reading.text import shown

_QUOTES = 'Put the whole text in "quotation marks".'
_INDENT = "Start the fields of one group, and the items of one list, at the same column."

# Part of the parser's own words (libyaml's or PyYAML's) → what happened, what to do, and whether the place that
# helps is where the construct began (`context`) or where the parser gave up (`problem`). First match wins.
_MEANINGS: tuple[tuple[str, str, str, str], ...] = (
    ("mapping values are not allowed", "There is a second colon here, or this line is indented too far.",
     f"{_QUOTES[:-1]} if it holds a colon and a space; otherwise line it up with the field above.", "problem"),
    ("while scanning a simple key", "This line has no colon after its field name.",
     "Write `field: value` with a space after the colon, or indent it if it goes on from above.", "context"),
    ("while scanning a quoted scalar", "The quotation mark that opens here is never closed.",
     "Close it, or double the mark when it is part of the text.", "context"),
    ("unknown escape", "A backslash inside double quotation marks has a meaning of its own, and this one is unknown.",
     "Write two backslashes, or use single quotation marks.", "problem"),
    ("invalid Unicode", "The code after this backslash is no character.",
     "Write the character itself, or single quotation marks around the text.", "problem"),
    ("hexdecimal", "This backslash inside double quotation marks is not followed by the digits that it needs.",
     "Write two backslashes, or use single quotation marks.", "problem"),
    ("flow sequence", "The list that opens here with `[` is not closed, or a comma is missing.",
     f"Close it with `]`. {_QUOTES[:-1]} if the text itself begins with `[`.", "context"),
    ("flow mapping", "The braces that open here with `{` are not closed, or text follows them.",
     f"{_QUOTES[:-1]} if it begins with a number's name in braces.", "context"),
    ("flow node", "Something is missing inside the `[` or `{` before this place.",
     f"Close the bracket. {_QUOTES}", "problem"),
    ("sequence entries are not allowed", "A list item cannot start here.",
     "Put each `- item` on a line of its own, under the name of its list.", "problem"),
    ("block collection", "This line does not stand in line with those above it.", _INDENT, "problem"),
    ("block mapping", "This line does not stand in line with those above it.", _INDENT, "problem"),
    ("block sequence", "This line does not stand in line with those above it.", _INDENT, "problem"),
    ("document start", "This text stands outside the fields of the file.", _INDENT, "problem"),
    ("cannot start any token", "No value may begin with the character here.", _QUOTES, "problem"),
    ("block scalar", "The `|` or `>` here is followed by something that it does not allow.",
     "Write only `|` or `>` there and start the text on the next line.", "problem"),
    ("directive", "A line that begins with `%` has a meaning of its own in YAML.", _QUOTES, "problem"),
    ("alias", "The `*` here begins a reference to a value named elsewhere.", _QUOTES, "problem"),
    ("anchor", "The `&` here begins the name of a value.", _QUOTES, "problem"),
    ("tag", "The `!` here begins a YAML tag.", _QUOTES, "problem"),
    ("block end", "This line does not stand in line with those above it.", _INDENT, "problem"),
)  # fmt: skip


def problem_of(error: yaml.YAMLError, text: str, file: str) -> Problem:
    """A parser's error as a located problem in plain words."""
    said = " ".join(str(getattr(error, part, None) or "") for part in ("context", "problem")).strip()
    gave_up = _place(getattr(error, "problem_mark", None), text)
    began = _place(getattr(error, "context_mark", None), text) if getattr(error, "context_mark", None) else gave_up
    lines = text.split("\n")
    tab = _tab_before_text(lines[gave_up[0] - 1])
    is_at_tab = lines[gave_up[0] - 1][gave_up[1] - 1 : gave_up[1]] == "\t"
    if is_at_tab or (tab and ("tab" in said or "token" in said or gave_up[1] <= tab + 1)):
        return Problem(
            location=Location(file, gave_up[0], tab or gave_up[1]),
            rule="yaml-tab",
            message="This line is indented with a tab." if tab else "There is a tab here.",
            remedy="Replace the tab with spaces; YAML does not allow tabs before the text of a line.",
        )
    if "nesting depth" in said:
        return Problem(
            location=Location(file, *gave_up),
            rule="yaml-too-deep",
            message="Far too many brackets stand inside one another here.",
            remedy="Look for a stray bracket or wrong indentation above.",
        )
    better = _glued(lines, gave_up[0], said) or _after_closing(lines, gave_up, said)
    if better:
        place, message, remedy = better
        return Problem(location=Location(file, *place), rule="yaml-syntax", message=message, remedy=remedy)
    unknown = ("", f"YAML cannot be read from here on ({shown(said)}).", _INDENT, "problem")
    _, message, remedy, which = next((meaning for meaning in _MEANINGS if meaning[0] in said), unknown)
    place = began if which == "context" else gave_up
    return Problem(location=Location(file, *place), rule="yaml-syntax", message=message, remedy=remedy)


def _place(mark: Any, text: str) -> tuple[int, int]:
    """A parser's mark as line and column from 1, held inside the text: at its end a mark points past the last line."""
    if mark is None:
        return 1, 1
    lines = text.split("\n")
    if lines[-1] == "" and len(lines) > 1:
        lines.pop()
    if mark.line >= len(lines):
        return len(lines), len(lines[-1].rstrip("\r")) + 1
    return mark.line + 1, mark.column + 1


def _tab_before_text(line: str) -> int:
    """Column of the first tab in a line's indentation, or 0."""
    indent = line[: len(line) - len(line.lstrip(" \t"))]
    return indent.find("\t") + 1


def _glued(lines: list[str], near: int, said: str) -> tuple[tuple[int, int], str, str] | None:
    """A `field:value` or `-item` with no space, at or just above the line where the parser gave up."""
    if "mapping values" not in said and "simple key" not in said:
        return None
    best = None
    for number in range(near, max(near - 4, 0), -1):
        colon = re.match(r"\s*(?:- )?[a-z][A-Za-z_-]*(:)[^\s/]", lines[number - 1])
        if colon:
            remedy = "Put a space after the colon, or quotation marks around the text if the colon belongs to it."
            message = "There is no space after the colon here, so this is not read as a field."
            best = (number, colon.start(1) + 1), message, remedy
            continue
        hyphen = re.match(r"\s*(-)[^\s-]", lines[number - 1])
        if hyphen:
            message = "There is no space after the hyphen here, so this is not read as a list item."
            best = (number, hyphen.start(1) + 1), message, "Put a space after the hyphen."
        elif best:
            break
    return best


def _after_closing(lines: list[str], gave_up: tuple[int, int], said: str) -> tuple[tuple[int, int], str, str] | None:
    """Text that goes on after a quotation mark or bracket that closed the value."""
    before = lines[gave_up[0] - 1][: gave_up[1] - 1].rstrip()
    if "block" not in said or before[-1:] not in ('"', "'", "}", "]") or before.strip() in ("}", "]"):
        return None
    remedy = f"{_QUOTES[:-1]}, and use the other kind inside it." if before[-1] in "\"'" else _QUOTES
    return gave_up, f"Text goes on here after the closing `{before[-1]}`.", remedy
