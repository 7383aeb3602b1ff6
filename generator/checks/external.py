"""Links that leave the handbook: listed from the curriculum, and probed only when someone asks.

A build never probes: it must give the same result without a network.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from http.client import HTTPException
from typing import NamedTuple
from urllib.error import HTTPError
from urllib.parse import quote
from urllib.request import Request, urlopen

from generator.checks.support.prose import links, without_code
from generator.checks.support.texts import passages, prose_at
from generator.diagnostics import Location
from generator.model import Curriculum

_BARE = re.compile(r"https?://[^\s<>\"'`)\]}]+")


REFUSALS = (401, 403, 405, 429)
SECONDS_TO_ANSWER = 20


class ExternalLink(NamedTuple):
    """An address outside the handbook and every place that gives it."""

    address: str
    uses: tuple[Location, ...]

    @property
    def location(self) -> Location:
        """The first place that gives it."""
        return self.uses[0]


class Answer(NamedTuple):
    """What came of opening a link."""

    link: ExternalLink
    is_alive: bool
    what: str
    """What was answered, in words."""


def external_links(curriculum: Curriculum) -> tuple[ExternalLink, ...]:
    """Every http(s) address, and every DOI and PMID as its resolver's address, by address."""
    found: dict[str, list[Location]] = {}
    for address, location in _addresses(curriculum):
        places = found.setdefault(address, [])
        if location not in places:
            places.append(location)
    return tuple(ExternalLink(address, tuple(found[address])) for address in sorted(found))


def open_address(address: str) -> int:
    """The HTTP status that an address answers with, after redirections. Raises OSError when nothing answers."""
    request = Request(address, headers={"User-Agent": "rungbook link check"})
    try:
        with urlopen(request, timeout=SECONDS_TO_ANSWER) as response:
            return int(response.status)
    except HTTPError as error:
        return error.code


def probe_links(
    found: Sequence[ExternalLink],
    *,
    opener: Callable[[str], int] = open_address,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[Answer, ...]:
    """Open each address once, in order. `opener` returns the HTTP status or raises OSError.

    A refusal (401, 403, 405, 429) shows that something is there: publishers turn programs away. `progress` is told
    how many are done, of how many.
    """
    answers = []
    for done, link in enumerate(found, 1):
        try:
            status = opener(link.address)
        except (OSError, ValueError, HTTPException) as error:
            answers.append(Answer(link, False, f"could not be opened: {error}"))
        else:
            answers.append(Answer(link, status < 400 or status in REFUSALS, f"answered with status {status}"))
        if progress is not None:
            progress(done, len(found))
    return tuple(answers)


def _addresses(curriculum: Curriculum) -> Iterator[tuple[str, Location]]:
    for id, source in curriculum.sources.items():
        if source.URL and source.URL.startswith(("http://", "https://")):
            yield source.URL, curriculum.at("source", id, "URL")
        if source.DOI:
            yield f"https://doi.org/{quote(source.DOI, safe='/:;().-_')}", curriculum.at("source", id, "DOI")
        if source.PMID:
            yield f"https://pubmed.ncbi.nlm.nih.gov/{quote(source.PMID)}/", curriculum.at("source", id, "PMID")
    for passage in passages(curriculum):
        if "://" in passage.text and passage.path != ("site_url",):
            for match in _BARE.finditer(passage.text):
                yield match[0].rstrip(".,;:!?"), passage.at(curriculum)
    for path, text in curriculum.prose.items():
        linked = {}
        for link in links(text):
            if link.target.startswith(("http://", "https://")):
                linked[link.target] = prose_at(curriculum, path, link.offset)
        yield from linked.items()
        for match in _BARE.finditer(without_code(text)):
            address = match[0].rstrip(".,;:!?")
            if address not in linked:
                yield address, prose_at(curriculum, path, match.start())
