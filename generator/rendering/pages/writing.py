"""Templates and the words they share: one writer a page, so that links are relative to it."""

from __future__ import annotations

import json
import posixpath
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, Protocol
from urllib.parse import quote

from jinja2 import Environment, FileSystemLoader, StrictUndefined, nodes
from jinja2.compiler import CodeGenerator, Frame
from markupsafe import Markup, escape

from generator.analysis.addresses import skill_page, trainer_page
from generator.analysis.names import Named as NamedRecord
from generator.analysis.names import PageNames, parts
from generator.analysis.whole import Analysis
from generator.analysis.wording import Mention, fill, pieces, says
from generator.model import Curriculum, Paper, Quantity, Skill, Trainer, Worth
from generator.rendering.directions import OPEN, SHUT, bare, direction_of_language, on_page
from generator.rendering.lab_day import LabDay
from generator.rendering.pages.inert import heading, inert, quiet, tidy
from generator.rendering.pages.labels import LabelExtension
from generator.rendering.pages.shapes import TABLE_SHAPES, WORTH_SAYS, mark, shape, symbols, used
from generator.rendering.pages.uses import Use, Uses

PAPERS: tuple[tuple[Paper, str], ...] = (("us-letter", "US Letter"), ("a4", "A4"))


class PrintedSheet(Protocol):
    """What a page needs to know of a sheet."""

    @property
    def kind(self) -> str: ...  # noqa: D102
    @property
    def id(self) -> str: ...  # noqa: D102
    @property
    def revision(self) -> str: ...  # noqa: D102


