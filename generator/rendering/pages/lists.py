"""Pages that list: home, strands, levels, trainers, glossary."""

from __future__ import annotations

from generator.analysis.addresses import GLOSSARY_PAGE, HOME_PAGE, LEVELS_PAGE, TRAINERS_PAGE, strand_page, trainer_page
from generator.analysis.explain_gaps import absence_lines, gaps_verdict
from generator.analysis.wording import fill
from generator.model import Curriculum, Named, Skill, Technique, Trainer, Worth
from generator.rendering.pages.uses import finder_of, names_of, skills_in_order
from generator.rendering.pages.wear import wear_of_trainer
from generator.rendering.pages.writing import Handbook, Writer, slug

_WORTH_ORDER = (Worth.GIVEN, Worth.MEASURED, Worth.EARNED, Worth.SILENT)
"""False reassurance first: it is what an instructor must know before the station opens."""


def home_markdown(book: Handbook) -> str:
    """The front door: skills by strand, by level, and by what is in the room."""
    curriculum = book.curriculum
    return Writer(book=book, page=HOME_PAGE).write(
        "home.md.j2",
        title=book.curriculum.say("Home"),
        meta={"description": curriculum.program.about, "hide": ["navigation", "toc"], "search": {"exclude": True}},
        strands=tuple((strand, curriculum.skills_in(strand.id)) for strand in strands_of(curriculum)),
        levels=tuple(
            (level, sum(level.id in skill.levels for skill in curriculum.skills.values()))
            for level in curriculum.program.levels
        ),
    )


def strands_of(curriculum: Curriculum) -> tuple[Named, ...]:
    """The strands that hold a skill, as the program lists them; one it does not list goes by its id."""
    used = dict.fromkeys(skill.strand for skill in skills_in_order(curriculum))
    known = {strand.id: strand for strand in curriculum.program.strands}
    return tuple(known.get(id) or Named(id=id, name=id) for id in used)


def strand_markdown(book: Handbook, strand: Named) -> str:
    """The page of one strand."""
    return Writer(book=book, page=strand_page(strand.id)).write(
        "strand.md.j2",
        title=strand.name,
        meta={"search": {"boost": 0.5}},
        strand=strand,
        skills=book.curriculum.skills_in(strand.id),
    )


def levels_markdown(book: Handbook) -> str:
    """Skills by level; a local rule that narrows a level shows beside the skill."""
    curriculum = book.curriculum

    def narrowed(skill: Skill, level: str) -> bool:
        rules = curriculum.local.rules if curriculum.local else ()
        return any(rule.skill == skill.id and rule.levels and level not in rule.levels for rule in rules)

    return Writer(book=book, page=LEVELS_PAGE).write(
        "levels.md.j2",
        title=book.curriculum.say("Levels"),
        levels=tuple(
            (
                level,
                tuple(
                    (skill, narrowed(skill, level.id))
                    for skill in skills_in_order(curriculum)
                    if level.id in skill.levels
                ),
            )
            for level in curriculum.program.levels
        ),
    )


def trainers_markdown(book: Handbook) -> str:
    """All trainers, and for each technique in use the trainers that are not silent about it."""
    curriculum = book.curriculum
    rows: list[tuple[str, Technique, tuple[tuple[Trainer, Worth], ...]]] = []
    for id, technique in sorted(curriculum.techniques.items(), key=lambda item: item[1].name):
        heard = tuple(
            (trainer, worth)
            for worth in _WORTH_ORDER[:-1]
            for trainer in curriculum.trainers.values()
            if trainer.worth_of(id) is worth
        )
        rows.append((id, technique, heard))
    return Writer(book=book, page=TRAINERS_PAGE).write(
        "trainers.md.j2",
        title=book.curriculum.say("Trainers"),
        techniques=tuple(rows),
        gaps=gaps_verdict(curriculum, book.analysis.gaps),
    )


def trainer_markdown(book: Handbook, trainer: Trainer) -> str:
    """The page of one trainer."""
    curriculum = book.curriculum
    met = {skill.id for skill, _ in book.uses.trainers.get(trainer.id, ())}
    wanted = [id for id, skills in book.uses.techniques.items() if any(skill.id in met for skill in skills)]
    groups = []
    for worth in _WORTH_ORDER:
        rows = []
        for id in dict.fromkeys([*wanted, *trainer.feedback]):
            if trainer.worth_of(id) is worth:
                technique = curriculum.techniques.get(id)
                feedback = trainer.feedback.get(id)
                rows.append(
                    (
                        technique.name if technique else id,
                        technique.right if technique else "",
                        feedback.shows if feedback else "",
                    )
                )
        groups.append({"worth": worth, "rows": tuple(rows)})
    writer = Writer(book=book, page=trainer_page(trainer))
    absences = (absence for absence in book.analysis.absences if absence.trainer == trainer.id)
    absent = tuple(
        line for absence in absences for line in absence_lines(curriculum, absence, names=writer.names, ladders=False)
    )
    return writer.write(
        "trainer.md.j2",
        title=trainer.name,
        meta={"description": fill(trainer.summary, curriculum)},
        trainer=trainer,
        groups=tuple(groups),
        used=book.uses.trainers.get(trainer.id, ()),
        wear=wear_of_trainer(book, trainer.id),
        absent=absent,
    )


def glossary_markdown(book: Handbook) -> str:
    """Terms by letter, each with the skills that use it."""
    find = finder_of(names_of(book.curriculum.terms))
    users: dict[str, list[Skill]] = {}
    for skill in skills_in_order(book.curriculum):
        for found in find(skill):
            users.setdefault(found, []).append(skill)
    anchors: dict[str, int] = {}
    rows = []
    for term in sorted(book.curriculum.terms, key=lambda term: term.term.casefold()):
        anchor = slug(term.term)
        anchors[anchor] = anchors.get(anchor, 0) + 1
        name = anchor if anchors[anchor] == 1 else f"{anchor}-{anchors[anchor]}"
        rows.append((name, term, tuple(users.get(term.term, ()))))
    return Writer(book=book, page=GLOSSARY_PAGE).write(
        "glossary.md.j2", title=book.curriculum.say("Glossary"), meta={"search": {"boost": 0.5}}, terms=tuple(rows)
    )
