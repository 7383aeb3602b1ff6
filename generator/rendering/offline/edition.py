"""Which edition of the handbook a site is: a name made from its content alone, so that equal sites have equal names."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

UNLISTED = frozenset({"service-worker.js", "edition.json", "edition.js", "_headers", ".rungbook-site", "sitemap.xml"})
"""Files that say which edition this is, or that no reader opens."""
LATER = (".pdf", ".json", ".csv", ".ics")
"""Endings of files that are kept once they were opened, and not before: a tablet need not hold every sheet."""
KEPT_FIRST = ("search/search_index.json",)
"""Files that would be kept later by their ending, but without which the handbook does not work."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Edition:
    """What one edition consists of."""

    name: str
    """The first 8 hex digits of a sha256 over the paths and contents."""
    files: Mapping[str, str]
    """Hash by path of what is kept on the first visit."""
    later: Mapping[str, str]
    """Hash by path of what is kept when it is first opened."""

    def as_json(self) -> str:
        """For the worker; paths in order, one line each."""
        return json.dumps({"edition": self.name, "files": self.files, "later": self.later}, indent=0) + "\n"


def edition_of(hashes: Mapping[str, str], *, languages: Iterable[str] = ("en",)) -> Edition:
    """The edition of a site from the hex sha256 of each file by its path relative to the site's root.

    `languages` are those of the search: the theme's word lists of other languages are never loaded, so not kept.
    """
    more = any(language != "en" for language in languages)
    known = {path: sha for path, sha in sorted(hashes.items()) if path not in UNLISTED and not path.endswith(".gz")}
    whole = hashlib.sha256("".join(f"{path}\0{sha}\n" for path, sha in known.items()).encode()).hexdigest()
    files = {path: sha for path, sha in known.items() if _is_first(path, more)}
    later = {path: sha for path, sha in known.items() if path not in files}
    return Edition(name=whole[:8], files=files, later=later)


def _is_first(path: str, has_languages: bool) -> bool:
    if path in KEPT_FIRST:
        return True
    if path.endswith((*LATER, ".map")) or path == "search/search_index.js":
        return False
    return has_languages or not path.startswith("assets/javascripts/lunr/")
