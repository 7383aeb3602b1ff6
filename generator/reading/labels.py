"""Labels in a program's own words: a gettext catalogue `labels/<language>.po`, then `labels:` of `program.yaml`.

The catalogue's msgids are the words that the generator prints by itself. An empty translation leaves a label alone.
"""

from __future__ import annotations

import io
import re
from gettext import c2py
from pathlib import Path

from generator.diagnostics import Location, Problem, Severity
from generator.model import Program
from generator.model.plurals import Plurals
from generator.reading.text import decode, read_bytes

_PARTS = re.compile(r"\{[^{}]+\}")


def read_labels(folder: Path, program: Program) -> tuple[dict[str, str], Plurals, tuple[Problem, ...]]:
    """Labels by the words that they stand for, plural forms, and what is wrong with the catalogue. Nothing raises."""
    program_file = Location(f"{folder.absolute().name}/program.yaml")
    typed = {words: own for words, own in program.labels.items() if keeps_parts(words, own)}
    unfit = tuple(_other_parts(program_file, words) for words in program.labels if words not in typed)
    if not re.fullmatch(r"[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8})*", program.language):
        return typed, Plurals(), unfit
    path = folder / "labels" / f"{program.language}.po"
    file = f"{folder.absolute().name}/labels/{path.name}"
    unfit = (*unfit, *_of_other_languages(folder, program))
    if not path.is_file() or not path.resolve().is_relative_to(folder.resolve()):
        return typed, Plurals(), unfit
    data, problems = read_bytes(path, file)
    text, unreadable = decode(data, file) if data is not None else (None, ())
    labels, plurals, found = _catalogue(text, file) if text is not None else ({}, Plurals(), ())
    return {**labels, **typed}, plurals, (*unfit, *problems, *unreadable, *found)


def _of_other_languages(folder: Path, program: Program) -> tuple[Problem, ...]:
    """Catalogues that are not used, so that a wrong name of a file does not look like a translation that fails."""
    return tuple(
        Problem(
            location=Location(f"{folder.absolute().name}/labels/{path.name}"),
            rule="labels-unused",
            message=f"This catalogue is not used: the program's language is `{program.language}`.",
            remedy=f"To use it, set `language: {path.stem}` in program.yaml, or rename it to `{program.language}.po`.",
            severity=Severity.NOTE,
        )
        for path in sorted((folder / "labels").glob("*.po"))
        if path.stem != program.language
    )


def keeps_parts(words: str, own: str) -> bool:
    """Whether a label in own words has the parts in braces of the one it stands for, and no brace beside them."""
    parts = sorted(_PARTS.findall(words))
    return parts == sorted(_PARTS.findall(own)) and not (parts and re.search(r"[{}]", _PARTS.sub("", own)))


def _other_parts(location: Location, words: str) -> Problem:
    return Problem(
        location=location,
        rule="labels-parts",
        message=f"The label `{words}` is filled in at its braces, and this translation has others.",
        remedy="Keep each part in braces exactly once.",
    )


def _catalogue(text: str, file: str) -> tuple[dict[str, str], Plurals, tuple[Problem, ...]]:
    # Most programs have no catalogue, and a command should start at once.
    from babel.messages.pofile import PoFileError, read_po  # noqa: PLC0415

    try:
        catalogue = read_po(io.BytesIO(text.encode()), abort_invalid=True, charset="utf-8")
        rule = catalogue.plural_expr
        c2py(rule)
    except (PoFileError, ValueError, LookupError) as error:
        problem = Problem(
            location=Location(file, getattr(error, "lineno", None) or 1, 1),
            rule="labels-unreadable",
            message=f"This catalogue of labels cannot be read: {' '.join(str(error).split())}.",
            remedy="Write it anew with `rungbook labels`, or mend it with an editor for .po files.",
        )
        return {}, Plurals(), (problem,)
    labels: dict[str, str] = {}
    problems: list[Problem] = []
    forms: dict[tuple[str, str], tuple[str, ...]] = {}
    for message in catalogue:
        if not message.id or message.fuzzy:
            continue
        words = (message.id,) if isinstance(message.id, str) else tuple(message.id)
        own = (message.string,) if isinstance(message.string, str) else tuple(message.string or ())
        if not own or not all(own):
            continue
        if not all(any(keeps_parts(one, form) for one in words) for form in own):
            problems.append(_other_parts(Location(file, message.lineno or 1, 1), words[0]))
            continue
        if len(words) == 2:
            forms[words[0], words[1]] = own
            # A sentence that is also said without a count takes the first form, or the last.
            labels.setdefault(words[1], own[-1])
            labels.setdefault(words[0], own[0])
        else:
            labels[words[0]] = own[0]
    return labels, Plurals(rule=rule, forms=forms), tuple(problems)
