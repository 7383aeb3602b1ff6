"""The pages of a built site: what each links to, loads and shows, read once for all the site's rules."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from html import unescape
from pathlib import Path
from typing import NamedTuple
from urllib.parse import unquote, urlsplit

from generator.diagnostics import Location

LOADING_RELS = frozenset({
    "stylesheet", "icon", "shortcut", "apple-touch-icon", "mask-icon", "preload", "prefetch", "modulepreload",
    "manifest", "preconnect", "dns-prefetch", "prerender",
})  # fmt: skip
"""Values of `rel` that make a browser open a connection. `canonical`, `alternate`, `next` and the like do not."""

LOADING = {
    "script": ("src",),
    "img": ("src", "srcset"),
    "iframe": ("src",),
    "embed": ("src",),
    "audio": ("src",),
    "video": ("src", "poster"),
    "source": ("src", "srcset"),
    "track": ("src",),
    "object": ("data",),
    "input": ("src",),
    "image": ("href", "xlink:href"),
    "use": ("href", "xlink:href"),
    "form": ("action",),
}
"""Attributes of each tag whose address a page asks for by itself, or sends to."""

_folder_of = cache(posixpath.dirname)

_CSS_ADDRESS = re.compile(r"""url\(\s*["']?([^"')]+)["']?\s*\)|@import\s+["']([^"']+)["']""", re.IGNORECASE)


class Use(NamedTuple):
    """A value in a page and where it stands: an address, an id or what an image shows."""

    value: str
    location: Location
    tag: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """One HTML page or style sheet of a site."""

    path: str
    links: tuple[Use, ...] = ()
    loads: tuple[Use, ...] = ()
    ids: tuple[Use, ...] = ()
    silent_images: tuple[Use, ...] = ()
    names: frozenset[str] = frozenset()
    """What `#…` may name here: ids and old-style anchor names."""
    canonical: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """A built site."""

    pages: Mapping[str, Page]
    files: frozenset[str]
    """Every file, by its path in the site's folder."""
    base: str = ""
    """Address at which the site is published, with a slash at its end, where a page tells."""
    _known: dict[tuple[str, str], tuple[str, str] | None] = field(default_factory=dict, repr=False, compare=False)
    """Targets that were looked up: every page repeats the navigation's links, and two rules ask."""

    def is_own(self, address: str) -> bool:
        """Whether an address stays on the site's own origin."""
        parts = urlsplit(address.strip())
        if parts.scheme in ("data", "about", "blob", "javascript"):
            return True
        if not parts.scheme and not parts.netloc:
            return True
        own = urlsplit(self.base)
        return bool(own.netloc) and parts.netloc == own.netloc and parts.scheme in ("", own.scheme)

    def like(self, file: str) -> frozenset[str]:
        """The site's files of the same kind, by their ending."""
        ending = posixpath.splitext(file)[1]
        return frozenset(name for name in self.files if name.endswith(ending))

    def target(self, page: str, address: str) -> tuple[str, str] | None:
        """The file and fragment that an address on a page leads to; None when it leaves the site."""
        start = page if address[:1] in ("#", "", "?") else _folder_of(page)
        if (start, address) not in self._known:
            self._known[start, address] = self._target(page, address)
        return self._known[start, address]

    def _target(self, page: str, address: str) -> tuple[str, str] | None:
        parts = urlsplit(address.strip())
        if parts.scheme not in ("", "http", "https") or not self.is_own(address):
            return None
        path = unquote(parts.path)
        if path.startswith("/"):
            root = urlsplit(self.base).path or "/"
            if not f"{path}/".startswith(root):
                return None
            path = path[len(root) :] if path.startswith(root) else ""
        elif path:
            path = posixpath.join(posixpath.dirname(page), path)
        else:
            return page, unquote(parts.fragment)
        file = posixpath.normpath(path) if path else "."
        if path.endswith("/") or file == "." or f"{file}/index.html" in self.files:
            file = posixpath.normpath(f"{file}/index.html")
        return file, unquote(parts.fragment)


def read_site(folder: Path) -> Site:
    """Read every page and style sheet under a folder. Unreadable bytes are replaced, never an error."""
    paths = sorted(path for path in folder.rglob("*") if path.is_file())
    pages: dict[str, Page] = {}
    known: dict[str, _Told | None] = {}
    for path in paths:
        name = path.relative_to(folder).as_posix()
        if path.suffix in (".html", ".htm"):
            pages[name] = read_page(path.read_text("utf-8", errors="replace"), name, f"{folder.name}/{name}", known)
        elif path.suffix == ".css":
            pages[name] = read_style(path.read_text("utf-8", errors="replace"), name, f"{folder.name}/{name}")
    bases = (_base(page) for page in pages.values())
    return Site(
        pages=pages,
        files=frozenset(path.relative_to(folder).as_posix() for path in paths),
        base=next((base for base in bases if base), ""),
    )


