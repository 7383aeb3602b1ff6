"""What a page may do: a Content-Security-Policy that names each inline script of the theme by its hash.

The theme sets three short scripts into each page: where the site begins, which colours were chosen, which tab was
opened. They run before anything is drawn, so they stay where they are, and the policy allows exactly their text. Which
text that is, the theme's page for missing addresses tells: no author's words stand on it, so a script in a page of
prose is never taken for one of the theme's.
Content Security Policy Level 3, 8.3 (hashes); section 3.3 for what a meta element cannot say.
"""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Collection, Iterable
from functools import lru_cache

BARE = "404.html"
"""The page that holds the theme and no author's text."""
_INLINE = re.compile(r"<script(?P<attributes>[^>]*)>(?P<text>.*?)</script\s*>", re.DOTALL | re.IGNORECASE)
_DATA = re.compile(r"""\btype\s*=\s*["']?application/(?:ld\+)?json""", re.IGNORECASE)
_SRC = re.compile(r"\bsrc\s*=", re.IGNORECASE)
_ROOT = re.compile(r"""^(__md_scope=new URL\()"(?:\.|\.\.(?:/\.\.)*|/[\w./~%-]*)",""")
"""The one part of a script that differs from page to page: the way to the site's root."""


def scripts_of(html: str) -> tuple[str, ...]:
    """The text of each script that would run and stands in the page itself, in order."""
    return tuple(
        found["text"]
        for found in _INLINE.finditer(html)
        if found["text"].strip() and not _SRC.search(found["attributes"]) and not _DATA.search(found["attributes"])
    )


def theme_scripts(bare: str) -> frozenset[str]:
    """The theme's own scripts, from a page that holds nothing else; the way to the root is left open."""
    return frozenset(_rootless(script) for script in scripts_of(bare))


def hashes_of(html: str, theme: Collection[str]) -> tuple[str, ...]:
    """Hashes of the scripts of a page that are the theme's own. Others get none, so they do not run."""
    return tuple(hash_of(script) for script in scripts_of(html) if _rootless(script) in theme)


def _rootless(script: str) -> str:
    return _ROOT.sub(r'\1"",', script)


@lru_cache(maxsize=256)
def hash_of(script: str) -> str:
    """A script's hash as a policy writes it."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()}'"


def policy(hashes: Iterable[str], *, in_page: bool) -> str:
    """The policy that allows the site's own files and scripts with these hashes, and nothing else.

    In a page the scheme `file:` is named too: a handbook that is opened from a folder has no origin to be `'self'` in
    every browser, and no page that came over a network may load from that scheme.
    """
    own = "'self' file:" if in_page else "'self'"
    allowed = " ".join((own, *sorted(set(hashes))))
    rules = [
        "default-src 'none'",
        f"script-src {allowed}",
        f"style-src {own}",
        f"img-src {own} data:",
        f"font-src {own}",
        f"connect-src {own}",
        f"worker-src {own}",
        "base-uri 'none'",
        "form-action 'none'",
    ]
    if not in_page:
        rules.append("frame-ancestors 'self'")
    return "; ".join(rules)


def headers_file(hashes: Iterable[str]) -> str:
    """The headers for a whole site, in the plain form that several hosts of static files read from `_headers`."""
    return (
        "# Headers this handbook should be served with. Some hosts read this file; for another, copy the lines.\n"
        "# The scripts named by sha256 are the theme's own three; any other inline script is refused.\n"
        "/*\n"
        f"  Content-Security-Policy: {policy(hashes, in_page=False)}\n"
        "  X-Content-Type-Options: nosniff\n"
        "  Referrer-Policy: no-referrer\n"
        "/service-worker.js\n"
        "  Cache-Control: no-cache\n"
        "/edition.json\n"
        "  Cache-Control: no-cache\n"
    )
