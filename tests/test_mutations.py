"""A valid curriculum spoiled at random: no traceback ever, and every problem on a line that is there.

Two kinds. Blind mutations change bytes without understanding them: whatever is said must name places that exist.
Aimed mutations make one slip whose right line is known, and that line must be named. All are seeded, so a failure
repeats; its message holds the number of the mutation.
"""

from __future__ import annotations

import random
import re
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import pytest

from generator.checks import check
from generator.diagnostics import Problem, as_github, as_json, as_text
from generator.reading import MANUAL, read_curriculum
from generator.reading.errors import field_of
from generator.reading.schemas import MODELS
from generator.reading.yaml_tree import read_tree

BASE = Path(__file__).parent / "cases" / "base" / "curriculum"
FILES = tuple(str(path.relative_to(BASE)) for path in sorted(BASE.rglob("*.yaml")))
TODAY = date(2026, 6, 1)
BLIND = 2_000
AIMED = 1_500
BATCHES = 10


@pytest.fixture(scope="module")
def spoiled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One copy of the valid curriculum; each test puts back what it changed."""
    return Path(shutil.copytree(BASE, tmp_path_factory.mktemp("mutations") / "curriculum"))


def read_spoiled(folder: Path, name: str, data: bytes, *, is_checked: bool) -> tuple[Problem, ...]:
    path = folder / name
    before = path.read_bytes()
    path.write_bytes(data)
    try:
        curriculum, problems = read_curriculum(folder)
        found = check(curriculum, today=TODAY) if curriculum and is_checked else ()
        hold_places(folder, (*problems, *found))
    finally:
        path.write_bytes(before)
    for problem in problems:
        assert problem.rule in MANUAL
        assert problem.message
        assert problem.remedy
    return problems


def hold_places(folder: Path, problems: tuple[Problem, ...]) -> None:
    """Every place named, at either end of a problem, is inside the file that it names."""
    for write in (as_text, as_json, as_github):
        write(problems).encode("utf-8")
    for location in [
        place for problem in problems for place in (problem.location, *(other.location for other in problem.related))
    ]:
        lines = (folder.parent / location.file).read_bytes().decode("utf-8", "replace").split("\n")
        assert 1 <= location.line <= max(len(lines), 1), location
        # One past the end of a line is where something is missing.
        assert 1 <= location.column <= len(lines[location.line - 1]) + 1, location


# Blind mutations

Lines = list[bytes]
INSERTED = (
    b"\t", b"{", b"}", b"[", b"]", b":", b": ", b"- ", b"#", b"&a ", b"*a ", b"!x ", b"|", b">", b"'", b'"', b"%", b"@",
    b"`", b"?", b",", b"<<: ", b"---\n", b"...\n", b"\r", b"\r\n", b"\x00", b"\xff", b"\xef\xbb\xbf", b"\xc2\xa0",
    b"\xe2\x80\xa8", b"\xc2\x85", b"\\", b"\n", b"\n\n", b"    ", b"null", b"~", b"[key]",
    b"!!python/object:os.system ",
)  # fmt: skip


def edit_line(change: Callable[[random.Random, Lines, int], None]) -> Callable[[random.Random, bytes], bytes]:
    def mutate(rng: random.Random, data: bytes) -> bytes:
        lines = data.split(b"\n")
        change(rng, lines, rng.randrange(len(lines)))
        return b"\n".join(lines)

    return mutate


def delete_line(rng: random.Random, lines: Lines, at: int) -> None:
    del lines[at : at + rng.randint(1, 3)]


def repeat_line(rng: random.Random, lines: Lines, at: int) -> None:
    lines.insert(rng.randrange(len(lines)) if rng.random() < 0.5 else at, lines[at])


def indent_line(rng: random.Random, lines: Lines, at: int) -> None:
    lines[at] = rng.choice((b" ", b"  ", b"    ", b"\t")) + lines[at] if rng.random() < 0.6 else lines[at].lstrip()


def replace_line(rng: random.Random, lines: Lines, at: int) -> None:
    lines[at] = rng.choice(lines)


def swap_lines(rng: random.Random, lines: Lines, at: int) -> None:
    other = rng.randrange(len(lines))
    lines[at], lines[other] = lines[other], lines[at]


def insert_sign(rng: random.Random, data: bytes) -> bytes:
    at = rng.randrange(len(data))
    return data[:at] + rng.choice(INSERTED) + data[at:]


def change_byte(rng: random.Random, data: bytes) -> bytes:
    spoiled = bytearray(data)
    for _ in range(rng.randint(1, 4)):
        spoiled[rng.randrange(len(spoiled))] = rng.randrange(256)
    return bytes(spoiled)


def swap_bytes(rng: random.Random, data: bytes) -> bytes:
    at = rng.randrange(len(data) - 1)
    return data[:at] + data[at + 1 : at + 2] + data[at : at + 1] + data[at + 2 :]


def delete_bytes(rng: random.Random, data: bytes) -> bytes:
    at = rng.randrange(len(data))
    return data[:at] + data[at + rng.randint(1, 12) :]


def cut_off(rng: random.Random, data: bytes) -> bytes:
    return data[: rng.randrange(len(data))]


def change_value(rng: random.Random, data: bytes) -> bytes:
    values = [b"", b"{}", b"[]", b"null", b"-1", b"9" * 30, b"yes", b"a: b", b"[[[]]]", b"{a: {b: c}}", b"2026-13-45",
              b"../../x", b"x" * 25_000, b'"\\ud800"', b"&a [*a]", b"{{x}}", "é".encode(), b"'", b"1e999"]  # fmt: skip
    places = list(re.finditer(rb"(?<=: )[^\n]+", data))
    if not places:
        return rng.choice(values)
    place = rng.choice(places)
    return data[: place.start()] + rng.choice(values) + data[place.end() :]


def other_ends(rng: random.Random, data: bytes) -> bytes:
    return insert_sign(rng, data.replace(b"\n", rng.choice((b"\r\n", b"\r"))))


BLIND_MUTATIONS: tuple[Callable[[random.Random, bytes], bytes], ...] = (
    *(edit_line(change) for change in (delete_line, repeat_line, indent_line, replace_line, swap_lines)),
    insert_sign, insert_sign, change_byte, swap_bytes, delete_bytes, cut_off, change_value, change_value, other_ends,
)  # fmt: skip


@pytest.mark.parametrize("batch", range(BATCHES))
def test_blind_mutations(spoiled: Path, batch: int) -> None:
    refused = 0
    for number in range(batch * BLIND // BATCHES, (batch + 1) * BLIND // BATCHES):
        rng = random.Random(f"blind {number}")
        name = rng.choice(FILES)
        data = (BASE / name).read_bytes()
        for _ in range(rng.choice((1, 1, 1, 2, 4))):
            data = rng.choice(BLIND_MUTATIONS)(rng, data if len(data) > 2 else b"a: b\n")
        try:
            # Every fourth is checked too, since what was read from a spoiled file must not upset the checks either.
            refused += bool(read_spoiled(spoiled, name, data, is_checked=number % 4 == 0))
        except Exception as error:
            raise AssertionError(f"blind mutation {number} of {name}: {data!r}") from error
    assert refused > BLIND // BATCHES // 3


# Aimed mutations


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """One spoiled file and the problem that it must bring: its rule and the line that it must name."""

    data: str
    rule: str
    line: int
    related: int | None = None


FIELD = re.compile(r"^( *(?:- )?)([A-Za-z_][A-Za-z_-]*):(?: (.*))?$")
WORDS = {"worth", "paper", "type", "scored_by", "checked", "level", "metadata"}


def indent_of(line: str) -> int:
    """Column, from 0, at which a line's field stands; a hyphen before it counts as indentation."""
    match = FIELD.match(line)
    return len(match[1]) if match else len(line) - len(line.lstrip())