def read_page(html: str, path: str, file: str, known: dict[str, _Told | None] | None = None) -> Page:
    """The facts of one HTML page; `file` is how locations name it, `known` keeps the tags of a site's pages.

    One pattern finds the tags, and only those that matter are taken apart, each wording once. A tree is not needed, and
    a build reads every page: Python's own tokenizer took about three times as long over the same built pages,
    BeautifulSoup far longer. The tests hold this against BeautifulSoup.
    """
    reader = _PageReader(html, file, {} if known is None else known)
    reader.read()
    return Page(
        path=path,
        links=tuple(reader.links),
        loads=tuple(reader.loads),
        ids=tuple(reader.ids),
        silent_images=tuple(reader.silent),
        names=frozenset(reader.names),
        canonical=reader.canonical,
    )


_PLAIN = r"""(?:\s++[^\s"'<>=/]++(?:="[^"]*+")?)*+\s*+/?"""
"""Attributes as nearly every tag has them; a pattern for all that a browser accepts takes twice as long."""
_ATTRIBUTE = r"""=?[^\s/>=]*+(?:\s*+=\s*+(?:"[^"]*+"|'[^']*+'|[^\s"'>][^\s>]*+)?)?"""
_TAG = re.compile(
    rf"""<(?:(?P<tag>[a-z][^\s/>]*+)(?P<attributes>{_PLAIN}(?=>)|(?:[\s/]++|(?=[^\s/>]){_ATTRIBUTE})*+)>"""
    r"""|/(?P<end>a)\s*+>|!--.*?(?:--!?>|\Z))""",
    re.IGNORECASE | re.DOTALL,
)
"""A start tag, the end of a link, or a comment. Possessive, so that an odd tag is never tried in many ways, and made so
that every `<a` with a `>` somewhere behind it is a tag: a page of nothing but `<a` must not be read again and again."""
_VALUE = re.compile(r"""(?=[^\s/])(=?[^\s/>=]*+)(?:\s*+=\s*+(?:"([^"]*+)"|'([^']*+)'|([^\s"'>][^\s>]*+))?)?""")
_ANYWHERE = re.compile(r"[\s/](?:id|style)(?![^\s/=])", re.IGNORECASE)
"""Attributes that matter on every tag."""
_RAW_ENDS = {
    tag: re.compile(rf"</{tag}(?=[\s/>])", re.IGNORECASE) for tag in ("script", "style", "textarea", "title", "xmp")
}
"""Elements whose content holds no tags (HTML Standard, 13.2.6)."""
_MATTER = frozenset({*LOADING, *_RAW_ENDS, "a", "area", "link"})


_Told = tuple[str, dict[str, str]]
"""A tag's name, with a slash before it where it ends an element, and its attributes."""


def _told(found: re.Match[str]) -> _Told | None:
    """What a tag says that matters to any rule, or None."""
    if found["end"]:
        return "/a", {}
    if not found["tag"]:
        return None
    tag = found["tag"].lower()
    return (tag, _values(found["attributes"])) if tag in _MATTER or _ANYWHERE.search(found["attributes"]) else None


