"""`build`, `serve` and `pages`: the handbook itself."""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from pathlib import Path

from generator.cli.shared import (
    CLEAN,
    PAPERS,
    PROBLEMS,
    STORE,
    CannotRunError,
    Commands,
    prepared_of,
    remembered,
    show,
    takes_day,
)


def add(commands: Commands) -> None:
    """Add these commands."""
    sub = commands.add("build", _build, "read, check, and write the site and its sheets")
    takes_day(sub)
    sub.add_argument("--site", type=Path, default=Path("site"), metavar="DIR", help="folder for the finished site")
    sub.add_argument("--config", type=Path, default=Path("mkdocs.yml"), metavar="FILE", help="MkDocs configuration")
    sub.add_argument("--no-sheets", action="store_true", help="leave the PDFs out")
    sub.add_argument("--zip", action="store_true", help="also write the site as one zip beside its folder")

    sub = commands.add("serve", _serve, "show the handbook live while its YAML is edited")
    sub.add_argument("--config", type=Path, default=Path("mkdocs.yml"), metavar="FILE", help="MkDocs configuration")
    sub.add_argument("--address", default="127.0.0.1:8000", metavar="HOST:PORT", help="where to serve")

    sub = commands.add("pages", _pages, "write the handbook as plain Markdown for another engine")
    takes_day(sub)
    sub.add_argument("--out", type=Path, required=True, metavar="DIR", help="folder for the pages")


def _build(options: argparse.Namespace) -> int:
    from generator.build import BuildError, publish
    from generator.mkdocs_plugin import SiteError, make_site
    from generator.rendering.sheets.pruning import prune

    if not options.config.is_file():
        raise CannotRunError(f"{options.config} is not there. Go to the handbook's folder, or name it with --config.")
    prepared = prepared_of(options, papers=() if options.no_sheets else PAPERS)
    if prepared is None:
        return PROBLEMS
    if not options.no_sheets:
        kept = remembered(options.site / "sheets", prepared.revisions)
        files = {**prepared.files, **{f"sheets/{name}": data for name, data in kept.items()}}
        prepared = replace(prepared, files=files)
    try:
        found = publish(
            prepared,
            options.site,
            make_site=lambda ready, folder: make_site(ready, folder, config_file=options.config),
        )
    except (BuildError, SiteError) as problem:
        raise CannotRunError(str(problem)) from None
    show((*prepared.problems, *found))
    if any(problem.is_error for problem in found):
        print("rungbook: the new site has errors; the last good site is still in place", file=sys.stderr)
        return PROBLEMS
    print(
        f"{options.site}/index.html: {len(prepared.curriculum.skills)} skills, {len(prepared.pages)} pages, "
        f"{sum(name.endswith('.pdf') for name in prepared.files)} PDFs"
    )
    prune(STORE)
    if options.zip:
        from generator.rendering.offline import write_zip

        site = options.site.absolute()
        size = write_zip(site, site.with_name(f"{site.name}.zip"))
        print(f"{options.site}.zip: {size / 1e6:.1f} MB, opens from a folder without a server")
    return CLEAN


def _serve(options: argparse.Namespace) -> int:
    from generator.mkdocs_plugin import serve

    if not options.config.is_file():
        raise CannotRunError(f"{options.config} is not there. Go to the handbook's folder, or name it with --config.")
    serve(options.config, curriculum=options.curriculum, address=options.address)
    return CLEAN


def _pages(options: argparse.Namespace) -> int:
    from generator.build import write_files

    prepared = prepared_of(options, papers=())
    if prepared is None:
        return PROBLEMS
    prose = {name: text for name, text in prepared.curriculum.prose.items() if name not in prepared.pages}
    written = write_files({**prose, **prepared.pages, **prepared.assets}, options.out)
    print(f"{len(written)} files in {options.out}")
    return CLEAN