class Prints:
    """Sheets by kind and id. It notes which were asked for, for those who keep a page until one of them changes."""

    def __init__(self, sheets: Iterable[PrintedSheet] = ()) -> None:
        self._sheets = {(sheet.kind, sheet.id): sheet for sheet in sheets}
        self.asked: dict[tuple[str, str], str | None] = {}
        """Revision, or None for no such sheet, by kind and id."""

    def get(self, kind: str, id: str) -> PrintedSheet | None:
        """A sheet, if there is one."""
        self.asked[kind, id] = self.revision(kind, id)
        return self._sheets.get((kind, id))

    def revision(self, kind: str, id: str) -> str | None:
        """What `asked` would say of a sheet, without noting that anyone asked."""
        sheet = self._sheets.get((kind, id))
        return sheet.revision if sheet else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Handbook:
    """Everything that pages are written from."""

    curriculum: Curriculum
    uses: Uses
    references: Mapping[str, str]
    sheets: Prints
    today: date
    analysis: Analysis
    days: Mapping[str, LabDay] = field(default_factory=dict)
    """Lab days with their timetables, by id of the lab; one that was not planned is left out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Writer:
    """Writes one page. Its methods are what templates call; each returns markup whose author text is inert."""

    book: Handbook
    page: str
    """The page's own path, docs-relative."""

    def href(self, target: str) -> Markup:
        """The relative address of a docs-relative path, which may end in an anchor."""
        path, _, anchor = target.partition("#")
        if not path or path == self.page:
            return Markup(f"#{quote(anchor)}" if anchor else "")
        return _href(_folder(self.page), target)

    def link(self, target: str, words: object) -> Markup:
        """A link within the handbook."""
        return Markup(f'<a href="{self.href(target)}">{inert(words)}</a>')

    def text(self, words: str | None) -> Markup:
        """Author text with each cited number linked to its entry."""
        if not words or "{" not in words:
            return _keeping_edges(words or "")
        out = []
        for piece in pieces(words, self.book.curriculum):
            if isinstance(piece, Mention):
                href = self.href(f"numbers.md#{piece.id}")
                said = inert(piece.text)
                said = Markup(f"{OPEN}{said}{SHUT}") if words.startswith(OPEN) else said
                out.append(f'<a class="rb-number" href="{href}">{said}</a>')
            else:
                out.append(_keeping_edges(piece))
        return Markup("".join(out))

    def words(self, words: str | None) -> Markup:
        """Author text with its cited numbers, without links: for use inside a label or a link."""
        return inert(fill(words or "", self.book.curriculum))

    def says(self, quantity: Quantity) -> str:
        """A cited number in words."""
        return says(quantity, self.book.curriculum.say)

    def cite(self, ids: Iterable[str]) -> Markup:
        """Numbered links to the evidence page; a source that nobody knows shows its id."""
        known = self.book.uses.source_numbers
        out = ""
        for id in dict.fromkeys(ids):
            if id in known:
                href, number = self.href(f"evidence.md#{id}"), known[id]
                source = inert(self.book.curriculum.say("Source {number}", number=number))
                out += f'<a class="rb-cite" href="{href}" aria-label="{source}">{number}</a>'
            else:
                unknown = inert(self.book.curriculum.say("unknown: {id}", id=id))
                out += f'<span class="rb-cite rb-unknown">{unknown}</span>'
        if not out:
            return Markup()
        word = inert(self.book.curriculum.label("Evidence"))
        return Markup(f'<span class="rb-cites"><span class="rb-cites-word">{word}</span>{out}</span>')

    def uses(self, uses: Iterable[Use]) -> Markup:
        """A list of links to where something is used."""
        items = Markup("".join(f"<li>{self.link(use.page, use.words)}</li>" for use in uses))
        return (
            Markup('<ul class="rb-uses">{}</ul>').format(items)
            if items
            else Markup("<p>{}</p>").format(inert(self.book.curriculum.label("Not used yet.")))
        )

    def skill(self, skill: Skill) -> Markup:
        """A link to a skill's page."""
        return self.link(skill_page(skill), skill.title)

    def trainer(self, id: str) -> Markup:
        """A link to a trainer's page, or the id of one that nobody knows."""
        trainer = self.book.curriculum.trainers.get(id)
        return self.link(trainer_page(trainer), trainer.name) if isinstance(trainer, Trainer) else inert(id)

    @property
    def names(self) -> PageNames:
        """The names that sentences for a page are made with; `told` then makes links of them."""
        return PageNames(curriculum=self.book.curriculum)

    def told(self, sentence: str) -> Markup:
        """A sentence of `explain`, made with `names`, with a link for each record that has a page."""
        out = Markup()
        for part in parts(sentence):
            out += _keeping_edges(part) if isinstance(part, str) else self._linked(part)
        return out

    def _linked(self, named: NamedRecord) -> Markup:
        if named.sort == "typed":
            return Markup("<code>{}</code>").format(inert(named.words))
        curriculum = self.book.curriculum
        skill, _, step = named.key.partition("/")
        known = {
            "skill": curriculum.skills,
            "step": curriculum.skills,
            "trainer": curriculum.trainers,
            "station": curriculum.stations,
            "lab": curriculum.labs,
        }.get(named.sort, {})
        if skill not in known:
            return inert(named.words)
        page = f"{named.sort}s/{named.key}.md"
        if named.sort in ("skill", "step"):
            page = skill_page(curriculum.skills[skill]) + (f"#step-{step}" if step else "")
        return inert(named.words) if page == self.page else self.link(page, named.words)

    def named(self, kind: str, id: str) -> str:
        """The name of a level, rung, strand, population, technique or item of equipment, or its id."""
        curriculum = self.book.curriculum
        if kind in ("technique", "equipment"):
            held: Mapping[str, Any] = curriculum.techniques if kind == "technique" else curriculum.equipment
            return held[id].name if id in held else id
        return curriculum.name_of(getattr(curriculum.program, f"{kind}s"), id)

    def short(self, kind: str, id: str) -> str:
        """The abbreviation of a level, rung, strand or population, or its name when it has none."""
        named = getattr(self.book.curriculum.program, f"{kind}s")
        return next((one.short for one in named if one.id == id and one.short), self.named(kind, id))

    def prints(self, kinds: Iterable[tuple[str, str, str]]) -> Markup:
        """Links to sheets given as (kind, id, words), on both papers; a kind without a sheet is left out."""
        rows = Markup()
        for kind, id, words in kinds:
            sheet = self.book.sheets.get(kind, id)
            if sheet is None:
                continue
            said = escape(words)
            papers = "".join(
                f'<a href="{self.href(f"sheets/{kind}-{id}-{paper}.pdf")}" aria-label="{said}, {name}, PDF">{name}</a>'
                for paper, name in PAPERS
            )
            word = inert(self.book.curriculum.label("revision"))
            # A print is still current when it carries the revision that stands here.
            rows += Markup(
                f'<li>{shape("sheet")}<span class="rb-print-name">{said}<br><small>{word} '
                f"<code>{escape(sheet.revision)}</code></small></span>{papers}</li>"
            )
        return Markup('<ul class="rb-prints">{}</ul>').format(rows) if rows else rows

    def write(self, template: str, *, title: str, meta: Mapping[str, object] | None = None, **values: object) -> str:
        """The page's Markdown: front matter (JSON, which is YAML), then the template's output."""
        front = {"title": title, **(meta or {})}
        head = "".join(
            f"{key}: {json.dumps(quiet(value) if isinstance(value, str) else value, ensure_ascii=False)}\n"
            for key, value in front.items()
        )
        labels = tuple(sorted(self.book.curriculum.labels.items()))
        made = _environment(labels).get_template(template)
        body = made.render(w=self, book=self.book, c=self.book.curriculum, **values)
        body = tidy(body)
        around = direction_of_language(self.book.curriculum.program.language)
        if around == "rtl" or OPEN in body:
            body = on_page(body, around)
        return f"---\n{bare(head)}---\n\n{body}"


