"""The shape of the code is held by machines: types, style, import directions, and the two README commands."""

import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


def tool(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, *words], cwd=ROOT, capture_output=True, text=True, check=False)


def test_types_are_strict() -> None:
    done = tool("-m", "mypy")
    assert done.returncode == 0, done.stdout
    assert "no issues found in" in done.stdout


def test_style() -> None:
    done = tool("-m", "ruff", "check", ".")
    assert done.returncode == 0, done.stdout


def test_imports_go_down_only() -> None:
    done = tool("-c", "from importlinter.cli import lint_imports_command as c; c()")
    assert done.returncode == 0, done.stdout
    assert "0 broken" in done.stdout


def test_the_layer_rule_covers_every_module() -> None:
    config = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    layers = config["tool"]["importlinter"]["contracts"][0]
    assert layers["exhaustive"] is True
    named = {name.strip() for layer in layers["layers"] for name in layer.split("|")}
    modules = {path.stem for path in (ROOT / "generator").iterdir() if path.suffix == ".py" or path.is_dir()}
    modules -= {"__init__", "__pycache__"}
    assert len(modules) >= 9
    assert modules == named


def readme_commands() -> list[str]:
    blocks = re.findall(r"```sh\n(.*?)```", (ROOT / "README.md").read_text(encoding="utf-8"), re.DOTALL)
    return [block.strip() for block in blocks[:2]]


def test_the_readme_opens_with_the_job_and_two_commands() -> None:
    build, test = readme_commands()
    assert build.endswith("rungbook build")
    assert test.endswith("pytest")
    before = (ROOT / "README.md").read_text(encoding="utf-8").split("```sh")[0]
    paragraphs = [part for part in before.split("\n\n") if part.strip()]
    assert paragraphs[0].startswith("# Rungbook")
    assert len(paragraphs[1]) > 200


def test_continuous_integration_runs_the_same_commands() -> None:
    script = (ROOT / ".ci/run").read_text(encoding="utf-8").replace("install -q ", "install ")
    for command in readme_commands():
        assert command in script


@pytest.mark.parametrize("name", [".ci/constraints.txt", "pyproject.toml"])
def test_versions_are_named_without_addresses(name: str) -> None:
    text = (ROOT / name).read_text(encoding="utf-8")
    assert "==" in text or ">=" in text
    assert "://" not in text
    assert " @ " not in text


def test_the_top_level_holds_what_it_should() -> None:
    tracked = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    top = {line.split("/")[0] for line in tracked.splitlines() if not line.startswith(".")}
    assert top == {
        "README.md", "DEVELOPERS.md", "LICENSE", "mkdocs.yml", "pyproject.toml",
        "curriculum", "generator", "tests", "site_overrides",
    }  # fmt: skip
