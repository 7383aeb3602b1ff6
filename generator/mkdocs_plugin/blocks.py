"""A Markdown extension that sets whole blocks of HTML aside, so that no parser goes through them tag by tag.

Nearly all of a generated page is HTML. Python-Markdown and MkDocs each parse every tag of it, only to find out where a
block ends and which ids it has; that was more than half of the time of a build. The generator's own HTML is well formed
and has neither `<` nor `>` inside an attribute, so the tag that opens a block, counted against its own end tags, says
where it ends. Pages that people type do not promise that, and go the long way.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Any

from markdown import Markdown
from markdown.extensions import Extension
from markdown.preprocessors import Preprocessor

PRIORITY = 25
"""After white space is normalized (30), before MkDocs looks for ids (21) and Markdown for blocks of HTML (20)."""

_START = re.compile(r"^<([a-z][a-z0-9]*)(?=[ >\n])", re.MULTILINE)
_ID = re.compile(r'(?<=[ \n]id=")[^"]*(?=")')


class WholeBlocks(Extension):  # type: ignore[misc]
    """Sets the blocks of HTML of the pages aside that are given to `convert`, and of no other."""

    def __init__(self) -> None:
        super().__init__()
        self._is_on = False
        self.ids: set[str] = set()
        """Ids inside the blocks that were set aside on the last page."""

    def convert(self, page: Any) -> None:
        """Let this page, which the generator wrote, be converted with its blocks set aside."""
        render = page.render

        def render_without_blocks(config: Any, files: Any) -> None:
            self._is_on = True
            try:
                render(config, files)
            finally:
                self._is_on = False
            page.present_anchor_ids |= self.ids

        page.render = render_without_blocks

    def extendMarkdown(self, md: Markdown) -> None:  # noqa: N802
        """Register with one converter: MkDocs makes a new one for each page."""
        if self._is_on:
            md.preprocessors.register(_SetAside(md, self), "whole_blocks", PRIORITY)


class _SetAside(Preprocessor):  # type: ignore[misc]
    def __init__(self, md: Markdown, extension: WholeBlocks) -> None:
        super().__init__(md)
        self.extension = extension

    def run(self, lines: list[str]) -> list[str]:
        """Replace each block by its place holder, with the blank lines that Markdown's own parser would leave."""
        text = "\n".join(lines)
        self.extension.ids = set()
        kept: list[str] = []
        position = 0
        for found in _START.finditer(text):
            if found.start() < position or not self.md.is_block_level(found[1]):
                continue
            end = _end_of_block(text, found[1], found.start())
            if end is None or not text.startswith("\n", end):
                break  # where a block goes on behind its end, finer rules decide: Markdown's own parser reads the rest
            block = text[found.start() : end]
            self.extension.ids.update(_ID.findall(block))
            if text.startswith("\n\n", end):
                block += "\n"
            kept += (text[position : found.start()], "\n", self.md.htmlStash.store(block), "\n\n")
            position = end
        kept.append(text[position:])
        return "".join(kept).split("\n")


@cache
def _tags(tag: str) -> re.Pattern[str]:
    return re.compile(rf"<(/?){tag}(?=[ >\n])[^>]*>")


def _end_of_block(text: str, tag: str, start: int) -> int | None:
    """Where the element that opens at `start` ends, or None when it does not."""
    depth = 0
    for found in _tags(tag).finditer(text, start):
        depth += -1 if found[1] else 1
        if depth == 0:
            return found.end()
    return None
