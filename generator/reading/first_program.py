"""A new program's first folder: an empty curriculum that the check accepts and the build makes a site of."""

from __future__ import annotations

import os
from importlib.resources import files
from pathlib import Path

from generator.reading.scaffold import ScaffoldError
from generator.reading.schemas import write_schemas

_LINE = "# yaml-language-server: $schema=.schema/{kind}.json\n"
_PROGRAM = """\
name: Our program
short_name: Our program
language: en
site_url: https://handbook.example/
about: One sentence about who practises here.
paper: us-letter
medical_direction: Local rules and the people who answer for this work come before anything printed here.
usual_cautions:
  - Practice on trainers only.
levels:
  - id: member
    name: Member
rungs:
  - id: isolate
    name: Isolate
  - id: perform
    name: Perform
strands:
  - id: first-strand
    name: First strand
populations: []
labels:
  No medical director has approved this handbook yet. Use it to train instructors and to try the method, not to teach patient care.: >-
    Nobody who answers for this work has approved this handbook yet. Use it to train instructors and to try the method.
  "Starter content: no medical director has approved it yet.": "Starter content: nobody has approved it yet."
  "Starter content: no medical director has approved the skills yet.": "Starter content: nobody has approved the skills yet."
  Local protocol first.: Local rules first.
  Patients: For whom
  Patient: For whom
"""  # noqa: E501
_LISTS = {
    "techniques": "techniques: {}\n",
    "equipment": "equipment: {}\n",
    "quantities": "quantities: {}\n",
    "sources": "references: []\n",
    "glossary": "terms: []\n",
}
_ABOUT = """\
# About this handbook

Write the first technique in `techniques.yaml`. Then `rungbook new trainer ID`, then `rungbook new skill ID`.
"""


def first_program(folder: Path) -> tuple[Path, ...]:
    """Write the first files of a new program and return their paths. A folder that holds anything is left alone.

    Raises ScaffoldError when the folder is not empty or cannot be written.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise ScaffoldError(f"{folder} is not an empty folder, so it was left as it is. Name a new one.")
    curriculum = folder / "curriculum"
    first = files("generator.reading") / "first_files"
    texts = {
        folder / "mkdocs.yml": (first / "mkdocs.yml").read_text(encoding="utf-8"),
        folder / "site_overrides" / "main.html": (first / "site_overrides" / "main.html").read_text(encoding="utf-8"),
        curriculum / "program.yaml": _LINE.format(kind="program") + _PROGRAM,
        curriculum / "pages" / "about.md": _ABOUT,
        **{curriculum / f"{kind}.yaml": _LINE.format(kind=kind) + text for kind, text in _LISTS.items()},
        curriculum / "trainers" / ".keep": "",
        curriculum / "skills" / ".keep": "",
        folder / ".gitignore": "site/\n.rungbook/\n",
    }
    try:
        for path, text in texts.items():
            path.parent.mkdir(parents=True, exist_ok=True)
            with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o644), "w", encoding="utf-8") as stream:
                stream.write(text)
        schemas = tuple(write_schemas(curriculum))
    except OSError as error:
        raise ScaffoldError(f"{folder} cannot be written: {(error.strerror or 'unknown').lower()}.") from None
    return (*texts, *schemas)
