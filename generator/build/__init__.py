"""The whole flow: read, check, write pages and sheets, and put a finished site in place of the last one.

curriculum/*.yaml → reading → Curriculum → checks → problems; rendering → pages, sheets → site/

Rendering is loaded by the functions that use it: commands that only read and check do not wait for it.
"""

from __future__ import annotations

import io
import os
import subprocess
import tarfile
import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from generator.build.again import Again
from generator.build.placing import MARK, BuildError, fresh_folder, place
from generator.checks import check, check_site
from generator.diagnostics import Problem, in_order
from generator.model import Curriculum, Paper
from generator.model.attempt import KnownRevision
from generator.reading import read_curriculum

if TYPE_CHECKING:
    from generator.rendering.sheets import Progress, Sheet, Typeset

__all__ = [
    "MARK",
    "Again",
    "BuildError",
    "Prepared",
    "SiteMaker",
    "files_of",
    "prepare",
    "problems_of",
    "publish",
    "sheet_files",
    "sheets_at",
    "typeset_sheets",
    "write_files",
]

SiteMaker = Callable[["Prepared", Path], None]
"""Writes the HTML of a prepared handbook into an empty folder."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Prepared:
    """Everything a site is made of, before any engine turns pages into HTML."""

    curriculum: Curriculum
    problems: tuple[Problem, ...]
    revisions: Mapping[str, KnownRevision]
    """What each revision of a printed sheet lists."""
    pages: Mapping[str, bytes]
    """Markdown in UTF-8 by path relative to the site's root. Text with one curly quote takes twice as much memory."""
    assets: Mapping[str, bytes]
    files: Mapping[str, bytes | Path]
    """Tables, PDFs and their geometry by path relative to the site's root. What the store holds is named by its place
    there: thousands of them need not be in memory at once."""


def problems_of(
    folder: Path, *, today: date, processes: int = 1, again: Again | None = None
) -> tuple[Curriculum | None, tuple[Problem, ...]]:
    """Read a curriculum folder and check it. The curriculum is None only when there is no program to read."""
    curriculum, problems = read_curriculum(folder, known=again.known if again else None)
    if curriculum is None:
        return None, in_order(problems)
    if again is not None:
        found = again.rules.check(curriculum, today=today)
    else:
        found = check(curriculum, today=today, processes=processes)
    return curriculum, in_order((*problems, *found))


def prepare(
    curriculum: Curriculum,
    problems: Sequence[Problem],
    *,
    today: date,
    papers: Sequence[Paper],
    store: Path,
    progress: Progress | None = None,
    again: Again | None = None,
) -> Prepared:
    """Pages, assets and sheets of a curriculum that was read. No papers means no sheets are made.

    With `again`, what did not change since it was last given is taken from there.
    """
    from generator.analysis.whole import analyse
    from generator.rendering.lab_plans import days_of
    from generator.rendering.pages import assets, pages_of
    from generator.rendering.sheets import sheets_of
    from generator.rendering.sheets.revisions import FILE, known_revisions, revisions_json
    from generator.rendering.sheets.unshown import KEY, unshown
    from generator.rendering.tables import tables_of

    days = days_of(curriculum, store=store)
    sheets = sheets_of(curriculum, days=days) if papers else ()
    kept = again or Again()
    kept.see(curriculum, today=today, days=days)
    pages = pages_of(
        curriculum,
        sheets=sheets,
        problems=problems,
        today=today,
        days=days,
        analysis=kept.made("analysis", lambda: analyse(curriculum)),
        kept=kept.page if again else None,
    )
    printed: dict[str, bytes | Path] = {}
    geometries: list[tuple[str, Mapping[str, Any]]] = []
    for stem, made in typeset_sheets(sheets, papers=papers, store=store, progress=progress):
        if made.places:
            printed[f"{stem}.pdf"], printed[f"{stem}.json"] = made.places
        else:
            printed |= files_of(stem, made)
        if KEY in made.geometry:
            geometries.append((f"{stem}.pdf", made.geometry))
    revisions = known_revisions(sheets)
    return Prepared(
        # Every problem is known by now, and the places of a thousand skills' values are a sixth of the memory.
        curriculum=replace(curriculum, places={}),
        problems=(*problems, *unshown(geometries)),
        revisions=revisions,
        pages={path: text.encode() for path, text in pages.items()},
        assets=assets(curriculum.label),
        files={
            **kept.made("tables", lambda: tables_of(curriculum, days=days)),
            **printed,
            **({f"sheets/{FILE}": revisions_json(revisions).encode()} if papers else {}),
        },
    )


