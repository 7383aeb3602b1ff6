"""The words of the site's frame that stand in the engine's configuration, in a program's own words."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from generator.rendering.directions import Direction, is_turned
from generator.rendering.pages.inert import quiet

_BLOCK = re.compile(r"<(p|li|h[1-6]|td|th|dt|dd|blockquote|summary|figcaption|caption)(?=[ >])(?![^>]* dir=)")


def frame_words(label: Callable[[str], str]) -> Mapping[str, str]:
    """The shipped words of `mkdocs.yml` → the program's. A configuration that says something else keeps it."""
    own = {
        "Switch to dark": label("Switch to dark"),
        "Switch to light": label("Switch to light"),
        "On this page": label("On this page"),
    }
    return {words: quiet(said) for words, said in own.items()}


def frame_text(text: str, around: Direction) -> str:
    """Author text for the frame, set apart where it runs the other way than the page."""
    return f"<bdi>{quiet(text)}</bdi>" if is_turned(text, around) else quiet(text)


def prose_apart(html: str, around: Direction) -> str:
    """The HTML of a page that authors typed: on a page from right to left each block finds its own direction."""
    return _BLOCK.sub(r'<\1 dir="auto"', html) if around == "rtl" else html