def end_of(lines: list[str], at: int) -> int:
    """The line after the last one that belongs to the field at a line."""
    own = indent_of(lines[at])
    end = at + 1
    while end < len(lines) and lines[end] and len(lines[end]) - len(lines[end].lstrip()) > own:
        end += 1
    return end


def group_line(lines: list[str], at: int) -> int:
    """Number, from 1, of the line that stands for the group of fields around a line: the name above it, the first field
    of its list item, or the first field of the file."""
    own = indent_of(lines[at])
    top = at
    while top > 0:
        line = lines[top]
        if line.lstrip().startswith("- ") and indent_of(line) == own:
            return top + 1
        if FIELD.match(line) and indent_of(line) < own:
            return top + 1
        top -= 1
    return next(number for number, line in enumerate(lines, 1) if FIELD.match(line))


def rename_field(rng: random.Random, name: str, lines: list[str]) -> Slip | None:
    at = rng.choice([n for n, line in enumerate(lines) if FIELD.match(line)])
    match = FIELD.match(lines[at])
    assert match
    if is_an_id(name, lines, at):
        return None
    word = match[2]
    wrong = rng.choice((word + "x", word[:-1] + "qq", "zz-" + word, word.upper() + "_", "instructors_", "str"))
    lines[at] = f"{match[1]}{wrong}:{lines[at][len(match[1]) + len(match[2]) + 1 :]}"
    return Slip(data="\n".join(lines), rule="field-unknown", line=at + 1)


