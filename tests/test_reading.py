"""Reading: scalars as typed, places, hostile files, and the schemas that editors use."""

from __future__ import annotations

import itertools
import json
import os
import re
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml

from generator.diagnostics import Problem
from generator.model import Skill
from generator.reading import MANUAL, read_curriculum
from generator.reading.records import read_record
from generator.reading.schemas import DIALECT, MODELS, schema_text, schemas, write_schemas
from generator.reading.text import LARGEST_FILE
from generator.reading.yaml_tree import DEEPEST, MOST_ALIASED, read_tree

ROOT = Path(__file__).parents[1]
SHIPPED = ROOT / "curriculum"
BASE = ROOT / "tests" / "cases" / "base" / "curriculum"
SKILL = "skills/airway/mask-breath.yaml"
LOADERS = [yaml.Loader, *([yaml.CLoader] if hasattr(yaml, "CLoader") else [])]
both = pytest.mark.parametrize("loader", LOADERS, ids=lambda loader: loader.__name__)


def rules(problems: tuple[Problem, ...]) -> list[str]:
    return [problem.rule for problem in problems]


def places(problems: tuple[Problem, ...]) -> list[str]:
    return [f"{problem.location} {problem.rule}" for problem in problems]


# Scalars and places


@both
def test_scalars_stay_as_they_were_typed(loader: Any) -> None:
    # YAML 1.1 (https://yaml.org/type/) reads these as 750, false, 1.1, 8, true, infinity, a date and a merge.
    typed = ["12:30", "no", "1.10", "010", "on", ".inf", "2026-02-01", "=", "1_000", "0x1F", "True", "Null"]
    tree = read_tree("".join(f"- {word}\n" for word in typed).encode(), "f", loader=loader)
    assert tree.data == typed
    assert tree.problems == ()


@both
def test_only_plain_empty_null_and_tilde_are_nothing(loader: Any) -> None:
    tree = read_tree(b"a:\nb: null\nc: ~\nd: ''\ne: 'null'\nf: \"~\"\n", "f", loader=loader)
    assert tree.data == {"a": None, "b": None, "c": None, "d": "", "e": "null", "f": "~"}


@both
def test_places_count_characters_from_one(loader: Any) -> None:
    tree = read_tree("é: 1\nlist:\n  - {👩🏽: x, b: y}\nmap:\n    key: |\n      text\n".encode(), "f", loader=loader)
    assert tree.positions[("é",)] == (1, 4)
    assert tree.positions[("list",)] == (2, 1)  # a block has the place of its name
    assert tree.positions[("list", 0)] == (3, 5)
    assert tree.positions[("list", 0, "b")] == (3, 16)  # the sign before it is two characters
    assert tree.keys[("list", 0, "b")] == (3, 13)
    assert tree.positions[("map",)] == (4, 1)
    assert tree.keys[("map", "key")] == (5, 5)
    assert tree.positions[("map", "key")] == (5, 10)
    assert tree.positions[()] == (1, 1)


@both
@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_line_ends_and_byte_order_mark_move_nothing(loader: Any, end: str, mark: str) -> None:
    text = mark + "# one\na: 1\nb:\n  - x\n  - y\na: 2\n"
    tree = read_tree(text.replace("\n", end).encode(), "f", loader=loader)
    assert tree.data == {"a": "1", "b": ["x", "y"]}
    assert tree.positions[("b", 1)] == (5, 5)
    assert places(tree.problems) == ["f:6:1 yaml-duplicate-key"]
    assert str(tree.problems[0].related[0].location) == "f:2:1"


@both
def test_a_byte_that_is_not_utf8_is_placed_by_characters(loader: Any) -> None:
    for mark in (b"", b"\xef\xbb\xbf"):
        tree = read_tree(mark + "é: x\né\u2013".encode() + b"\xff: y\n", "f", loader=loader)
        assert places(tree.problems) == ["f:2:3 file-not-utf8"]


# Hostile files


@both
def test_a_bomb_of_aliases_is_refused_at_once(loader: Any) -> None:
    # The shape known as "billion laughs".
    levels = "abcdefghijklmnop"
    text = "a: &a [x, x, x, x, x, x, x, x, x, x]\n" + "".join(
        f"{name}: &{name} [{', '.join([f'*{below}'] * 10)}]\n" for below, name in itertools.pairwise(levels)
    )
    start = time.perf_counter()
    tree = read_tree(text.encode(), "f", loader=loader)
    assert time.perf_counter() - start < 1
    assert rules(tree.problems) == ["yaml-alias"]
    assert not tree.is_whole


