"""Fixed words of a sheet in a program's own words. Only fields that hold our words are looked at, never author text."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from generator.model import Curriculum
from generator.rendering.sheets import words

MORE = {", then ": "then"}
"""Words that a template says by itself unless the data of the sheet brings others, with the key that brings them."""

_LISTS = {
    "facts": ("label",),
    "scorers": ("name",),
    "results": ("name", "means"),
    "must_know": ("word",),
    "groups": ("heading",),
    "key": ("word", "means"),
}
"""Lists in a sheet's data → the fields of their entries that hold fixed words."""


def in_own_words(curriculum: Curriculum, data: dict[str, Any]) -> dict[str, Any]:
    """The data of a sheet with its fixed words exchanged by the program's labels."""
    if not curriculum.labels:
        return data
    label = curriculum.label
    more = {key: label(text) for text, key in MORE.items() if text in curriculum.labels}
    made = data | {"words": {key: label(text) for key, text in data["words"].items()} | more}
    if data.get("starter"):
        made["starter"] = label(data["starter"])
    for name, fields in _LISTS.items():
        if isinstance(data.get(name), list):
            made[name] = [_exchanged(curriculum, entry, fields) for entry in data[name]]
    return made


def _exchanged(curriculum: Curriculum, entry: Any, fields: tuple[str, ...]) -> Any:
    if not isinstance(entry, dict):
        return entry
    return entry | {key: _sentence(curriculum, entry[key]) for key in fields if isinstance(entry.get(key), str)}


def _sentence(curriculum: Curriculum, text: str) -> str:
    """A label, also where a full stop was put behind it."""
    if text in curriculum.labels:
        return curriculum.labels[text]
    bare = text.removesuffix(".")
    return f"{curriculum.labels[bare]}." if bare in curriculum.labels else text


FACTS = ("Strand", "Patient", "Time", "Levels", "Set out")
"""Labels of the facts at the head of a checklist."""


def sheet_label_ids() -> tuple[str, ...]:
    """Every fixed word of the sheets that a catalogue may exchange, sorted."""
    found = {text for name, value in vars(words).items() if not name.startswith("_") for text in _texts(value)}
    worths = {form for _, word, _ in words.WORTHS for form in (word, word.lower())}
    return tuple(sorted({*found, *FACTS, *MORE, *worths}))


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        # Ids are small letters; so are a few printed words, which then cannot be exchanged.
        if value[:1].isupper() or " " in value:
            yield value
    elif isinstance(value, Mapping):
        for one in value.values():
            # Keys are ids, and every value is printed.
            yield from (one,) if isinstance(one, str) else _texts(one)
    elif isinstance(value, tuple):
        for one in value:
            yield from _texts(one)