class _PageReader:
    """Gathers a page's facts tag by tag."""

    def __init__(self, html: str, file: str, known: dict[str, _Told | None]) -> None:
        self.html = html
        self.known = known
        self.file = file
        self.links: list[Use] = []
        self.loads: list[Use] = []
        self.ids: list[Use] = []
        self.silent: list[Use] = []
        self.names: set[str] = set()
        self.canonical: str | None = None
        self._line = 1
        self._counted = 0
        self._link_starts: int | None = None
        self._link_speaks = False
        self._link_images: list[Use] = []

    def read(self) -> None:
        """Go through the page once."""
        position, stop = 0, self.html.rfind(">") + 1
        while found := _TAG.search(self.html, position, stop):
            position = found.end()
            whole = found[0]
            if whole not in self.known:
                self.known[whole] = _told(found)
            told = self.known[whole]
            if told is None:
                continue
            tag, values = told
            if tag == "/a":
                self._end_link(found.start())
                continue
            at = self._at(found.start())
            self._start(tag, values, at, found)
            if tag in _RAW_ENDS:
                position = self._raw(tag, position, at)

    def _at(self, position: int) -> Location:
        self._line += self.html.count("\n", self._counted, position)
        self._counted = position
        return Location(self.file, self._line, position - self.html.rfind("\n", 0, position))

    def _start(self, tag: str, values: dict[str, str], at: Location, found: re.Match[str]) -> None:
        if "id" in values:
            self.ids.append(Use(values["id"], at, tag))
            self.names.add(values["id"])
        if tag in ("a", "area"):
            self._start_link(tag, values, at, found)
        elif tag == "link":
            self._link_tag(values, at)
        elif tag == "img":
            self._image(values, at)
        self.loads.extend(Use(address, at, tag) for address in _loaded(tag, values))

    def _raw(self, tag: str, start: int, at: Location) -> int:
        """Step over content without tags; the end of it."""
        end = _RAW_ENDS[tag].search(self.html, start)
        stop = end.start() if end else len(self.html)
        if tag == "style":
            self.loads.extend(Use(address, at, "style") for address in _css_addresses(self.html[start:stop]))
        return stop

    def _start_link(self, tag: str, values: dict[str, str], at: Location, found: re.Match[str]) -> None:
        if "href" in values:
            self.links.append(Use(values["href"], at, tag))
        if "name" in values:
            self.names.add(values["name"])
        if tag == "a":
            self._end_link(found.start())  # an open one ends here, as in a browser
            self._link_starts, self._link_images = found.end() if "href" in values else None, []
            self._link_speaks = bool(values.get("aria-label"))

    def _end_link(self, position: int) -> None:
        if self._link_starts is not None and self._link_images and not self._link_speaks:
            # Words are looked for only where a link holds an image without any.
            words = unescape(_TAG_OR_END.sub("", self.html[self._link_starts : position]))
            self.silent.extend(() if words.strip() else self._link_images)
        self._link_starts = None

    def _link_tag(self, values: dict[str, str], at: Location) -> None:
        rels = set(values.get("rel", "").lower().split())
        if "canonical" in rels:
            self.canonical = values.get("href")
        if rels & LOADING_RELS:
            self.loads.append(Use(values.get("href", ""), at, "link"))

    def _image(self, values: dict[str, str], at: Location) -> None:
        """An image without `alt` is silent. An empty one marks decoration (HTML Standard, 4.8.4.4), unless it is all
        that a link holds: that link would have no name (WCAG 2.2, 2.4.4)."""
        if values.get("aria-hidden") == "true" or values.get("role") in ("presentation", "none"):
            return
        image = Use(values.get("src", "?"), at, "img")
        words = values.get("alt", "").strip() or values.get("aria-label", "").strip()
        if words:
            self._link_speaks = True
        elif "alt" not in values:
            self.silent.append(image)
        elif self._link_starts is not None:
            self._link_images.append(image)


_TAG_OR_END = re.compile(rf"</[^>]*>|{_TAG.pattern}", re.IGNORECASE | re.DOTALL)


def _values(attributes: str) -> dict[str, str]:
    """Attributes by name in lower case; of two with one name, the first counts."""
    values: dict[str, str] = {}
    for name, double, single, bare in _VALUE.findall(attributes):
        value = double or single or bare
        values.setdefault(name.lower(), unescape(value) if "&" in value else value)
    return values


def read_style(css: str, path: str, file: str) -> Page:
    """The addresses that a style sheet loads."""
    plain = re.sub(r"/\*.*?\*/", lambda match: re.sub(r"[^\n]", " ", match[0]), css, flags=re.DOTALL)
    loads = []
    for match in _CSS_ADDRESS.finditer(plain):
        column = match.start() - plain.rfind("\n", 0, match.start())
        at = Location(file, plain.count("\n", 0, match.start()) + 1, column)
        loads.append(Use((match[1] or match[2]).strip(), at, "style sheet"))
    return Page(path=path, loads=tuple(loads))


def _loaded(tag: str, values: dict[str, str]) -> Iterator[str]:
    for attribute in LOADING.get(tag, ()):
        value = values.get(attribute)
        if value and attribute == "srcset":
            yield from (part.split()[0] for part in value.split(",") if part.split())
        elif value:
            yield value
    if "style" in values:
        yield from _css_addresses(values["style"])


def _css_addresses(css: str) -> Iterator[str]:
    for match in _CSS_ADDRESS.finditer(css):
        yield (match[1] or match[2]).strip()


def _base(page: Page) -> str | None:
    """The address of the site, from a page's own canonical address."""
    if not page.canonical:
        return None
    for ending in (page.path, page.path.removesuffix("index.html")):
        if page.canonical.endswith(f"/{ending}"):
            return page.canonical[: len(page.canonical) - len(ending)]
    return None