@both
def test_aliases_under_the_limit_are_read(loader: Any) -> None:
    count = MOST_ALIASED // 3
    text = "a: &a [x, y]\nb:\n" + "- *a\n" * count
    tree = read_tree(text.encode(), "f", loader=loader)
    assert tree.problems == ()
    assert tree.data["b"] == [["x", "y"]] * count
    assert rules(read_tree((text + "- *a\n").encode(), "f", loader=loader).problems) == ["yaml-alias"]


@both
def test_depth_is_limited_and_the_limit_is_allowed(loader: Any) -> None:
    for opening, closing in (("[", "]"), ("{a: ", "}")):
        fits = opening * DEEPEST + "x" + closing * DEEPEST
        assert read_tree(fits.encode(), "f", loader=loader).problems == ()
        over = opening * (DEEPEST + 1) + "x" + closing * (DEEPEST + 1)
        assert rules(read_tree(over.encode(), "f", loader=loader).problems) == ["yaml-too-deep"]


@both
@pytest.mark.parametrize("opening", ["[", "{", "- ", "? ", "[[", "&a [", "!!x [", "{a: ", "'", '"'])
def test_endless_openings_end_soon(loader: Any, opening: str) -> None:
    start = time.perf_counter()
    tree = read_tree((opening * 20_001).encode(), "f", loader=loader)
    assert tree.problems
    assert time.perf_counter() - start < 5


