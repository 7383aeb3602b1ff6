"""The whole flow on a small real curriculum: what is written, what survives a failure, what two builds share."""

import shutil
import subprocess
from datetime import date
from pathlib import Path

import pytest

from generator.build import MARK, BuildError, prepare, problems_of, publish, sheet_files, sheets_at, write_files
from generator.diagnostics import as_text
from generator.rendering.sheets import sheets_of

BASE = Path(__file__).parent / "cases/base/curriculum"
TODAY = date(2026, 11, 25)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(BASE, tmp_path / "curriculum"))


def ready(folder: Path, store: Path):
    curriculum, problems = problems_of(folder, today=TODAY)
    assert curriculum is not None
    assert not problems, as_text(problems)
    return prepare(curriculum, problems, today=TODAY, papers=("a4",), store=store)


def plain_site(prepared, folder: Path) -> None:
    """An engine of the simplest kind, so that the flow is tested apart from MkDocs."""
    for name in prepared.pages:
        page = folder / Path(name).with_suffix(".html")
        page.parent.mkdir(parents=True, exist_ok=True)
        page.write_text("<!doctype html><title>t</title><p>page</p>", encoding="utf-8")


def test_a_site_is_put_in_place_whole(folder: Path, tmp_path: Path) -> None:
    prepared = ready(folder, tmp_path / "store")
    site = tmp_path / "out/site"
    assert publish(prepared, site, make_site=plain_site) == ()
    assert (site / "index.html").is_file()
    for skill in prepared.curriculum.skills.values():
        assert (site / f"skills/{skill.strand}/{skill.id}.html").is_file()
        assert f"sheets/checklist-{skill.id}-a4.pdf" in prepared.files
    assert [path.name for path in site.parent.iterdir()] == ["site"]


def test_the_last_good_site_survives_an_engine_that_fails(folder: Path, tmp_path: Path) -> None:
    prepared = ready(folder, tmp_path / "store")
    site = tmp_path / "site"
    publish(prepared, site, make_site=plain_site)
    (site / "index.html").write_text("last good", encoding="utf-8")

    def failing(prepared, folder: Path) -> None:
        plain_site(prepared, folder)
        raise OSError(28, "No space left on device")

    with pytest.raises(OSError, match="No space left"):
        publish(prepared, site, make_site=failing)
    assert (site / "index.html").read_text(encoding="utf-8") == "last good"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["curriculum", "site", "store"]


def test_the_last_good_site_survives_html_with_a_broken_link(folder: Path, tmp_path: Path) -> None:
    prepared = ready(folder, tmp_path / "store")
    site = tmp_path / "site"
    publish(prepared, site, make_site=plain_site)
    (site / "index.html").write_text("last good", encoding="utf-8")

    def broken(prepared, folder: Path) -> None:
        plain_site(prepared, folder)
        (folder / "index.html").write_text('<!doctype html><a href="nowhere.html">x</a>', encoding="utf-8")

    found = publish(prepared, site, make_site=broken)
    assert any(problem.is_error and "nowhere.html" in problem.message for problem in found)
    assert (site / "index.html").read_text(encoding="utf-8") == "last good"


def test_a_folder_that_is_no_site_is_left_alone(folder: Path, tmp_path: Path) -> None:
    prepared = ready(folder, tmp_path / "store")
    other = tmp_path / "thesis"
    other.mkdir()
    (other / "chapter.txt").write_text("years of work", encoding="utf-8")
    with pytest.raises(BuildError, match="holds other files"):
        publish(prepared, other, make_site=plain_site)
    assert (other / "chapter.txt").read_text(encoding="utf-8") == "years of work"
    with pytest.raises(BuildError, match="is a file"):
        publish(prepared, other / "chapter.txt", make_site=plain_site)


def test_a_second_build_replaces_the_site_of_the_first(folder: Path, tmp_path: Path) -> None:
    prepared = ready(folder, tmp_path / "store")
    site = tmp_path / "site"
    publish(prepared, site, make_site=plain_site)
    (site / "stale.html").write_text("old", encoding="utf-8")
    publish(prepared, site, make_site=plain_site)
    assert not (site / "stale.html").exists()
    assert (site / MARK).is_file()


def test_two_preparations_are_equal_to_the_byte(folder: Path, tmp_path: Path) -> None:
    first, second = ready(folder, tmp_path / "one"), ready(folder, tmp_path / "two")
    assert first.pages == second.pages
    held, again = (
        {name: made.read_bytes() if isinstance(made, Path) else made for name, made in prepared.files.items()}
        for prepared in (first, second)
    )
    assert held == again
    assert any(name.endswith(".pdf") for name in held)


def test_pdfs_are_named_by_their_place_unless_the_store_could_not_keep_them(folder: Path, tmp_path: Path) -> None:
    usual = ready(folder, tmp_path / "store").files
    (tmp_path / "file").write_text("in the way of a folder", encoding="utf-8")
    without = ready(folder, tmp_path / "file" / "store").files
    pdfs = [name for name in usual if name.endswith(".pdf")]
    assert len(pdfs) > 10
    for name in pdfs:
        place = usual[name]
        assert isinstance(place, Path)
        assert place.read_bytes() == without[name]


def test_an_unchanged_sheet_is_taken_from_the_store(folder: Path, tmp_path: Path) -> None:
    curriculum, _ = problems_of(folder, today=TODAY)
    assert curriculum is not None
    store = tmp_path / "store"
    made = sheet_files(sheets_of(curriculum), papers=("a4",), store=store)
    times = {path: path.stat().st_mtime_ns for path in store.rglob("*") if path.is_file()}
    assert times
    assert sheet_files(sheets_of(curriculum), papers=("a4",), store=store) == made
    assert {path: path.stat().st_mtime_ns for path in store.rglob("*") if path.is_file()} == times


def test_files_are_written_whole_or_not_at_all(tmp_path: Path) -> None:
    write_files({"a/b.txt": "one"}, tmp_path)
    assert (tmp_path / "a/b.txt").read_text(encoding="utf-8") == "one"
    (tmp_path / "wall").write_text("", encoding="utf-8")
    with pytest.raises(OSError, match="wall"):
        write_files({"wall/x.txt": "two"}, tmp_path)
    assert [path.name for path in (tmp_path / "a").iterdir()] == ["b.txt"]


def git(folder: Path, *words: str) -> None:
    who = ["-c", "user.name=Faculty", "-c", "user.email=faculty@greywater.example"]
    subprocess.run(["git", "-C", str(folder), *who, *words], check=True, capture_output=True)


def test_sheets_at_an_earlier_revision(folder: Path, tmp_path: Path) -> None:
    git(tmp_path, "init", "-q")
    git(tmp_path, "add", "curriculum")
    git(tmp_path, "commit", "-qm", "first")
    curriculum, _ = problems_of(folder, today=TODAY)
    assert curriculum is not None
    assert sheets_at(folder, "HEAD") == sheets_of(curriculum)
    with pytest.raises(BuildError, match="no-such-revision"):
        sheets_at(folder, "no-such-revision")
    with pytest.raises(BuildError):
        sheets_at(folder, "--output=/nowhere")
