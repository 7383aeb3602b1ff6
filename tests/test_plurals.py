"""Counts in languages with other plural forms than English, against the plural rules of the Unicode CLDR."""

from __future__ import annotations

import io
import json
import re
import shutil
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from babel import Locale
from babel.messages.pofile import read_po, write_po

from generator.analysis.told import Told, kept, said, told_of
from generator.cli import main
from generator.model import Curriculum
from generator.model.plurals import Plurals
from generator.reading import read_curriculum
from generator.rendering.said import counted_in_code

BASE = Path(__file__).parent / "cases" / "base" / "curriculum"
PAIR = ("{count} day", "{count} days")


def in_language(folder: Path, language: str) -> Path:
    """The small curriculum in another language, with room for a catalogue."""
    made = Path(shutil.copytree(BASE, folder / "curriculum"))
    program = made / "program.yaml"
    text = re.sub(r"(?m)^language:.*\n", "", program.read_text(encoding="utf-8"))
    program.write_text(f"{text}language: {language}\n", encoding="utf-8")
    (made / "labels").mkdir()
    return made


def printed(folder: Path, capsys: pytest.CaptureFixture[str]) -> str:
    assert main(["labels", "--curriculum", str(folder)]) == 0
    return capsys.readouterr().out


def read(folder: Path) -> Curriculum:
    curriculum, problems = read_curriculum(folder)
    assert curriculum is not None
    assert not problems
    return curriculum


@pytest.mark.parametrize(("language", "forms"), [("ru", 3), ("pl", 3), ("ar", 6), ("cs", 3), ("sl", 4), ("ja", 1)])
def test_a_translated_catalogue_chooses_forms_as_cldr_does(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], language: str, forms: int
) -> None:
    """Source: the cardinal plural rules of the Unicode CLDR, as Babel has them."""
    folder = in_language(tmp_path, language)
    catalogue = read_po(io.StringIO(printed(folder, capsys)), locale=language)
    assert catalogue.num_plurals == forms
    for message in catalogue:
        if isinstance(message.id, tuple):
            message.string = tuple(f"{place}: {message.id[1]}" for place in range(forms))
    with (folder / "labels" / f"{language}.po").open("wb") as file:
        write_po(file, catalogue)
    curriculum = read(folder)
    rule = Locale.parse(language).plural_form
    said = {count: curriculum.many(count, *PAIR) for count in range(300)}
    assert {text.partition(": ")[2] for text in said.values()} == {f"{count} days" for count in said}
    pairs = {(text[0], rule(count)) for count, text in said.items()}
    assert len(pairs) == len({form for form, _ in pairs}) == len({kind for _, kind in pairs}), pairs
    assert read_po(io.StringIO(printed(folder, capsys))).get(PAIR).string == tuple(
        f"{place}: {PAIR[1]}" for place in range(forms)
    )


def test_every_pair_of_counted_words_has_its_own_entry(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    made = printed(in_language(tmp_path, "pl"), capsys)
    found = [message.id for message in read_po(io.StringIO(made)) if isinstance(message.id, tuple)]
    assert len(found) == len(set(found)) == len(counted_in_code()) >= 45
    keys = re.findall(r'(?m)^(?:msgctxt "(.*)"\n)?msgid "(.+)"$', made)
    assert len(keys) == len(set(keys)), "gettext refuses a catalogue that holds a message twice"


def test_a_fraction_takes_the_last_form_and_without_a_catalogue_english_stands() -> None:
    plurals = Plurals(rule="n % 10 == 1 ? 0 : n < 5 ? 1 : 2", forms={PAIR: ("a", "b", "c")})
    assert [plurals.form(*PAIR, count) for count in (1, 21, 3, 7, Decimal("1.5"), Decimal("3.0"))] == [*"aabccb"]
    assert plurals.form("{count} hour", "{count} hours", 1) is None
    assert read(BASE).many(1, *PAIR) == "1 day"
    assert read(BASE).many(Decimal("1.5"), *PAIR) == "1.5 days"


def test_a_sentence_that_is_kept_is_said_in_the_form_of_its_count() -> None:
    one, more = "The day takes {count} block.", "The day takes {count} blocks."
    plurals = Plurals(rule="n == 1 ? 0 : n < 5 ? 1 : 2", forms={(one, more): ("{count} a", "{count} b", "{count} c")})
    own = replace(read(BASE), plurals=plurals)
    lines = [Told.many(count, one, more) for count in (1, 3, 7)]
    assert lines == ["The day takes 1 block.", "The day takes 3 blocks.", "The day takes 7 blocks."]
    back = [told_of(json.loads(json.dumps(kept(line)))) for line in lines]
    assert [said(own, line) for line in back] == [said(own, line) for line in lines] == ["1 a", "3 b", "7 c"]


@pytest.mark.parametrize("rule", ["n/0", "n-5", "n+9", "n%0"])
def test_a_rule_that_leads_nowhere_still_says_a_count(rule: str) -> None:
    assert Plurals(rule=rule, forms={PAIR: ("a", "b")}).form(*PAIR, 2) in ("a", "b")


@pytest.mark.parametrize(
    "rule", ["__import__('os').system('true')", "n ** 9", "n !", "(" * 500 + "n" + ")" * 500, "n" * 2000, "x != 1"]
)
def test_a_rule_that_is_no_rule_is_a_problem(tmp_path: Path, rule: str) -> None:
    folder = in_language(tmp_path, "ru")
    head = f'msgid ""\nmsgstr ""\n"Plural-Forms: nplurals=2; plural={rule};\\n"\n'
    entry = '\nmsgid "{count} day"\nmsgid_plural "{count} days"\nmsgstr[0] "a {count}"\nmsgstr[1] "b {count}"\n'
    (folder / "labels" / "ru.po").write_text(head + entry, encoding="utf-8")
    curriculum, problems = read_curriculum(folder)
    assert curriculum is not None
    assert [problem.rule for problem in problems] == ["labels-unreadable"]
    assert curriculum.many(2, *PAIR) == "2 days"


def test_a_form_with_other_parts_is_refused_at_its_line(tmp_path: Path) -> None:
    folder = in_language(tmp_path, "ru")
    entry = 'msgid "{count} day"\nmsgid_plural "{count} days"\nmsgstr[0] "один {day}"\nmsgstr[1] "{count} дня"\n'
    (folder / "labels" / "ru.po").write_text(f'msgid ""\nmsgstr ""\n\n{entry}', encoding="utf-8")
    curriculum, problems = read_curriculum(folder)
    assert curriculum is not None
    assert [(problem.rule, problem.location.line) for problem in problems] == [("labels-parts", 4)]
    assert not curriculum.plurals.forms
