"""The `rungbook` command. It parses words, prints, and exits; the work is done below.

Exit codes: 0 clean, 1 problems were found, 2 the command was used wrongly, 3 it could not run.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Iterable, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from generator import __version__

if TYPE_CHECKING:
    from generator.build import Prepared
    from generator.diagnostics import Problem
    from generator.model import Curriculum, Paper

CLEAN, PROBLEMS, USAGE, CANNOT = 0, 1, 2, 3
PAPERS: tuple[Paper, ...] = ("a4", "us-letter")
FORMATS = ("text", "json", "sarif", "github")
STORE = Path(".rungbook/store")


class CannotRunError(Exception):
    """Something outside the curriculum is in the way; the text says what to do."""


def run() -> None:
    """Entry point of the installed command."""
    sys.exit(main())


def main(words: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code."""
    options = _parser().parse_args(words)
    try:
        command: Callable[[argparse.Namespace], int] = options.command
        return command(options)
    except CannotRunError as problem:
        print(f"rungbook: {problem}", file=sys.stderr)
        return CANNOT
    except BrokenPipeError:
        # Whoever read the output has seen enough; Python would complain once more when it closes standard output.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return CANNOT
    except OSError as problem:
        where = f" ({problem.filename})" if problem.filename else ""
        print(f"rungbook: {problem.strerror or problem}{where}", file=sys.stderr)
        return CANNOT
    except KeyboardInterrupt:
        print("rungbook: stopped; nothing was changed", file=sys.stderr)
        return CANNOT


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="rungbook",
        description="Build a hands-on skills handbook, its sheets and its honest trainer ladders from YAML.",
        epilog="Exit codes: 0 clean, 1 problems were found, 2 used wrongly, 3 could not run.",
    )
    parser.add_argument("--version", action="version", version=f"rungbook {__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)

    def add(name: str, command: Callable[[argparse.Namespace], int], text: str) -> argparse.ArgumentParser:
        sub = commands.add_parser(name, help=text, description=text[0].upper() + text[1:] + ".")
        sub.add_argument("--curriculum", type=Path, default=Path("curriculum"), metavar="DIR", help="folder of YAML")
        sub.set_defaults(command=command)
        return sub

    def takes_day(sub: argparse.ArgumentParser) -> None:
        sub.add_argument("--on", type=_day, default=None, metavar="DATE", help="the day to judge by (default: today)")

    sub = add("build", _build, "read, check, and write the site and its sheets")
    takes_day(sub)
    sub.add_argument("--site", type=Path, default=Path("site"), metavar="DIR", help="folder for the finished site")
    sub.add_argument("--config", type=Path, default=Path("mkdocs.yml"), metavar="FILE", help="MkDocs configuration")
    sub.add_argument("--no-sheets", action="store_true", help="leave the PDFs out")

    sub = add("serve", _serve, "show the handbook live while its YAML is edited")
    sub.add_argument("--config", type=Path, default=Path("mkdocs.yml"), metavar="FILE", help="MkDocs configuration")
    sub.add_argument("--address", default="127.0.0.1:8000", metavar="HOST:PORT", help="where to serve")

    sub = add("check", _check, "name every problem and write nothing")
    takes_day(sub)
    sub.add_argument("--format", choices=FORMATS, default="text", help="how to write the problems")
    sub.add_argument("--strict", action="store_true", help="let warnings count as problems")
    sub.add_argument("--external", choices=("list", "probe"), help="list the links that leave the site, or try them")
    sub.add_argument("--explain", metavar="RULE", help="print the manual entry of a rule")

    sub = add("print", _print, "typeset sheets without the site")
    sub.add_argument("what", nargs="?", metavar="WHAT", help="checklist, practice or trainer (default: all)")
    sub.add_argument("ids", nargs="*", metavar="ID", help="skills or trainers (default: all)")
    sub.add_argument("--paper", choices=PAPERS, default=None, help="default: the program's own")
    sub.add_argument("--out", type=Path, default=Path("sheets"), metavar="DIR", help="folder for the PDFs")

    sub = add("ladder", _ladder, "show the written ladder beside the best one, with reasons")
    sub.add_argument("skill", nargs="?", metavar="SKILL", help="one skill (default: all)")

    sub = add("gaps", _gaps, "show what the trainers owned cannot teach honestly, and the cheapest way to close it")
    sub.add_argument("--without", metavar="TRAINER", help="as if this trainer were out of service")

    sub = add("stale", _stale, "list the sheets whose printed content changed since a git revision")
    sub.add_argument("revision", metavar="REV", help="a git revision, such as HEAD~1 or a tag")

    sub = add("new", _new, "write a first file of a kind, to be filled in")
    sub.add_argument("kind", choices=("skill", "trainer", "station", "lab"), metavar="KIND")
    sub.add_argument("id", metavar="ID", help="small letters, digits and hyphens")
    sub.add_argument("--strand", metavar="STRAND", help="strand of a new skill (default: the first)")

    sub = add("schema", _schema, "write the JSON Schemas that editors use")
    sub.add_argument("--print", dest="show", metavar="KIND", help="print one schema instead")

    sub = add("pages", _pages, "write the handbook as plain Markdown for another engine")
    takes_day(sub)
    sub.add_argument("--out", type=Path, required=True, metavar="DIR", help="folder for the pages")
    return parser


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is not a date; write one as 2026-10-31") from None


def _today(options: argparse.Namespace) -> date:
    day: date | None = options.on
    return day or date.today()


def _build(options: argparse.Namespace) -> int:
    from generator.build import BuildError, publish
    from generator.mkdocs_plugin import make_site

    if not options.config.is_file():
        raise CannotRunError(f"{options.config} is not there. Go to the handbook's folder, or name it with --config.")
    prepared = _prepared(options, papers=() if options.no_sheets else PAPERS)
    if prepared is None:
        return PROBLEMS
    try:
        found = publish(
            prepared,
            options.site,
            make_site=lambda ready, folder: make_site(ready, folder, config_file=options.config),
        )
    except BuildError as problem:
        raise CannotRunError(str(problem)) from None
    _show((*prepared.problems, *found))
    if any(problem.is_error for problem in found):
        print("rungbook: the new site has errors; the last good site is still in place", file=sys.stderr)
        return PROBLEMS
    print(
        f"{options.site}/index.html: {len(prepared.curriculum.skills)} skills, {len(prepared.pages)} pages, "
        f"{sum(name.endswith('.pdf') for name in prepared.files)} PDFs"
    )
    return CLEAN


def _serve(options: argparse.Namespace) -> int:
    from generator.mkdocs_plugin import serve

    if not options.config.is_file():
        raise CannotRunError(f"{options.config} is not there. Go to the handbook's folder, or name it with --config.")
    serve(options.config, curriculum=options.curriculum, address=options.address)
    return CLEAN


def _check(options: argparse.Namespace) -> int:
    from generator.build import problems_of
    from generator.checks import MANUAL, explain
    from generator.diagnostics import Severity, as_github, as_json, as_sarif, as_text

    if options.explain:
        entry = explain(options.explain)
        if entry is None:
            print(f"rungbook: no rule is called {options.explain}. Rules: {', '.join(sorted(MANUAL))}", file=sys.stderr)
            return USAGE
        print(entry)
        return CLEAN
    curriculum, problems = problems_of(options.curriculum, today=_today(options))
    if options.external:
        return _external(curriculum, probe=options.external == "probe")
    writers: dict[str, Callable[[], str]] = {
        "text": lambda: as_text(problems),
        "json": lambda: as_json(problems),
        "sarif": lambda: as_sarif(problems, version=__version__, manual=MANUAL),
        "github": lambda: as_github(problems),
    }
    sys.stdout.write(writers[options.format]())
    if options.format == "text":
        print(_count(curriculum, problems))
    counted = {Severity.ERROR, Severity.WARNING} if options.strict else {Severity.ERROR}
    return PROBLEMS if any(problem.severity in counted for problem in problems) else CLEAN


def _count(curriculum: Curriculum | None, problems: Sequence[Problem]) -> str:
    errors = sum(problem.is_error for problem in problems)
    others = len(problems) - errors
    skills, trainers = (len(curriculum.skills), len(curriculum.trainers)) if curriculum else (0, 0)
    read = f"{skills} skills and {trainers} trainers read"
    return f"{read}: {errors} errors, {others} warnings and notes"


def _external(curriculum: Curriculum | None, *, probe: bool) -> int:
    from generator.checks.external import external_links, probe_links

    if curriculum is None:
        return PROBLEMS
    links = external_links(curriculum)
    if not probe:
        for link in links:
            print(f"{link.address}  {link.location}")
        return CLEAN
    answers = probe_links(links, progress=_progress("tried"))
    broken = [answer for answer in answers if not answer.is_alive]
    for answer in broken:
        print(f"{answer.link.location}: {answer.link.address}: {answer.what}")
    print(f"{len(answers)} addresses tried, {len(broken)} did not answer")
    return PROBLEMS if broken else CLEAN


def _print(options: argparse.Namespace) -> int:
    from generator.build import sheet_files, write_files
    from generator.rendering.sheets import KINDS, sheets_of

    if options.what is not None and options.what not in KINDS:
        print(f"rungbook: no sheet is called {options.what}. Sheets: {', '.join(KINDS)}", file=sys.stderr)
        return USAGE
    curriculum = _readable(options, on=None)
    if curriculum is None:
        return PROBLEMS
    sheets = [sheet for sheet in sheets_of(curriculum) if options.what in (None, sheet.kind)]
    unknown = set(options.ids) - {sheet.id for sheet in sheets}
    if unknown:
        print(f"rungbook: no {options.what} sheet for {', '.join(sorted(unknown))}", file=sys.stderr)
        return USAGE
    if options.ids:
        sheets = [sheet for sheet in sheets if sheet.id in options.ids]
    paper: Paper = options.paper or curriculum.program.paper
    files = sheet_files(sheets, papers=(paper,), store=STORE, progress=_progress("sheets"))
    written = write_files({Path(name).name: content for name, content in files.items()}, options.out)
    for path in written:
        if path.suffix == ".pdf":
            print(path)
    return CLEAN


def _ladder(options: argparse.Namespace) -> int:
    from generator.analysis.explain import ladder_text
    from generator.analysis.whole import analyse

    curriculum = _readable(options, on=None)
    if curriculum is None:
        return PROBLEMS
    if options.skill is not None and options.skill not in curriculum.skills:
        return _unknown("skill", options.skill, curriculum.skills)
    analysis = analyse(curriculum)
    chosen = [options.skill] if options.skill else list(curriculum.skills)
    print("\n\n".join(ladder_text(curriculum, analysis, skill) for skill in chosen))
    return CLEAN


def _gaps(options: argparse.Namespace) -> int:
    from generator.analysis.explain import gaps_text
    from generator.analysis.gaps import find_gaps

    curriculum = _readable(options, on=None)
    if curriculum is None:
        return PROBLEMS
    if options.without is not None and options.without not in curriculum.trainers:
        return _unknown("trainer", options.without, curriculum.trainers)
    gaps = find_gaps(curriculum, without=options.without)
    print(gaps_text(curriculum, gaps))
    return CLEAN


def _unknown(kind: str, found: str, known: Iterable[str]) -> int:
    from difflib import get_close_matches

    near = get_close_matches(found, list(known), n=1)
    hint = f" Did you mean {near[0]}?" if near else ""
    print(f"rungbook: no {kind} is called {found}.{hint}", file=sys.stderr)
    return USAGE


def _stale(options: argparse.Namespace) -> int:
    from generator.build import BuildError, sheets_at
    from generator.rendering.sheets import changes, sheets_of

    curriculum = _readable(options, on=None)
    if curriculum is None:
        return PROBLEMS
    try:
        before = sheets_at(options.curriculum, options.revision)
    except BuildError as problem:
        raise CannotRunError(str(problem)) from None
    found = changes(before, sheets_of(curriculum))
    for change in found:
        print(change)
    print(f"{len(found)} sheets to reprint or take away" if found else "every sheet printed then is still current")
    return CLEAN


def _new(options: argparse.Namespace) -> int:
    from generator.reading.scaffold import ScaffoldError, scaffold

    try:
        path = scaffold(options.curriculum, options.kind, options.id, strand=options.strand)
    except ScaffoldError as problem:
        print(f"rungbook: {problem}", file=sys.stderr)
        return USAGE
    print(path)
    return CLEAN


def _schema(options: argparse.Namespace) -> int:
    import json

    from generator.reading.schemas import schemas, write_schemas

    if options.show:
        known = {name.removesuffix(".json"): schema for name, schema in schemas().items()}
        if options.show not in known:
            return _unknown("kind", options.show, known)
        print(json.dumps(known[options.show], indent=2, ensure_ascii=False))
        return CLEAN
    for path in write_schemas(options.curriculum):
        print(path)
    return CLEAN


def _pages(options: argparse.Namespace) -> int:
    from generator.build import write_files

    prepared = _prepared(options, papers=())
    if prepared is None:
        return PROBLEMS
    prose = {name: text for name, text in prepared.curriculum.prose.items() if name not in prepared.pages}
    written = write_files({**prose, **prepared.pages, **prepared.assets}, options.out)
    print(f"{len(written)} files in {options.out}")
    return CLEAN


def _prepared(options: argparse.Namespace, *, papers: Sequence[Paper]) -> Prepared | None:
    from generator.build import prepare, problems_of

    today = _today(options)
    curriculum, problems = problems_of(options.curriculum, today=today)
    if curriculum is None or any(problem.is_error for problem in problems):
        _show(problems)
        print("rungbook: nothing was written; the last good site is still in place", file=sys.stderr)
        return None
    return prepare(
        curriculum, problems, today=today, papers=papers, store=STORE, progress=_progress("sheets")
    )


def _readable(options: argparse.Namespace, *, on: date | None) -> Curriculum | None:
    """The curriculum, or None after its errors were shown."""
    from generator.build import problems_of

    curriculum, problems = problems_of(options.curriculum, today=on or date.today())
    errors = [problem for problem in problems if problem.is_error]
    if errors:
        _show(errors)
        return None
    return curriculum


def _show(problems: Sequence[Problem]) -> None:
    from generator.diagnostics import as_text, in_order

    sys.stderr.write(as_text(in_order(problems)))


def _progress(what: str, stream: TextIO = sys.stderr) -> Callable[[int, int], None] | None:
    """A counter on one line of a terminal; nothing in a pipe."""
    if not stream.isatty():
        return None

    def show(done: int, total: int) -> None:
        stream.write(f"\r{done} of {total} {what}" + ("\n" if done == total else ""))
        stream.flush()

    return show
