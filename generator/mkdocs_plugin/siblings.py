"""The navigation of pages that are siblings, made once instead of once a page.

The theme draws every entry of a section anew on every page of the section, so a section of twice as many pages takes
four times as long. Two siblings in one folder see the same navigation but for two entries: each shows its own as the
open one. So the first is drawn by the theme, and for each other the two entries are exchanged, both drawn by the theme.
Where an entry is not found exactly once, the theme draws the whole again.
"""

from __future__ import annotations

import posixpath
from collections.abc import Iterator
from typing import Any

NAVIGATION = "partials/nav.html"
ENTRY = "partials/nav-item.html"


def keep_navigation(env: Any) -> None:
    """Let templates of this environment take the navigation of a page from one of its siblings."""
    get_template = env.get_template
    kept: dict[Any, str] = {}

    def get_template_or_kept(name: Any, *rest: Any, **named: Any) -> Any:
        template = get_template(name, *rest, **named)
        return _Navigation(template, get_template, kept) if name == NAVIGATION else template

    env.get_template = get_template_or_kept


class _Navigation:
    """Stands for the theme's template of the navigation."""

    def __init__(self, template: Any, get_template: Any, kept: dict[Any, str]) -> None:
        self._template = template
        self._get_template = get_template
        self._kept = kept

    def __getattr__(self, name: str) -> Any:
        return getattr(self._template, name)

    def root_render_func(self, context: Any) -> Iterator[str]:
        """What Jinja calls to include a template."""
        page = context.get("page")
        if page is None or page.parent is None or page.is_index or page.children:
            yield from self._template.root_render_func(context)
            return
        key = (posixpath.dirname(page.url), *map(id, page.ancestors))
        whole = self._kept.get(key)
        entry = self._get_template(ENTRY).make_module(context.get_all(), True).render
        is_open, is_closed = str(entry(page, "", 0)), str(entry(_Closed(page), "", 0))
        if whole is not None and whole.count(is_closed) == 1:
            yield whole.replace(is_closed, is_open)
            return
        made = "".join(self._template.root_render_func(context))
        if made.count(is_open) == 1:
            self._kept[key] = made.replace(is_open, is_closed)
        yield made


class _Closed:
    """A page as its siblings show it."""

    active = False

    def __init__(self, page: Any) -> None:
        self._page = page

    def __getattr__(self, name: str) -> Any:
        return getattr(self._page, name)
