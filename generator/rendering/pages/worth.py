"""The worth table of the lab: techniques against trainers, one strand at a time."""

from __future__ import annotations

from generator.analysis.addresses import WORTH_PAGE
from generator.analysis.worth import THE_LAB, lab_worth
from generator.rendering.pages.uses import skills_in_order
from generator.rendering.pages.writing import Handbook, Writer
from generator.rendering.tables.worth import worth_path

NOT_IN_USE = "Not in use yet"


def worth_markdown(book: Handbook) -> str:
    """The page of the lab's worth table, and the way to the table of each skill."""
    curriculum = book.curriculum
    return Writer(book=book, page=WORTH_PAGE).write(
        "worth.md.j2",
        title=book.curriculum.say("What each trainer proves"),
        meta={"hide": ["navigation", "toc"], "search": {"boost": 0.3}},
        tables=tuple(
            (
                curriculum.name_of(curriculum.program.strands, table.strand)
                if table.strand
                else curriculum.say(NOT_IN_USE),
                f"strand-{table.strand or 'none'}",
                table,
            )
            for table in lab_worth(curriculum)
        ),
        lab_sheet=THE_LAB,
        csv=worth_path(),
        skills=tuple(skill for skill in skills_in_order(curriculum) if skill.critical_steps),
    )
