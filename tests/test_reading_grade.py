"""Syllables and the Flesch-Kincaid grade, against a pronouncing dictionary and sentences with published counts."""

from __future__ import annotations

from pathlib import Path

import pytest

from generator.analysis.reading_grade import grade, grade_of_steps, hardest_step, syllables
from generator.checks.writing_grade import HIGHEST
from generator.model import Curriculum
from generator.reading import read_curriculum

SHIPPED = Path(__file__).parents[1] / "curriculum"

DICTIONARY = {
    1: "mask squeeze pressed called tongue breathes breathed bone the seal wave wrapped pulse chest eyes",
    2: "airway needle settled lifted movement patient fluid nurses little open safely layer diet glucose angle bruises",
    3: "compressor tourniquet radio aspirate infusion medicine physician collapses bandages stethoscope",
    4: "ventilation resuscitate decompression epinephrine saturation esophagus laryngoscope",
    5: "resuscitation defibrillator",
    6: "cardiovascular hypoglycemia",
}
"""Words by their syllables in the Carnegie Mellon pronouncing dictionary."""


@pytest.fixture(scope="module")
def shipped() -> Curriculum:
    curriculum, _ = read_curriculum(SHIPPED)
    assert curriculum is not None
    return curriculum


@pytest.mark.parametrize(
    ("word", "count"), [(word, count) for count, words in DICTIONARY.items() for word in words.split()]
)
def test_syllables_agree_with_a_pronouncing_dictionary(word: str, count: int) -> None:
    assert syllables(word) == count


@pytest.mark.parametrize(
    ("sentence", "words", "count"),
    [
        # Examples of an encyclopedia's article on the Flesch-Kincaid tests; counts are values from memory.
        ("The Australian platypus is seemingly a hybrid of a mammal and reptilian creature.", 13, 26),
        ("This sentence, taken as a reading passage unto itself, is being used to prove a point.", 16, 23),
        ("The cat sat on the mat.", 6, 6),
    ],
)
def test_the_grade_is_the_published_formula(sentence: str, words: int, count: int) -> None:
    """0.39, 11.8 and 15.59: Kincaid, Fishburne, Rogers and Chissom, 1975."""
    assert sum(map(syllables, sentence.split())) == count
    assert len(sentence.split()) == words
    assert grade([sentence]) == pytest.approx(0.39 * words + 11.8 * count / words - 15.59)


def test_texts_are_taken_together_and_sentences_are_cut() -> None:
    assert grade(["The cat sat. The dog ran."]) == grade(["The cat sat.", "The dog ran"])
    one, two = grade(["The cat sat on the mat while the dog ran."]), grade(["The cat sat on the mat.", "The dog ran."])
    assert one is not None
    assert two is not None
    assert one > two
    assert grade([]) is None
    assert grade(["…", "?"]) is None


def test_numbers_are_read_as_printed(shipped: Curriculum) -> None:
    skill = shipped.skills["compressions-adult"]
    assert grade_of_steps(skill, shipped.quantities) != grade_of_steps(skill, {})


def test_every_shipped_skill_reads_below_the_limit(shipped: Curriculum) -> None:
    grades = {skill.id: grade_of_steps(skill, shipped.quantities) for skill in shipped.skills.values()}
    assert len(grades) >= 40
    assert all(found is not None and 0 < found <= HIGHEST for found in grades.values()), grades


def test_the_hardest_step_is_found(shipped: Curriculum) -> None:
    skill = shipped.skills["tourniquet"]
    place = hardest_step(skill, shipped.quantities)
    alone = skill.model_copy(update={"steps": (skill.steps[place],)})
    assert all(
        (grade_of_steps(alone, shipped.quantities) or 0)
        >= (grade_of_steps(skill.model_copy(update={"steps": (step,)}), shipped.quantities) or -1000)
        for step in skill.steps
    )
