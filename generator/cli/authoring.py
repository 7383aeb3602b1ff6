"""`new` and `schema`: help for whoever writes the YAML."""

from __future__ import annotations

import argparse
import sys

from generator.cli.shared import CLEAN, USAGE, Commands, unknown


def add(commands: Commands) -> None:
    """Add these commands."""
    sub = commands.add("new", _new, "write a first file of a kind, to be filled in")
    sub.add_argument("kind", choices=("skill", "trainer", "station", "lab"), metavar="KIND")
    sub.add_argument("id", metavar="ID", help="small letters, digits and hyphens")
    sub.add_argument("--strand", metavar="STRAND", help="strand of a new skill (default: the first)")

    sub = commands.add("schema", _schema, "write the JSON Schemas that editors use")
    sub.add_argument("--print", dest="show", metavar="KIND", help="print one schema instead")


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
            return unknown("kind", options.show, known)
        print(json.dumps(known[options.show], indent=2, ensure_ascii=False))
        return CLEAN
    for path in write_schemas(options.curriculum):
        print(path)
    return CLEAN
