"""`new` and `schema`: help for whoever writes the YAML."""

from __future__ import annotations

import argparse
import functools
import sys
from pathlib import Path

from generator.cli.shared import CLEAN, PROBLEMS, USAGE, Commands, unknown


def add(commands: Commands) -> None:
    """Add these commands."""
    sub = commands.add("new", _new, "write a first file of a kind, to be filled in")
    sub.add_argument("kind", choices=("program", "skill", "trainer", "station", "lab"), metavar="KIND")
    sub.add_argument("id", metavar="ID", help="small letters, digits and hyphens; for a program, the folder to make")
    sub.add_argument("--strand", metavar="STRAND", help="strand of a new skill (default: the first)")

    sub = commands.add("schema", _schema, "write the JSON Schemas that editors use")
    sub.add_argument("--print", dest="show", metavar="KIND", help="print one schema instead")

    commands.add("labels", _labels, "print a message catalogue of every label that a program may rename or translate")


def _new(options: argparse.Namespace) -> int:
    from generator.reading.first_program import first_program
    from generator.reading.scaffold import ScaffoldError, scaffold

    try:
        if options.kind == "program":
            for path in first_program(Path(options.id)):
                print(path)
            return CLEAN
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
            return unknown("kind", options.show, known)
        print(json.dumps(known[options.show], indent=2, ensure_ascii=False))
        return CLEAN
    for path in write_schemas(options.curriculum):
        print(path)
    return CLEAN


def _labels(options: argparse.Namespace) -> int:
    import json

    from babel.messages.catalog import Catalog

    from generator.reading import read_curriculum
    from generator.rendering.pages.labels import label_ids
    from generator.rendering.reports.labels import report_label_ids
    from generator.rendering.said import counted_in_code
    from generator.rendering.scripts import script_label_ids
    from generator.rendering.sheets.own_words import sheet_label_ids

    curriculum, _ = read_curriculum(options.curriculum)
    counted = counted_in_code()
    alone = {*label_ids(), *sheet_label_ids(), *report_label_ids(), *script_label_ids()}
    known = sorted(alone.difference(*counted))
    given = curriculum.labels if curriculum else {}
    language = curriculum.program.language if curriculum else "en"
    quoted = functools.partial(json.dumps, ensure_ascii=False)
    forms_of_language = Catalog(locale=language.replace("-", "_"))
    form_count, rule = forms_of_language.num_plurals, forms_of_language.plural_expr
    print('msgid ""\nmsgstr ""')
    for line in (
        f"Language: {language}",
        "MIME-Version: 1.0",
        "Content-Type: text/plain; charset=UTF-8",
        f"Plural-Forms: nplurals={form_count}; plural={rule};",
    ):
        print(quoted(f"{line}\n"))
    for words in known:
        print(f"\nmsgid {quoted(words)}\nmsgstr {quoted(given.get(words, ''))}")
    for before, (one, more) in zip(((None, None), *counted), counted, strict=False):
        # A catalogue may hold the same words twice only where a context tells them apart.
        context = f"msgctxt {quoted(more)}\n" if before[0] == one else ""
        forms = curriculum.plurals.forms.get((one, more), ()) if curriculum else ()
        forms = forms or (given.get(one, ""), given.get(more, ""))
        print(f"\n{context}msgid {quoted(one)}\nmsgid_plural {quoted(more)}")
        for place in range(form_count):
            print(f"msgstr[{place}] {quoted(forms[place] if place < len(forms) else '')}")
    unknown_ones = [words for words in given if words not in alone]
    for words in unknown_ones:
        print(f"rungbook: no page or sheet has the label {words!r}", file=sys.stderr)
    return PROBLEMS if unknown_ones else CLEAN