def test_a_huge_file_is_not_read(tiny: Path) -> None:
    path = tiny / "glossary.yaml"
    with path.open("ab") as stream:
        stream.truncate(50_000_000)
    # A process of its own, so that its peak of memory can be told: well below what the file would take.
    code = (
        "import resource, sys; from pathlib import Path; from generator.reading import read_curriculum\n"
        "before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss\n"
        "print(*(p.rule for p in read_curriculum(Path(sys.argv[1]))[1]))\n"
        "assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 20_000"
    )
    done = subprocess.run([sys.executable, "-c", code, str(tiny)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout.split() == ["file-too-large"]


def test_the_size_limit_itself_is_allowed(tiny: Path) -> None:
    path = tiny / "glossary.yaml"
    text = path.read_bytes()
    path.write_bytes(text + b"#" * (LARGEST_FILE - len(text)))
    assert read_curriculum(tiny)[1] == ()
    path.write_bytes(text + b"#" * (LARGEST_FILE - len(text) + 1))
    assert places(read_curriculum(tiny)[1]) == ["curriculum/glossary.yaml:1:1 file-too-large"]


def test_links_that_leave_the_folder_are_not_followed(tiny: Path, tmp_path: Path) -> None:
    outside = tmp_path / "outside.yaml"
    outside.write_bytes((tiny / "local.yaml").read_bytes())
    (tiny / "local.yaml").unlink()
    (tiny / "local.yaml").symlink_to(outside)
    (tmp_path / "elsewhere").mkdir()
    (tiny / "skills" / "breathing").symlink_to(tmp_path / "elsewhere")
    (tiny / "pages" / "secret.md").symlink_to("/etc/hostname")
    curriculum, problems = read_curriculum(tiny)
    assert places(problems) == [
        "curriculum/local.yaml:1:1 link-outside",
        "curriculum/pages/secret.md:1:1 link-outside",
        "curriculum/skills/breathing:1:1 link-outside",
    ]
    assert curriculum is not None
    assert curriculum.local is None
    assert set(curriculum.prose) == {"about.md"}


def test_links_inside_the_folder(tiny: Path) -> None:
    (tiny / "pages" / "same.md").symlink_to("about.md")
    (tiny / "pages" / "gone.md").symlink_to("nothing.md")
    (tiny / "skills" / "round").symlink_to("..")
    curriculum, problems = read_curriculum(tiny)
    assert curriculum is not None
    assert curriculum.prose["same.md"] == curriculum.prose["about.md"]
    assert places(problems) == [
        "curriculum/pages/gone.md:1:1 file-unreadable",
        "curriculum/skills/round:1:1 file-unreadable",
    ]


def test_a_pipe_and_a_folder_named_as_files(tiny: Path) -> None:
    (tiny / "local.yaml").unlink()
    os.mkfifo(tiny / "local.yaml")
    (tiny / "glossary.yaml").unlink()
    (tiny / "glossary.yaml").mkdir()
    found = places(read_curriculum(tiny)[1])
    assert "curriculum/local.yaml:1:1 file-unreadable" in found
    assert "curriculum/glossary.yaml:1:1 file-unexpected" in found


def test_a_file_that_this_user_may_not_read(tiny: Path) -> None:
    path = tiny / SKILL
    path.chmod(0)
    (tiny / "pages").chmod(0)
    try:
        if os.access(path, os.R_OK):
            pytest.skip("this user may read every file, as root does")
        found = places(read_curriculum(tiny)[1])
    finally:
        path.chmod(0o600)
        (tiny / "pages").chmod(0o700)
    assert found == ["curriculum/pages:1:1 file-unreadable", f"curriculum/{SKILL}:1:1 file-unreadable"]


def test_a_file_that_the_system_refuses(tiny: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same as above for every user: the system's own refusal is stood in for."""
    real = os.open

    def refuse(path: Any, flags: int, *more: Any) -> int:
        if str(path).endswith("mask-breath.yaml"):
            raise PermissionError(13, "Permission denied", str(path))
        return real(path, flags, *more)

    monkeypatch.setattr(os, "open", refuse)
    curriculum, problems = read_curriculum(tiny)
    assert places(problems) == [f"curriculum/{SKILL}:1:1 file-unreadable"]
    assert "permission denied" in problems[0].message
    assert curriculum is not None
    assert ("skill", "mask-breath") in curriculum.unread


def test_no_folder_and_a_file_for_a_folder(tmp_path: Path) -> None:
    curriculum, problems = read_curriculum(tmp_path / "nowhere")
    assert curriculum is None
    assert places(problems) == ["nowhere:1:1 folder-missing"]
    (tmp_path / "file").write_text("x")
    assert rules(read_curriculum(tmp_path / "file")[1]) == ["folder-missing"]


def test_an_empty_folder_names_everything_that_is_needed(tmp_path: Path) -> None:
    curriculum, problems = read_curriculum(tmp_path)
    assert curriculum is None
    assert sorted(rules(problems)) == ["file-missing"] * 6 + ["folder-missing"] * 2


def test_file_names_that_cannot_be_printed(tiny: Path) -> None:
    for name in (b"\xff\xfe.yaml", b"new\nline.yaml", b"\x1b[31m.yaml", "e\u0301.yaml".encode()):
        with open(os.path.join(os.fsencode(tiny / "trainers"), name), "wb") as stream:  # noqa: PTH118, PTH123
            stream.write((tiny / "trainers/half-torso.yaml").read_bytes())
    problems = read_curriculum(tiny)[1]
    assert rules(problems).count("file-name") == 4
    for problem in problems:
        assert str(problem.location).isprintable()
        assert problem.message.encode("utf-8")


def test_a_file_full_of_problems_names_the_first_hundred(tiny: Path) -> None:
    path = tiny / "glossary.yaml"
    path.write_text(path.read_text() + "  - trem: x\n    meaning: y\n" * 150)
    problems = read_curriculum(tiny)[1]
    assert rules(problems).count("field-unknown") == 100
    assert rules(problems).count("more-problems") == 1
    assert "50 more" in next(problem.message for problem in problems if problem.rule == "more-problems")


# What is left when something is wrong


def test_what_is_right_is_read_beside_what_is_wrong(tiny: Path) -> None:
    for name, old, new in (
        ("quantities.yaml", "value: 6", "value: six"),
        ("sources.yaml", "type: book", "type: leaflet"),
        ("techniques.yaml", "    right: The palm stays", "    rihgt: The palm stays"),
        ("equipment.yaml", "    fitted: true\n  gloves", "    fitted: maybe\n  gloves"),
        ("glossary.yaml", "    also: [stage]", "    also: stage"),
        (SKILL, "critical: true", "critical: yes"),
    ):
        text = (tiny / name).read_text()
        assert old in text
        (tiny / name).write_text(text.replace(old, new, 1))
    curriculum, problems = read_curriculum(tiny)
    assert curriculum is not None
    assert len(problems) == 6
    assert set(curriculum.quantities) == {"press-time"}
    assert set(curriculum.sources) == {"invented-breath-study"}
    assert set(curriculum.techniques) == {"mask-seal"}
    assert set(curriculum.equipment) == {"face-mask", "gloves"}
    assert [term.term for term in curriculum.terms] == ["seal"]
    assert set(curriculum.skills) == {"press-on-wound"}
    assert curriculum.unread == {
        ("quantity", "breath-interval"), ("source", "invented-wound-book"), ("technique", "steady-pressure"),
        ("equipment", "gauze"), ("term", "rung"), ("skill", "mask-breath"),
    }  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "name", "id"),
    [("source", "sources.yaml", "invented-breath-study"), ("technique", "techniques.yaml", "mask-seal"),
     ("quantity", "quantities.yaml", "breath-interval"), ("equipment", "equipment.yaml", "face-mask")],
)  # fmt: skip
@pytest.mark.parametrize("damage", ["syntax", "missing", "bytes", "other shape"])
def test_a_list_file_that_is_lost_declares_what_others_use(
    tiny: Path, kind: str, name: str, id: str, damage: str
) -> None:
    path = tiny / name
    if damage == "missing":
        path.unlink()
    else:
        head, _, _ = path.read_bytes().partition(b"\n")
        path.write_bytes({
            "syntax": path.read_bytes() + b"}: x\n",
            "bytes": path.read_bytes() + b"\xff",
            "other shape": head + b"\n- one\n",
        }[damage])  # fmt: skip
    curriculum, problems = read_curriculum(tiny)
    assert len(problems) == 1
    assert curriculum is not None
    assert (kind, id) in curriculum.unread


def test_the_program_is_stood_in_for_when_only_its_texts_are_wrong(tiny: Path) -> None:
    path = tiny / "program.yaml"
    path.write_text(path.read_text().replace("about: A tiny", "abuot: A tiny").replace("paper: us-letter", "paper: x"))
    curriculum, problems = read_curriculum(tiny)
    assert rules(problems) == ["field-unknown", "value-wrong"]
    assert curriculum is not None
    assert curriculum.program.paper == "us-letter"
    assert [level.id for level in curriculum.program.levels] == ["basic", "advanced"]
    assert ("program", "program") in curriculum.unread


def test_records_know_their_places(tiny: Path) -> None:
    curriculum, problems = read_curriculum(tiny)
    assert problems == ()
    assert curriculum is not None
    lines = (tiny / SKILL).read_text().splitlines()
    location = curriculum.at("skill", "mask-breath", "steps", 2, "pace")
    assert location.file == f"curriculum/{SKILL}"
    assert lines[location.line - 1][location.column - 1 :] == "breath-interval"
    quantity = curriculum.at("quantity", "press-time")
    assert (tiny / "quantities.yaml").read_text().splitlines()[quantity.line - 1] == "  press-time:"
    source = curriculum.at("source", "invented-wound-book", "issued", "date-parts", 0, 0)
    assert (tiny / "sources.yaml").read_text().splitlines()[source.line - 1][source.column - 1 :] == "2023]]"
    for kind, id in (("program", "program"), ("local", "local"), ("term", "rung"), ("lab", "first-day")):
        assert (kind, id) in curriculum.places
    assert list(curriculum.prose) == ["about.md"]


def test_the_name_of_the_folder_is_in_every_place(tiny: Path) -> None:
    other = tiny.rename(tiny.with_name("other"))
    (other / "local.yaml").write_text("")
    assert places(read_curriculum(other)[1]) == ["other/local.yaml:1:1 file-empty"]


def test_a_name_and_its_misspelling_may_both_be_wrong_in_one_group() -> None:
    tree = read_tree(b"a: 1\n", "f")
    record, problems = read_record(tree, Skill, "f")
    assert record is None
    assert rules(problems).count("field-unknown") == 1
    needed = sum(field.is_required() for field in Skill.model_fields.values())
    assert rules(problems).count("field-missing") == needed


def test_every_rule_in_use_is_in_the_manual() -> None:
    source = "".join(path.read_text(encoding="utf-8") for path in (ROOT / "generator/reading").glob("*.py"))
    used = set(re.findall(r'rule="([a-z0-9-]+)"|"(yaml-[a-z-]+|file-[a-z0-9-]+)", ', source))
    named = {name for pair in used for name in pair if name}
    assert len(named) > 20
    assert named <= set(MANUAL)
    assert {rule for rule in MANUAL if f'"{rule}"' not in source.replace(f'"{rule}": ', "")} == set()


# Schemas


class Yaml12(yaml.SafeLoader):
    """Reads scalars as YAML 1.2's core schema does (https://yaml.org/spec/1.2.2/#1032-tag-resolution)."""


Yaml12.yaml_implicit_resolvers = {}
for _tag, _pattern, _first in (
    ("null", r"^(?:null|Null|NULL|~|)$", [*"nN~", ""]),
    ("bool", r"^(?:true|True|TRUE|false|False|FALSE)$", [*"tTfF"]),
    ("int", r"^(?:[-+]?[0-9]+|0o[0-7]+|0x[0-9a-fA-F]+)$", [*"-+0123456789"]),
    ("float", r"^(?:[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?)$", [*"-+0123456789."]),
):
    Yaml12.add_implicit_resolver(f"tag:yaml.org,2002:{_tag}", re.compile(_pattern), _first)


def yaml_files(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*.yaml"))


def kind_of(path: Path) -> str:
    match = re.match(r"# yaml-language-server: \$schema=(\S+)", path.read_text(encoding="utf-8").splitlines()[0])
    assert match, path
    schema = (path.parent / match[1]).resolve()
    assert schema.parent.name == ".schema"
    return schema.name


def test_yaml_12_reads_what_the_specification_says() -> None:
    # The examples of YAML 1.2.2, section 10.3.2, and two of section 10.2.1.
    got = yaml.load("[~, null, true, False, 0, 7, -19, 0., .5, +12e03, no, 09:30, 2026-01-01]", Loader=Yaml12)
    assert got == [None, None, True, False, 0, 7, -19, 0.0, 0.5, 12000.0, "no", "09:30", "2026-01-01"]


@pytest.mark.parametrize("name", [f"{kind}.json" for kind in MODELS])
def test_shipped_schemas_are_fresh_and_valid(name: str) -> None:
    made = schemas()[name]
    assert made["$schema"] == DIALECT
    # The metaschema is JSON Schema draft 2020-12's own, as the library carries it.
    jsonschema.Draft202012Validator.check_schema(made)
    assert (SHIPPED / ".schema" / name).read_text(encoding="utf-8") == schema_text(made)
    assert made["additionalProperties"] is False
    assert made["description"]
    for part in made.get("$defs", {}).values():
        if part["type"] == "object":
            assert part["additionalProperties"] is False
            assert part["description"]


def test_no_schema_is_left_over() -> None:
    assert sorted(path.name for path in (SHIPPED / ".schema").iterdir()) == sorted(schemas())


@pytest.mark.parametrize("folder", [SHIPPED, BASE], ids=["shipped", "tiny"])
def test_every_file_suits_its_schema_in_an_editor(folder: Path) -> None:
    files = yaml_files(folder)
    assert len(files) >= 10
    validators = {name: jsonschema.Draft202012Validator(schema) for name, schema in schemas().items()}
    for path in files:
        data = yaml.load(path.read_text(encoding="utf-8"), Loader=Yaml12)
        errors = validators[kind_of(path)].iter_errors(data)
        assert [f"{path}: {error.json_path}: {error.message}" for error in errors] == []


@pytest.mark.parametrize(
    ("name", "old", "new"),
    [
        (SKILL, "strand: airway", "strnad: airway"),
        (SKILL, "scored_by: peer", "scored_by: pear"),
        (SKILL, "minutes_per_attempt: 4", "minutes_per_attempt: four"),
        ("trainers/half-torso.yaml", "  mask-seal:\n", "  Mask Seal:\n"),
        ("trainers/half-torso.yaml", "purchase: 400", "purchase: much"),
        ("labs/first-day.yaml", "start: 09:00", "start: 9 am"),
        ("labs/first-day.yaml", "on: 2026-09-14", "on: soon"),
        ("program.yaml", "rungs:", "ladders:"),
    ],
)
def test_an_editor_sees_a_slip(name: str, old: str, new: str) -> None:
    text = (BASE / name).read_text(encoding="utf-8")
    validator = jsonschema.Draft202012Validator(schemas()[kind_of(BASE / name)])
    assert list(validator.iter_errors(yaml.load(text, Loader=Yaml12))) == []
    assert old in text
    assert list(validator.iter_errors(yaml.load(text.replace(old, new, 1), Loader=Yaml12))) != []


def test_text_needs_no_quotation_marks_in_an_editor() -> None:
    validator = jsonschema.Draft202012Validator(schemas()["sources.json"])
    data = yaml.load("references: [{id: a, type: book, title: 1984, volume: 12, edition: 2.10}]", Loader=Yaml12)
    assert list(validator.iter_errors(data)) == []


def test_schemas_are_written_once(tmp_path: Path) -> None:
    assert len(write_schemas(tmp_path)) == len(MODELS)
    assert write_schemas(tmp_path) == ()
    (tmp_path / ".schema" / "lab.json").write_text("{}")
    assert [path.name for path in write_schemas(tmp_path)] == ["lab.json"]
    assert json.loads((tmp_path / ".schema" / "lab.json").read_text())["title"] == "Lab"


def test_a_long_skill_is_read_quickly() -> None:
    """A guard against growth by the square, far from the speed itself (about one thousandth of a second)."""
    steps = "".join(f"  - id: step-{n}\n    do: Press.\n    see: Pressed.\n" for n in range(3000))
    data = f"{(BASE / SKILL).read_text().split('steps:')[0]}steps:\n{steps}".encode()
    start = time.perf_counter()
    tree = read_tree(data, "f")
    assert time.perf_counter() - start < 2
    assert len(tree.data["steps"]) == 3000
