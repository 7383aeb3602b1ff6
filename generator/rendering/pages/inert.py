"""Author text is inert: the one place that turns it into something a page may hold.

Pages are Markdown made of HTML blocks. Whatever an author types, be it script, links, Markdown or template
expressions, reaches the reader as the same characters and does nothing. The template environment passes every value
through `inert`; only `Markup` made by the templates themselves is left alone.
"""

from __future__ import annotations

import re

from markupsafe import Markup

HEADING = "\x1e"
"""Marks a Markdown heading in a template's output. Author text cannot hold it: `inert` drops control characters."""

_ENTITIES = {
    ord(character): f"&#{ord(character)};"
    for character in "&<>\"'{}[]*_`\\|~^="
}  # fmt: skip
_UNPRINTABLE = re.compile(
    r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\ufeff\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufffe\uffff]"
)
_PLAIN = re.compile(r"(?:[A-Za-z0-9.,:;?!()/%+#@“”’–-]++(?: (?=[A-Za-z0-9.,:;?!()/%+#@“”’–-]))?+)*+")
"""Most texts: nothing in them has to change, and to find that out takes a quarter of the time of changing nothing."""
_QUIET = str.maketrans({"<": "‹", ">": "›", '"': "”", "&": "+", "{": "(", "}": ")", "`": "’"})


def inert(value: object) -> Markup:
    """Any value as text that neither HTML, Markdown nor a template engine acts on; white space becomes one space."""
    if isinstance(value, Markup):
        return value
    text = "" if value is None else str(value)
    if _PLAIN.fullmatch(text):
        return Markup(text)
    text = _UNPRINTABLE.sub("", text)
    return Markup(" ".join(text.split()).translate(_ENTITIES))


def quiet(text: str) -> str:
    """A title for places that unescape or copy it (navigation, the browser's title bar): look-alikes for markup."""
    return " ".join(_UNPRINTABLE.sub("", text).translate(_QUIET).split())


def tidy(rendered: str) -> str:
    """A template's output as Markdown that every engine reads alike.

    Blank lines would end an HTML block in CommonMark and indents would start code, so both go; headings stand alone.
    """
    lines: list[str] = []
    for raw in rendered.split("\n"):
        line = raw.strip(" \t\n")
        if not line:
            continue
        if line.startswith(HEADING):
            lines += ["", line.strip(HEADING), ""]
        else:
            lines.append(line)
    return "\n".join(lines).strip("\n") + "\n"


def heading(text: str, id: str, *, level: int = 2, searched: bool = True) -> Markup:
    """A Markdown heading with words of our own; author text never stands in one."""
    search = "" if searched else " data-search-exclude"
    return Markup(f"\n{HEADING}{'#' * level} {text} {{ #{id}{search} }}{HEADING}\n")
