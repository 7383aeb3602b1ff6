"""Short ways of reading and of writing pages, each beside the long way that it stands for."""

from __future__ import annotations

import posixpath
import re
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jinja2 import Environment

from generator.analysis.wording import texts_of, words_of
from generator.checks import number_typed_in, writing_name
from generator.model import Curriculum
from generator.reading import read_curriculum
from generator.reading.yaml_tree import read_tree
from generator.rendering.pages import pages_of, writing
from generator.rendering.pages.inert import inert
from generator.rendering.pages.uses import names_of, terms_in, uses_of
from generator.rendering.pages.writing import _environment, _relative

SHIPPED = Path(__file__).resolve().parents[1] / "curriculum"


@pytest.fixture(scope="module")
def shipped() -> Curriculum:
    curriculum, _ = read_curriculum(SHIPPED)
    assert curriculum is not None
    return curriculum


def test_words_are_the_texts_in_their_order(shipped: Curriculum) -> None:
    seen = 0
    for _, id, record in shipped.records():
        texts = [text for _, text in texts_of(record)]
        assert words_of(record) == texts, id
        seen += len(texts)
    assert seen > 10_000


PARTS = st.lists(st.sampled_from(("a", "b", "skills", "airway")), max_size=4)


@given(folder=PARTS, path=PARTS)
def test_a_path_from_a_folder_is_what_the_library_says(folder: list[str], path: list[str]) -> None:
    target = "/".join([*path, "page.md"])
    assert _relative(target, "/".join(folder)) == posixpath.relpath(target, "/".join(folder) or ".")


LETTERS = st.text(alphabet="aB_1 é-’.ß\u0345²", max_size=12)


@given(text=LETTERS, name=st.text(alphabet="aB1é-’ß²", min_size=1, max_size=3))
def test_a_term_is_found_where_a_pattern_of_whole_words_finds_it(text: str, name: str) -> None:
    pattern = rf"(?<!\w){re.escape(name.casefold())}(?!\w)"
    # Terms are looked for by the first word in them, so a name needs a word, as every term has.
    if re.search(r"\w", name):
        first = re.search(r"\w+", name.casefold())
        assert first is not None
        may = first[0] in re.findall(r"\w+", text.casefold())
        expected = may and re.search(pattern, text.casefold()) is not None
        assert (terms_in([text], ((name,),)) == {name}) is expected


def test_terms_of_the_handbook_are_those_that_patterns_find(shipped: Curriculum) -> None:
    names = names_of(shipped.terms)
    patterns = {of[0]: [re.compile(rf"(?<!\w){re.escape(name.casefold())}(?!\w)") for name in of] for of in names}
    found = 0
    for skill in shipped.skills.values():
        text = " ".join(words_of(skill)).casefold()
        expected = {term for term, any_of in patterns.items() if any(one.search(text) for one in any_of)}
        assert terms_in(words_of(skill), names) == expected
        found += len(expected)
    assert found > 300


def test_uses_are_those_that_each_skill_names(shipped: Curriculum) -> None:
    uses = uses_of(shipped)
    assert list(uses.equipment) == list(shipped.equipment)
    for id in shipped.equipment:
        users = {s.id for s in shipped.skills.values() if id in s.equipment or any(id in step.uses for step in s.steps)}
        assert {s.id for s in uses.equipment[id]} == users
        assert len(uses.equipment[id]) == len(users)
    for id in shipped.techniques:
        users = {s.id for s in shipped.skills.values() if any(id in step.rests_on for step in s.steps)}
        assert {s.id for s in uses.techniques[id]} == users
        assert len(uses.techniques[id]) == len(users)
    for id in shipped.trainers:
        plans = [(s.id, plan) for s in shipped.skills.values() for plan in s.ladder if plan.trainer == id]
        assert sorted(plans, key=repr) == sorted(((s.id, plan) for s, plan in uses.trainers[id]), key=repr)


def test_pages_are_those_of_templates_that_escape_once_more(
    shipped: Curriculum, monkeypatch: pytest.MonkeyPatch
) -> None:
    def pages() -> dict[str, str]:
        return pages_of(shipped, sheets=(), problems=(), today=date(2026, 11, 25))

    short = pages()
    monkeypatch.setattr(writing._Environment, "code_generator_class", Environment.code_generator_class)
    _environment.cache_clear()
    try:
        long = pages()
    finally:
        _environment.cache_clear()
    assert short == long


@given(st.text() | st.integers() | st.none())
def test_a_printed_value_is_inert(value: object) -> None:
    made = _environment(()).from_string("{{ value }}|{% macro say(one) %}{{ one }}{% endmacro %}{{ say(value) }}")
    assert made.render(value=value) == f"{inert(value)}|{inert(value)}"


@given(st.text(alphabet="aB_1 é-’'.,²\n", max_size=20))
def test_words_end_in_a_letter_or_a_digit(text: str) -> None:
    assert writing_name._WORD.findall(text) == re.findall(r"[^\W_](?:[\w’'-]*\w)?", text)


@given(st.text(alphabet='one two -(“"‘/.Four', max_size=20))
def test_a_number_in_words_is_seen_behind_every_gap(text: str) -> None:
    gaps = str.maketrans(dict.fromkeys(number_typed_in.GAPS, " "))
    expected = not number_typed_in.NUMBERS.isdisjoint(text.translate(gaps).split())
    assert number_typed_in._may_hold_words(text) is expected


def test_every_place_of_a_file_is_told_by_its_path() -> None:
    text = "a: 1\nb:\n  - x\n  - c: [y, {d: z}]\n    e: &n\n      f: 2\ng: *n\n"
    tree = read_tree(text.encode(), "x.yaml")
    assert not tree.problems
    assert dict(tree.positions) == {
        (): (1, 1),
        ("a",): (1, 4),
        ("b",): (2, 1),
        ("b", 0): (3, 5),
        ("b", 1): (4, 5),
        ("b", 1, "c"): (4, 8),
        ("b", 1, "c", 0): (4, 9),
        ("b", 1, "c", 1): (4, 12),
        ("b", 1, "c", 1, "d"): (4, 16),
        ("b", 1, "e"): (5, 5),
        ("b", 1, "e", "f"): (6, 10),
        ("g",): (7, 4),
    }
    assert dict(tree.keys) == {
        ("a",): (1, 1),
        ("b",): (2, 1),
        ("b", 1, "c"): (4, 5),
        ("b", 1, "c", 1, "d"): (4, 13),
        ("b", 1, "e"): (5, 5),
        ("b", 1, "e", "f"): (6, 7),
        ("g",): (7, 1),
    }
    assert len(tree.positions) == 12
    assert ("g", "f") not in tree.positions
    assert ("b", 2) not in tree.positions
    assert tree.positions.get(("a", "deeper")) is None
