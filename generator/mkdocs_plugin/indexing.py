"""Entries of the search index, read from a page in one pass.

The theme's own indexer builds an object for every tag and compares it with sets at every text; that was a third of a
build. This one keeps the same rules with names and counts, and its entries are equal to the theme's: the tests hold
every page of a handbook against it. A page with HTML that is not plainly written is left to the theme's indexer.
"""

from __future__ import annotations

import re
from collections import Counter
from html import escape, unescape
from typing import Any

_TOKEN = re.compile(r"""<(?:(/?)([a-z][a-z0-9-]*+)((?:\s++[^\s"'<>=/]++(?:="[^"<>]*+")?)*+)\s*+(/?)>)?""")
"""A tag as the generator and Markdown write it. A bare `<` is found too, and is for a full parser."""
_ATTRIBUTE = re.compile(r'\s([^\s=]+)(?:="([^"]*)")?')

_VOID = frozenset(
    {"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "param", "source", "track", "wbr"}
)
_KEPT = frozenset({"p", "code", "pre", "li", "ol", "ul", "sub", "sup"})
_HEADINGS = frozenset({"h1", "h2", "h3", "h4", "h5", "h6"})
_RAW = frozenset(
    {"object", "script", "style", "textarea", "title", "iframe", "noembed", "noframes", "noscript", "xmp", "plaintext"}
)
"""Elements whose content is not read as HTML, or that the theme leaves out: for a full parser."""

_EMPTY = frozenset({"circle", "ellipse", "line", "path", "polygon", "polyline", "rect", "use"})
"""Shapes of figures, which have neither words nor children when they end at once."""


class Section:
    """A heading and what stands below it. The theme makes an entry from it."""

    __slots__ = ("depth", "id", "left_out", "tag", "text", "title")

    def __init__(self, tag: str, depth: float = 0, *, left_out: bool = False) -> None:
        self.tag = tag
        self.depth = depth
        self.left_out = left_out
        self.id: str | None = None
        self.title: list[str] = []
        self.text: list[str] = []


def quicken(search: Any) -> None:
    """Let a search index of the theme read plainly written pages in one pass."""
    if type(search).__module__ != "material.plugins.search.plugin":
        return
    add = search.add_entry_from_context

    def add_quickly(page: Any) -> None:
        if (page.meta.get("search") or {}).get("exclude"):
            return
        sections = sections_of(page.content)
        if sections is None:
            add(page)
            return
        for section in sections:
            if not section.left_out:
                search.create_entry_for_section(section, page.toc, page.url, page)

    search.add_entry_from_context = add_quickly


def sections_of(html: str) -> list[Section] | None:
    """The sections of a page's content, or None when it has HTML that only a full parser reads as browsers do."""
    reader = _Reader()
    read, opens, closes = reader.read, reader.open, reader.close
    position = 0
    for found in _TOKEN.finditer(html):
        start = found.start()
        if position < start:
            read(html[position:start])
        position = found.end()
        end, tag, attributes, slash = found.groups()
        if tag is None or tag in _RAW:
            return None
        if slash and tag in _EMPTY and reader.section is not None:
            continue
        if not end:
            opens(tag, attributes)
        if (end or slash) and not closes(tag):
            return None
    if position < len(html):
        read(html[position:])
    return reader.sections


class _Reader:
    """Follows a page tag by tag. What is open is a list of names, and how many there are of each."""

    def __init__(self) -> None:
        self.sections: list[Section] = []
        self.section: Section | None = None
        self.names: list[str] = []
        self.count: Counter[str] = Counter()
        self.skipped: set[str] = set()
        """Names of elements that are left out. The theme compares elements by name, so one stands for all."""
        self.permalinks: list[bool] = []

    def open(self, tag: str, written: str) -> None:
        """Begin an element."""
        if tag in _VOID:
            return
        self.names.append(tag)
        self.count[tag] += 1
        attributes = None
        if tag == "a":
            self.permalinks.append(' class="headerlink"' in written)
        elif tag in _HEADINGS:
            attributes = dict(_ATTRIBUTE.findall(written))
            if "id" in attributes:
                self._begin(tag, attributes)
        if self.section is None:
            self._preface()
        if "data-search-exclude" in written or ' class="linenodiv"' in written:
            attributes = attributes or dict(_ATTRIBUTE.findall(written))
            if "data-search-exclude" in attributes or attributes.get("class") == "linenodiv":
                self.skipped.add(tag)
                return
        if tag in _KEPT and not self._is_skipping():
            self._pieces().append(f"<{tag}>")

    def _begin(self, tag: str, attributes: dict[str, str]) -> None:
        depth = len(self.names)
        if tag != "h1" and not self.sections:
            self.sections.append(Section("hx", depth))
        self.section = Section(tag, depth, left_out="data-search-exclude" in attributes)
        if self.sections:
            self.section.id = unescape(attributes["id"])
        self.sections.append(self.section)

    def _preface(self) -> Section:
        self.section = Section("hx")
        self.sections.append(self.section)
        return self.section

    def close(self, tag: str) -> bool:
        """End an element. False where the theme's own indexer would stumble."""
        if not self.names or self.names[-1] != tag:
            return True
        depth = len(self.names)
        section = self.section
        if section is not None and section.depth > depth:
            for earlier in reversed(self.sections):
                if earlier.depth <= depth:
                    section.depth = float("inf")
                    self.section = earlier
                    break
        self.names.pop()
        self.count[tag] -= 1
        if tag == "a":
            self.permalinks.pop()
        if tag in self.skipped:
            self.skipped.remove(tag)
        elif tag in _KEPT and not self._is_skipping():
            return _end(self._pieces(), tag)
        return True

    def read(self, written: str) -> None:
        """Take the text between two tags."""
        if self.skipped and self._is_skipping():
            return
        text = unescape(written) if "&" in written else written
        section = self.section or self._preface()
        blank = text.isspace()
        if not self.count["pre"]:
            text = " " if blank else text.replace("\n", " ")
        if self.count[section.tag]:
            if not any(self.permalinks):
                section.title.append(escape(text, quote=False))
        elif not blank:
            section.text.append(escape(text, quote=False))
        elif not section.text or self.count["pre"] or not section.text[-1].isspace():
            section.text.append(text)

    def _is_skipping(self) -> bool:
        return any(self.count[name] for name in self.skipped)

    def _pieces(self) -> list[str]:
        section = self.section or self._preface()
        return section.title if self.count[section.tag] else section.text


def _end(pieces: list[str], tag: str) -> bool:
    """Close a tag that is kept. One with nothing but white space since the first of its name is taken back."""
    try:
        first = pieces.index(f"<{tag}>")
    except ValueError:
        return False
    for at in range(first + 1, len(pieces)):  # a slice would copy the page so far at every end
        if not pieces[at].isspace():
            pieces.append(f"</{tag}>")
            return True
    del pieces[first:]
    return True