def sheet_files(
    sheets: Sequence[Sheet], *, papers: Sequence[Paper], store: Path, progress: Progress | None = None
) -> dict[str, bytes]:
    """Typeset sheets on each paper: PDF and geometry by path, `sheets/checklist-choking-a4.pdf` and `.json`."""
    files: dict[str, bytes] = {}
    for stem, made in typeset_sheets(sheets, papers=papers, store=store, progress=progress):
        files |= files_of(stem, made)
    return files


def files_of(stem: str, made: Typeset) -> dict[str, bytes]:
    """The PDF and the geometry of a typeset sheet by path."""
    return {f"{stem}.pdf": made.pdf, f"{stem}.json": made.geometry_json()}


def typeset_sheets(
    sheets: Sequence[Sheet], *, papers: Sequence[Paper], store: Path, progress: Progress | None = None
) -> Iterator[tuple[str, Typeset]]:
    """Sheets on each paper by the path of their files without its ending, `sheets/checklist-choking-a4`."""
    from generator.rendering.sheets import Job, typeset_all

    jobs = [Job(sheet=sheet, paper=paper) for sheet in sheets for paper in papers]
    workers = os.cpu_count() or 1
    finished = typeset_all(jobs, store=store, workers=workers, progress=progress)
    for job, made in zip(jobs, finished, strict=True):
        yield f"sheets/{job.sheet.kind}-{job.sheet.id}-{job.paper}", made


def publish(prepared: Prepared, site: Path, *, make_site: SiteMaker) -> tuple[Problem, ...]:
    """Make the site beside the last one, check its HTML, and swap. A failure leaves the last good site in place.

    Returns the problems found in the HTML; the swap is made only when none of them is an error.
    """
    site = site.absolute()
    with fresh_folder(site) as fresh:
        make_site(prepared, fresh)
        found = check_site(fresh)
        if not any(problem.is_error for problem in found):
            place(fresh, site)
        return found


def write_files(files: Mapping[str, bytes | str], folder: Path) -> tuple[Path, ...]:
    """Write files below a folder, each whole or not at all; returns the paths written."""
    written = []
    for name, content in files.items():
        target = folder / name
        target.parent.mkdir(parents=True, exist_ok=True)
        data = content.encode() if isinstance(content, str) else content
        handle, temporary = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}-")
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(data)
            Path(temporary).chmod(0o644)
            Path(temporary).replace(target)
        except BaseException:
            Path(temporary).unlink(missing_ok=True)
            raise
        written.append(target)
    return tuple(written)


def sheets_at(folder: Path, revision: str, *, store: Path | None = None) -> tuple[Sheet, ...]:
    """The sheets that the curriculum at a git revision would print with today's layout.

    Timetables are among them only when a `store` is named, for lab days must be planned first.

    Raises BuildError when git does not know the revision or the folder is not in a repository.
    """
    from generator.rendering.lab_plans import days_of
    from generator.rendering.sheets import sheets_of

    folder = folder.resolve()
    top = Path(_git(folder.parent, "rev-parse", "--show-toplevel").decode().strip())
    inside = folder.relative_to(top.resolve()).as_posix()
    named = _git(top, "rev-parse", "--verify", "--quiet", "--end-of-options", f"{revision}^{{commit}}")
    commit = named.decode().strip()
    archive = _git(top, "archive", "--format=tar", commit, "--", inside)
    with tempfile.TemporaryDirectory() as scratch:
        with tarfile.open(fileobj=io.BytesIO(archive)) as tar:
            tar.extractall(scratch, filter="data")
        curriculum, _ = read_curriculum(Path(scratch) / inside)
    if curriculum is None:
        raise BuildError(f"The curriculum at {revision} has no program.yaml that can be read.")
    return sheets_of(curriculum, days=days_of(curriculum, store=store) if store else None)


def _git(folder: Path, *words: str) -> bytes:
    try:
        done = subprocess.run(["git", "-C", str(folder), *words], capture_output=True, check=False)
    except FileNotFoundError:
        raise BuildError("git is not installed, so earlier revisions cannot be read.") from None
    if done.returncode:
        why = done.stderr.decode(errors="replace").strip() or f"git does not know {words[-1].removesuffix('^{commit}')}"
        raise BuildError(f"git could not do this: {why}")
    return done.stdout
