"""Prose pages: their links and images, and what in them is only shown as code."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

_FENCE = re.compile(r"^(?P<fence>`{3,}|~{3,}).*?^(?P=fence)[`~]*\s*?$", re.MULTILINE | re.DOTALL)
_SPAN = re.compile(r"(?<!`)(`+)(?!`)(.+?)(?<!`)\1(?!`)", re.DOTALL)
_COMMENT = re.compile(r"<!--.*?-->", re.DOTALL)
_INLINE = re.compile(
    r"(?P<image>!?)\[(?P<text>(?:[^\[\]]|\[[^\]]*\])*)\]\(\s*<?(?P<target>[^()\s<>]+)>?(?:\s+[\"'(].*?[\"')])?\s*\)"
)
_DEFINITION = re.compile(r"^ {0,3}\[[^\]^]+\]:\s*<?(?P<target>[^\s<>]+)", re.MULTILINE)
_TAG_IMAGE = re.compile(r"<img\b(?P<attributes>[^>]*)>", re.IGNORECASE)
_ALT = re.compile(r"""\balt\s*=\s*(?:"\s*[^"\s]|'\s*[^'\s]|[^\s"'>])""", re.IGNORECASE)
_HIDDEN = re.compile(r"""\balt\s*=\s*(?:""|'').*\brole\s*=\s*["']?presentation|aria-hidden\s*=\s*["']?true""")


class Link(NamedTuple):
    """A link or image in Markdown: where it starts, what it shows and what it points to."""

    offset: int
    text: str
    target: str
    is_image: bool


def without_code(text: str) -> str:
    """The same text with code and comments blanked out, so that every offset stays true."""
    for pattern in (_FENCE, _COMMENT, _SPAN):
        text = pattern.sub(lambda match: re.sub(r"[^\n]", " ", match[0]), text)
    return text


def links(text: str) -> Iterator[Link]:
    """Links, images and link definitions in Markdown text, code left out."""
    plain = without_code(text)
    for match in _INLINE.finditer(plain):
        yield Link(match.start(), match["text"].strip(), match["target"], bool(match["image"]))
        # A picture inside a link: `[![alt](a.png)](page.md)`.
        for inner in _INLINE.finditer(plain, match.start("text"), match.end("text")):
            yield Link(inner.start(), inner["text"].strip(), inner["target"], bool(inner["image"]))
    for match in _DEFINITION.finditer(plain):
        yield Link(match.start(), "", match["target"], False)


def silent_images(text: str) -> Iterator[tuple[int, str]]:
    """Offset and target of images that say nothing to a reader who cannot see them."""
    for link in links(text):
        if link.is_image and not link.text:
            yield link.offset, link.target
    for match in _TAG_IMAGE.finditer(without_code(text)):
        attributes = match["attributes"]
        if not _ALT.search(attributes) and not _HIDDEN.search(attributes):
            found = re.search(r"""\bsrc\s*=\s*["']?([^"'\s>]+)""", attributes)
            yield match.start(), found[1] if found else "?"


def names_source(text: str, id: str) -> bool:
    """Whether a prose page links to a source on the evidence page: `evidence.md#id`."""
    return f"evidence.md#{id})" in text or f"evidence.md#{id} " in text
