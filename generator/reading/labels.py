"""Labels in a program's own words: a gettext catalogue `labels/<language>.po`, then `labels:` of `program.yaml`.

The catalogue's msgids are the words that the generator prints by itself. An empty translation leaves a label alone.
"""

from __future__ import annotations

import io
import re
from pathlib import Path

from generator.diagnostics import Location, Problem
from generator.model import Program
from generator.reading.text import decode, read_bytes

_PARTS = re.compile(r"\{[a-z]+\}")


def read_labels(folder: Path, program: Program) -> tuple[dict[str, str], tuple[Problem, ...]]:
    """The labels by the words that they stand for, and what is wrong with the catalogue. Nothing raises."""
    if not re.fullmatch(r"[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8})*", program.language):
        return dict(program.labels), ()
    path = folder / "labels" / f"{program.language}.po"
    file = f"{folder.absolute().name}/labels/{path.name}"
    if not path.is_file() or not path.resolve().is_relative_to(folder.resolve()):
        return dict(program.labels), ()
    data, problems = read_bytes(path, file)
    text, unreadable = decode(data, file) if data is not None else (None, ())
    labels, found = _catalogue(text, file) if text is not None else ({}, ())
    return {**labels, **program.labels}, (*problems, *unreadable, *found)


def _catalogue(text: str, file: str) -> tuple[dict[str, str], tuple[Problem, ...]]:
    # Most programs have no catalogue, and a command should start at once.
    from babel.messages.pofile import PoFileError, read_po  # noqa: PLC0415

    try:
        messages = list(read_po(io.BytesIO(text.encode()), abort_invalid=True, charset="utf-8"))
    except (PoFileError, ValueError, LookupError) as error:
        problem = Problem(
            location=Location(file, getattr(error, "lineno", None) or 1, 1),
            rule="labels-unreadable",
            message=f"This catalogue of labels cannot be read: {' '.join(str(error).split())}.",
            remedy="Write it anew with `rungbook labels`, or mend it with an editor for .po files.",
        )
        return {}, (problem,)
    labels: dict[str, str] = {}
    problems: list[Problem] = []
    for message in messages:
        if not isinstance(message.id, str) or not message.id or not message.string or message.fuzzy:
            continue
        own = str(message.string)
        if sorted(_PARTS.findall(message.id)) != sorted(_PARTS.findall(own)):
            problems.append(
                Problem(
                    location=Location(file, message.lineno or 1, 1),
                    rule="labels-parts",
                    message=f"The label `{message.id}` is filled in at its braces, and this translation has others.",
                    remedy="Keep each part in braces exactly once.",
                )
            )
            continue
        labels[message.id] = own
    return labels, tuple(problems)
