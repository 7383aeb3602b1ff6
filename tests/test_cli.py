"""The command: exit codes, what it prints, and that its manual matches it."""

import json
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from generator.cli import main

ROOT = Path(__file__).parents[1]
BASE = ROOT / "tests/cases/base/curriculum"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return Path(shutil.copytree(BASE, tmp_path / "curriculum"))


def spoil(folder: Path) -> None:
    path = next(folder.glob("skills/*/*.yaml"))
    path.write_text(path.read_text(encoding="utf-8").replace("summary:", "summery:", 1), encoding="utf-8")


def test_check_is_quiet_about_a_clean_curriculum(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "--on", "2026-11-25", "--strict"]) == 0
    assert "0 errors, 0 warnings" in capsys.readouterr().out


@pytest.mark.parametrize("form", ["text", "json", "sarif", "github"])
def test_check_names_the_file_in_each_format(folder: Path, form: str, capsys: pytest.CaptureFixture[str]) -> None:
    spoil(folder)
    assert main(["check", "--format", form]) == 1
    out = capsys.readouterr().out
    assert "summery" in out
    if form in ("json", "sarif"):
        json.loads(out)


def test_check_explains_a_rule(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "--explain", "citation-unknown"]) == 0
    assert len(capsys.readouterr().out) > 80
    assert main(["check", "--explain", "no-such-rule"]) == 2
    assert "citation-unknown" in capsys.readouterr().err


def test_a_missing_folder_is_a_problem_not_a_traceback(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "--curriculum", str(tmp_path / "nowhere")]) == 1
    assert "nowhere" in capsys.readouterr().out


def test_print_writes_a_sheet_and_its_geometry(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    skill = next(folder.glob("skills/*/*.yaml")).stem
    assert main(["print", "checklist", skill, "--paper", "a4", "--out", "prints"]) == 0
    assert (folder.parent / f"prints/checklist-{skill}-a4.pdf").read_bytes().startswith(b"%PDF-")
    assert json.loads((folder.parent / f"prints/checklist-{skill}-a4.json").read_text(encoding="utf-8"))
    assert f"checklist-{skill}-a4.pdf" in capsys.readouterr().out


def test_print_refuses_what_it_does_not_know(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["print", "poem"]) == 2
    assert main(["print", "checklist", "no-such-skill"]) == 2
    assert "no-such-skill" in capsys.readouterr().err


def test_ladder_and_gaps_speak_of_every_skill(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["ladder"]) == 0
    out = capsys.readouterr().out
    for path in folder.glob("skills/*/*.yaml"):
        title = re.search(r"^title: (.*)$", path.read_text(encoding="utf-8"), re.MULTILINE)
        assert title is not None
        assert title[1] in out
    assert main(["gaps"]) == 0
    assert main(["ladder", "mask-breth"]) == 2
    assert "Did you mean mask-breath?" in capsys.readouterr().err
    assert main(["gaps", "--without", "no-such-trainer"]) == 2


def test_stale_names_the_sheets_of_a_changed_skill(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    who = ["-c", "user.name=Faculty", "-c", "user.email=faculty@greywater.example"]
    for words in (["init", "-q"], ["add", "."], ["commit", "-qm", "first"]):
        subprocess.run(["git", *who, *words], cwd=folder.parent, check=True, capture_output=True)
    assert main(["stale", "HEAD"]) == 0
    assert "every sheet printed then is still current" in capsys.readouterr().out
    path = folder / "skills/airway/mask-breath.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(re.sub(r"^title: .*$", "title: Another title", text, flags=re.MULTILINE), encoding="utf-8")
    assert main(["stale", "HEAD"]) == 0
    out = capsys.readouterr().out
    assert "mask-breath" in out
    assert "press-on-wound" not in out
    assert main(["stale", "no-such-revision"]) == 3


@pytest.mark.parametrize("kind", ["skill", "trainer", "station", "lab"])
def test_new_writes_a_file_that_reads(folder: Path, kind: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", kind, "my-new-one"]) == 0
    path = Path(capsys.readouterr().out.strip())
    assert path.is_file()
    main(["check", "--format", "json"])
    mine = [p for p in json.loads(capsys.readouterr().out) if p["file"].endswith("my-new-one.yaml")]
    assert not [p for p in mine if p["rule"].startswith(("yaml-", "field-", "value-", "id-"))]
    before = path.read_bytes()
    assert main(["new", kind, "my-new-one"]) == 2
    assert path.read_bytes() == before


@pytest.mark.parametrize("id", ["../escape", "Upper", "a b", "", "-x"])
def test_new_refuses_an_id_that_is_none(folder: Path, id: str) -> None:
    assert main(["new", "skill", "--", id]) == 2
    assert not (folder.parent / "escape.yaml").exists()


def test_pages_are_plain_markdown(folder: Path) -> None:
    assert main(["pages", "--out", "plain"]) == 0
    assert (folder.parent / "plain/index.md").read_text(encoding="utf-8").lstrip()
    assert (folder.parent / "plain/skills/airway/mask-breath.md").is_file()


def test_build_makes_a_site_with_a_page_and_a_pdf_a_skill(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shutil.copy(ROOT / "mkdocs.yml", folder.parent)
    shutil.copytree(ROOT / "site_overrides", folder.parent / "site_overrides")
    assert main(["build"]) == 0, capsys.readouterr().err
    site = folder.parent / "site"
    assert (site / "index.html").is_file()
    for path in folder.glob("skills/*/*.yaml"):
        assert (site / f"skills/{path.parent.name}/{path.stem}.html").is_file()
        for paper in ("a4", "us-letter"):
            assert (site / f"sheets/checklist-{path.stem}-{paper}.pdf").is_file()
    before = {path: path.read_bytes() for path in site.rglob("*.html")}
    spoil(folder)
    assert main(["build"]) == 1
    assert {path: path.read_bytes() for path in site.rglob("*.html")} == before


def test_build_outside_a_handbook_says_where_to_go(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["build"]) == 3
    assert "mkdocs.yml" in capsys.readouterr().err


def commands() -> set[str]:
    done = subprocess.run(
        [sys.executable, "-c", "from generator.cli import main; main(['--help'])"],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    return set(re.findall(r"^    ([a-z]+) ", done.stdout, re.MULTILINE))


def test_every_command_stands_in_the_readme() -> None:
    known = commands()
    assert len(known) >= 10
    told = set(re.findall(r"^\| `rungbook ([a-z]+)", (ROOT / "README.md").read_text(encoding="utf-8"), re.MULTILINE))
    assert told == known


def test_help_imports_nothing_heavy() -> None:
    code = "import sys; from generator.cli import _parser; _parser(); print(sorted(sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    for heavy in ("pydantic", "yaml", "mkdocs", "typst", "ortools", "jinja2"):
        assert f"'{heavy}'" not in done.stdout


def test_wrong_words_are_exit_code_two() -> None:
    with pytest.raises(SystemExit) as stop:
        main(["dance"])
    assert stop.value.code == 2