def is_an_id(name: str, lines: list[str], at: int) -> bool:
    """Whether the name at a line is an id of ours and not a field."""
    if indent_of(lines[at]) != 2:
        return False
    if name.startswith("trainers/"):
        return lines[group_line(lines, at) - 1] == "feedback:"
    return name in ("techniques.yaml", "equipment.yaml", "quantities.yaml")


def repeat_field(rng: random.Random, name: str, lines: list[str]) -> Slip | None:
    at = rng.choice([n for n, line in enumerate(lines) if FIELD.match(line)])
    match = FIELD.match(lines[at])
    assert match
    end = end_of(lines, at)
    lines.insert(end, f"{' ' * len(match[1])}{match[2]}: again")
    return Slip(data="\n".join(lines), rule="yaml-duplicate-key", line=end + 1, related=at + 1)


def delete_field(rng: random.Random, name: str, lines: list[str]) -> Slip | None:
    at = rng.choice([n for n, line in enumerate(lines) if FIELD.match(line)])
    group = group_line(lines, at)
    # Without the first field of a group there is another first field, or no group: that line is not known here.
    if not is_needed(name, at) or group == at + 1:
        return None
    own, end = indent_of(lines[at]), end_of(lines, at)
    was_alone = group == at and indent_of(lines[at - 1]) < own and indent_of(lines[end]) < own
    del lines[at:end]
    return Slip(data="\n".join(lines), rule="value-wrong" if was_alone else "field-missing", line=group)


def is_needed(name: str, at: int) -> bool:
    """Whether the model needs the field that stands at a line of an unspoiled file."""
    folder, _, file = name.partition("/")
    model = MODELS[folder.removesuffix("s" if file else ".yaml")]
    keys = read_tree((BASE / name).read_bytes(), name).keys
    field = next((field_of(model, path) for path, place in keys.items() if place[0] == at + 1), None)
    return field is not None and field.is_required()


def misspell_word(rng: random.Random, name: str, lines: list[str]) -> Slip | None:
    places = [n for n, line in enumerate(lines) if (m := FIELD.match(line)) and m[2] in WORDS and m[3]]
    if not places:
        return None
    at = rng.choice(places)
    lines[at] += rng.choice(("x", "-", " indeed", "_"))
    return Slip(data="\n".join(lines), rule="value-wrong", line=at + 1)


def spoil_number(rng: random.Random, name: str, lines: list[str]) -> Slip | None:
    places = [
        n for n, line in enumerate(lines)
        if re.search(r": (\d+(\.\d+)?|\d{4}-\d\d-\d\d|\d\d:\d\d|true)$", line)
    ]  # fmt: skip
    if not places:
        return None
    at = rng.choice(places)
    lines[at] = re.sub(r": \S+$", rng.choice((": some", ": 1,5", ": [1]", ": yes", ": 2026-02-31")), lines[at])
    return Slip(data="\n".join(lines), rule="value-wrong", line=at + 1)


def tab_indent(rng: random.Random, name: str, lines: list[str]) -> Slip | None:
    places = [n for n, line in enumerate(lines) if re.match(r" +(- )?[a-z_]+:", line)]
    if not places:
        return None
    at = rng.choice(places)
    lines[at] = "\t" + lines[at].lstrip()
    return Slip(data="\n".join(lines), rule="yaml-tab", line=at + 1)


AIMED_MUTATIONS = (rename_field, rename_field, repeat_field, repeat_field, delete_field, delete_field, delete_field,
                   misspell_word, spoil_number, tab_indent)  # fmt: skip


@pytest.mark.parametrize("batch", range(BATCHES))
def test_aimed_mutations_name_the_right_line(spoiled: Path, batch: int) -> None:
    for number in range(batch * AIMED // BATCHES, (batch + 1) * AIMED // BATCHES):
        rng = random.Random(f"aimed {number}")
        slip, name, kind = None, "", ""
        while slip is None:
            name = rng.choice(FILES)
            mutate = rng.choice(AIMED_MUTATIONS)
            kind = mutate.__name__
            slip = mutate(rng, name, (BASE / name).read_text(encoding="utf-8").split("\n"))
        data = slip.data if rng.random() < 0.8 else slip.data.replace("\n", "\r\n")
        problems = read_spoiled(spoiled, name, data.encode(), is_checked=False)
        hits = [p for p in problems if p.rule == slip.rule and p.location.line == slip.line]
        told = f"aimed mutation {number} ({kind}) of {name}, line {slip.line}:\n{as_text(problems)}"
        assert hits, told
        assert {problem.location.file for problem in problems} == {f"curriculum/{name}"}, told
        if slip.related:
            assert [other.location.line for other in hits[0].related] == [slip.related], told
        else:
            assert len(problems) <= 3, told


def test_enough_is_tried() -> None:
    assert BLIND + AIMED >= 2_000
    assert len(FILES) >= 12
