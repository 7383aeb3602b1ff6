"""Pages that did not change since the last build of the same server, so that one edit does not convert every page.

Three steps of MkDocs take nearly all of its time: Markdown to HTML, the entries of the search index, and the theme's
template. Each result is kept by everything that the step reads, and used again only when all of it is equal. A page in
whose conversion MkDocs said anything is not kept, so that a warning is said again at every build.

What one build did not use is forgotten, so the memory stays that of one site.
"""

from __future__ import annotations

import hashlib
import json
import logging
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any

import mkdocs
from jinja2.bccache import Bucket, BytecodeCache

Key = tuple[str, ...]
"""Everything that a step reads. The texts themselves and not a digest: a text that came from here is the same object,
and that it is equal is then seen at once."""


class Unchanged:
    """Kept results of one server, by step and key. Start each build with `begin`."""

    def __init__(self) -> None:
        self._last: dict[Key, Any] = {}
        self._now: dict[Key, Any] = {}
        self.reused = 0
        self.made = 0
        self._shared = ""
        self._compiled = _Compiled()

    def begin(self, config: Any, files: Any) -> None:
        """Note what all pages of this build share: configuration, the theme's own templates, and the set of files."""
        self._last, self._now = self._now, {}
        self.reused = self.made = 0
        addresses = sorted((file.src_uri, file.url) for file in files)
        self._shared = _digest(mkdocs.__version__, config_of(config), templates_of(config), addresses)

    def get(self, key: Key) -> Any:
        """What the last build or this one made for a key, or None."""
        found = self._now.get(key, self._last.get(key))
        if found is not None:
            self._now[key] = found
            self.reused += 1
        return found

    def keep(self, key: Key, made: Any) -> None:
        """Remember a result."""
        self._now[key] = made
        self.made += 1

    def convert(self, page: Any) -> None:
        """Let this page take its HTML from the last build where its Markdown and what all pages share are equal."""
        render = page.render

        def render_or_reuse(config: Any, files: Any) -> None:
            key = _key("html", self._shared, page.file.src_uri, page.markdown)
            kept = self.get(key)
            if kept is not None:
                page.content, page.toc, page._title_from_render, page.present_anchor_ids, links = kept
                # Files are made anew at each build, so links to them are kept by path.
                page.links_to_anchors = links and {files.get_file_from_path(uri): to for uri, to in links.items()}
                return
            with _Listening() as listening:
                render(config, files)
            if not listening.heard:
                links = page.links_to_anchors and {file.src_uri: to for file, to in page.links_to_anchors.items()}
                self.keep(key, (page.content, page.toc, page._title_from_render, page.present_anchor_ids, links))

        page.render = render_or_reuse

    def content(self, uri: str, html: str, change: Callable[[str], str]) -> str:
        """The HTML of a page after `change`, which reads nothing but this page and the addresses of all files."""
        key = _key("content", self._shared, uri, html)
        kept = self.get(key)
        if kept is None:
            with _Listening() as listening:
                kept = change(html)
            if not listening.heard:
                self.keep(key, kept)
        return str(kept)

    def index(self, search: Any) -> None:
        """Let a search index take its entries from the last build for a page whose content and address are equal."""
        add = search.add_entry_from_context

        def add_or_reuse(page: Any) -> None:
            toc = [(item.id, item.url) for item in _all_of(page.toc)]
            key = _key("search", page.url, str(page.title), page.meta, toc, page.content)
            kept = self.get(key)
            if kept is None:
                before = len(search.entries)
                add(page)
                self.keep(key, tuple(search.entries[before:]))
            else:
                search.entries.extend(kept)

        search.add_entry_from_context = add_or_reuse

    def template(self, env: Any, nav: Any) -> None:
        """Let each page's template take its output from the last build where page and navigation are equal."""
        env.bytecode_cache = self._compiled
        get_template = env.get_template
        whole = _digest(self._shared, [_item_of(item) for item in nav])

        def get_kept_template(name: Any, *rest: Any, **named: Any) -> Any:
            return _Kept(self, get_template(name, *rest, **named), f"{name}:{whole}")

        env.get_template = get_kept_template


class _Compiled(BytecodeCache):
    """The theme's templates, compiled once: MkDocs makes a new environment for every build."""

    def __init__(self) -> None:
        self._code: dict[str, bytes] = {}

    def load_bytecode(self, bucket: Bucket) -> None:
        """Give a template's code; Jinja itself sees whether it is of the same source."""
        if bucket.key in self._code:
            bucket.bytecode_from_string(self._code[bucket.key])

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep a template's code."""
        self._code[bucket.key] = bucket.bytecode_to_string()


class _Kept:
    """A template that looks for its output among the kept ones first. Pages without an address are always made."""

    def __init__(self, unchanged: Unchanged, template: Any, shared: str) -> None:
        self._unchanged = unchanged
        self._template = template
        self._shared = shared

    def __getattr__(self, name: str) -> Any:
        return getattr(self._template, name)

    def render(self, context: Any) -> str:
        page = context.get("page")
        if page is None:
            return str(self._template.render(context))
        near = [near and (near.url, str(near.title)) for near in (page.previous_page, page.next_page)]
        toc = [(item.id, item.url, item.title, item.level) for item in _all_of(page.toc)]
        key = _key("page", self._shared, page.url, str(page.title), page.meta, near, toc, page.content, page.edit_url)
        kept = self._unchanged.get(key)
        if kept is None:
            kept = str(self._template.render(context))
            self._unchanged.keep(key, kept)
        return str(kept)


class _Listening(logging.Handler):
    """Hears whether MkDocs said anything."""

    heard = False

    def __enter__(self) -> _Listening:
        logging.getLogger("mkdocs").addHandler(self)
        return self

    def __exit__(self, *failure: object) -> None:
        logging.getLogger("mkdocs").removeHandler(self)

    def emit(self, record: logging.LogRecord) -> None:
        self.heard = True


def config_of(config: Any) -> str:
    """Everything in a configuration that a page can show, as text: what was typed and what plugins made of it."""
    made: Mapping[str, Any] = {
        name: value for name, value in config.items() if name not in ("plugins", "theme", "nav", "hooks")
    }
    theme = {name: config.theme[name] for name in config.theme}
    return json.dumps([made, theme], default=_said, sort_keys=True)


def templates_of(config: Any) -> str:
    """The handbook's own templates, which may be edited while it is served."""
    own = Path(config.theme.custom_dir) if config.theme.custom_dir else None
    if own is None or not own.is_dir():
        return ""
    return _digest(*((str(path), path.read_bytes().hex()) for path in sorted(own.rglob("*")) if path.is_file()))


def _said(value: Any) -> str:
    """Text of a value; one that only says where it lies in memory would never be equal, so its type stands for it."""
    text = repr(value)
    return str(type(value)) if " at 0x" in text else text


def _all_of(items: Iterable[Any]) -> Iterable[Any]:
    for item in items:
        yield item
        yield from _all_of(item.children)


def _item_of(item: Any) -> Any:
    children = [_item_of(child) for child in item.children or ()]
    return (type(item).__name__, str(item.title), getattr(item, "url", None), children)


def _digest(*parts: Any) -> str:
    return hashlib.sha256("\0".join(_key(*parts)).encode("utf-8", "surrogatepass")).hexdigest()


def _key(*parts: Any) -> Key:
    return tuple(part if type(part) is str else repr(part) for part in parts)