_folder = lru_cache(10_000)(posixpath.dirname)


@lru_cache(100_000)
def _href(folder: str, target: str) -> Markup:
    """A target as seen from a folder, quoted. All pages of a folder link to the same few hundred places."""
    path, _, anchor = target.partition("#")
    relative = quote(_relative(path, folder))
    return Markup(f"{relative}#{quote(anchor)}" if anchor else relative)


def _relative(path: str, folder: str) -> str:
    """A clean path as seen from a folder. `posixpath.relpath` asks where the program stands, ten times as slow."""
    there, here = path.split("/"), folder.split("/") if folder else []
    shared = 0
    while shared < min(len(there), len(here)) and there[shared] == here[shared]:
        shared += 1
    return "/".join([".."] * (len(here) - shared) + there[shared:]) or "."


def _keeping_edges(piece: str) -> Markup:
    before = " " if piece[:1].isspace() else ""
    after = " " if piece[-1:].isspace() and piece.strip() else ""
    return Markup(f"{before}{inert(piece)}{after}")


class _Inert(CodeGenerator):
    """Prints what `inert` makes of a value as it is: to be escaped once more changes nothing of it and takes as long
    again."""

    def _output_child_pre(self, node: nodes.Expr, frame: Frame, finalize: CodeGenerator._FinalizeInfo) -> None:
        self.write(finalize.src or "environment.finalize(")

    def _output_child_post(self, node: nodes.Expr, frame: Frame, finalize: CodeGenerator._FinalizeInfo) -> None:
        self.write(")")


class _Environment(Environment):
    code_generator_class = _Inert


@cache
def _environment(labels: tuple[tuple[str, str], ...]) -> Environment:
    environment = _Environment(
        extensions=[LabelExtension] if labels else [],
        loader=FileSystemLoader(Path(__file__).parent / "templates"),
        autoescape=True,
        finalize=inert,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    own = dict(labels)
    environment.extend(own=lambda words: own.get(words, words))
    environment.globals.update(
        heading=heading,
        shape=shape,
        mark=mark,
        worth_mark=lambda worth: mark(str(worth), own.get(str(worth), str(worth))),
        WORTH_SAYS={worth: own.get(words, words) for worth, words in WORTH_SAYS.items()},
        WORTH_WORDS={worth: own.get(str(worth), str(worth)) for worth in Worth},
        slug=slug,
        symbols=symbols,
        used=used,
        TABLE_SHAPES=TABLE_SHAPES,
    )
    return environment


def slug(words: str) -> str:
    """An anchor from any words."""
    return re.sub(r"[^a-z0-9]+", "-", words.lower()).strip("-") or "term"
