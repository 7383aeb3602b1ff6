"""The rules together: they are listed, they explain themselves, they have cases, and they are quick.

What each one finds and leaves alone stands in `cases/`; here are the properties that a case cannot show.
"""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from generator import checks
from generator.checks import MANUAL, RULES, SITE_RULES, check, explain
from generator.checks.external import external_links, probe_links
from generator.checks.support.nearest import did_you_mean
from generator.checks.support.prose import links, without_code
from generator.checks.support.texts import passages
from generator.checks.support.verbs import begins_with_verb, main_part, second_action
from generator.checks.writing_vague import VAGUE
from generator.diagnostics import as_text
from generator.model import Curriculum
from generator.reading import read_curriculum

TODAY = date(2026, 6, 1)
FOLDER = Path(checks.__file__).parent
CASES = Path(__file__).parent / "cases"
NOT_RULES = {"__init__", "external"}


def rule_files() -> dict[str, Path]:
    """Rule name → module file, for every module of the folder that is a rule."""
    return {path.stem.replace("_", "-"): path for path in FOLDER.glob("*.py") if path.stem not in NOT_RULES}


@pytest.fixture(scope="module")
def base() -> Curriculum:
    curriculum, problems = read_curriculum(CASES / "base" / "curriculum")
    assert curriculum is not None
    assert not problems
    return curriculum


def test_every_rule_module_is_listed_under_its_own_name() -> None:
    listed = [rule.RULE for rule in (*RULES, *SITE_RULES)]
    assert len(listed) == len(set(listed)) >= 39
    assert set(listed) == set(rule_files()) == set(MANUAL)
    for rule in (*RULES, *SITE_RULES):
        assert rule.__name__.rpartition(".")[2].replace("_", "-") == rule.RULE


@pytest.mark.parametrize("rule", sorted(rule_files()))
def test_every_rule_is_its_own_manual_entry(rule: str) -> None:
    """What, why and how to put it right, in the module's docstring."""
    entry = explain(rule)
    assert entry is not None
    assert MANUAL[rule].endswith(".")
    assert len(MANUAL[rule]) <= 120
    _, *paragraphs = entry.split("\n\n")
    assert paragraphs[0].startswith(MANUAL[rule])
    assert any(paragraph.startswith("Why: ") for paragraph in paragraphs)
    assert paragraphs[-1].startswith("To put it right: ")


def test_no_entry_for_an_unknown_rule() -> None:
    assert explain("no-such-rule") is None


def test_every_rule_has_a_case() -> None:
    """Rules of the built site have theirs in test_site_check.py, where a site can be made."""
    with_problems = {path.parent.parent.name for path in (CASES / "problems").glob("*/*/expected.txt")}
    assert {rule.RULE for rule in RULES} <= with_problems
    ours = [p for p in (CASES / "problems").glob("*/*/expected.txt") if p.parent.parent.name in rule_files()]
    silent = [p for p in (CASES / "ok").glob("*/*") if p.parent.name in rule_files()]
    assert len(ours) >= 60
    assert len(silent) >= 20


def test_every_problem_says_what_to_do() -> None:
    """Each expected line that names a rule of ours is followed by a remedy."""
    seen = 0
    for path in (CASES / "problems").glob("*/*/expected.txt"):
        lines = path.read_text(encoding="utf-8").splitlines()
        for line, following in zip(lines, [*lines[1:], ""], strict=True):
            if line.rpartition("[")[2].rstrip("]") in MANUAL and not line.startswith(" "):
                seen += 1
                assert following.startswith("    "), line
                assert not following.startswith("    see "), line
    assert seen >= 100


def test_the_same_problems_on_a_second_run(base: Curriculum) -> None:
    broken = replace(base, sources={}, quantities={}, techniques={})
    first = check(broken, today=TODAY)
    assert {problem.rule for problem in first} >= {"citation-unknown", "quantity-unknown", "reference-unknown"}
    assert check(replace(broken), today=TODAY) == first


def test_a_record_that_could_not_be_read_is_still_known(base: Curriculum) -> None:
    lost = {id: one for id, one in base.trainers.items() if id != "whole-body"}
    missing = check(replace(base, trainers=lost), today=TODAY)
    assert [problem.rule for problem in missing] == ["reference-unknown"] * 3
    unread = replace(base, trainers=lost, unread=frozenset({("trainer", "whole-body")}))
    assert as_text(check(unread, today=TODAY)) == ""


def test_nothing_is_called_unused_while_a_skill_cannot_be_read(base: Curriculum) -> None:
    few = {id: one for id, one in base.skills.items() if id != "press-on-wound"}
    without = replace(base, skills=few, stations={}, labs={}, local=None)
    assert {problem.rule for problem in check(without, today=TODAY)} >= {"record-unused"}
    unread = replace(without, unread=frozenset({("skill", "press-on-wound")}))
    assert check(unread, today=TODAY) == ()


def test_a_long_chain_of_prerequisites(base: Curriculum) -> None:
    """Longer than Python's recursion limit, once straight and once closed to a circle."""
    skill = base.skills["mask-breath"]
    chain = {
        f"s{n}": skill.model_copy(update={"id": f"s{n}", "prerequisites": (f"s{n + 1}",) if n < 1999 else ()})
        for n in range(2000)
    }
    straight = replace(base, skills={**base.skills, **chain})
    assert not [p for p in check(straight, today=TODAY) if p.rule == "prerequisite-circle"]
    chain["s1999"] = skill.model_copy(update={"id": "s1999", "prerequisites": ("s1000",)})
    closed = [
        p for p in check(replace(base, skills={**base.skills, **chain}), today=TODAY) if p.rule == "prerequisite-circle"
    ]
    assert len(closed) == 1
    assert len(closed[0].related) == 999


def test_texts_follow_the_model(base: Curriculum) -> None:
    """Ids, dates and enumerations are no texts; aliases and list positions lead to the place in the file."""
    found = {(p.kind, p.path): p.text for p in passages(base)}
    assert found["skill", ("steps", 0, "do")] in ("Put on gloves.", "Open the gauze pack.")
    assert found["term", ("also", 0)] == "stage"
    assert found["trainer", ("feedback", "mask-seal", "shows")]
    assert found["local", ("rules", 0, "rule")]
    assert not {path[-1] for _, path in found} & {"id", "rung", "trainer", "pace", "worth", "critical", "on"}
    for passage in passages(base):
        place = base.places[passage.kind, passage.id]
        assert (*place.root, *passage.path) in place.positions, passage


@pytest.mark.parametrize(
    "text",
    [
        "Tilt the head and lift the chin.",
        "Attach the tubing, then open the valve.",
        "Remove the mask, check the mouth, and clear the airway.",
        "Open the mouth. Insert the airway.",
        "Turn on the pump; place the tip at the back of the mouth.",
        "If the chest stays still, reposition the head and give another breath.",
        "Expose the wound and look for bleeding.",
        "Wrap the bandage around the limb and tie it.",
    ],
)
def test_two_actions(text: str) -> None:
    assert second_action(text) is not None


@pytest.mark.parametrize(
    "text",
    [
        "Squeeze and release the bag.",
        "Look, listen and feel for breathing.",
        "Check the rise and fall of the chest.",
        "Check pulse, movement and sensation.",
        "Give back blows and chest thrusts in turn.",
        "Open the airway with head tilt and chin lift.",
        "Squeeze the bag until the chest rises and the gauge moves.",
        "Lift the jaw so that the tongue moves and the airway opens.",
        "Use both hands to lift the jaw and hold the mask.",
        'Say "stop and check the tube".',
        "Check for a response (tap and shout at the shoulder).",
        "Repeat until the airway is clear. Stop if the tip reaches its limit.",
        "If the bag and mask are wet, dry them.",
        "Wear gloves, mask and eye cover.",
    ],
)
def test_one_action(text: str) -> None:
    assert second_action(text) is None
    assert begins_with_verb(main_part(text))


@pytest.mark.parametrize(
    "text",
    [
        "The mask is pressed onto the face.",
        "Chest rises.",
        "Rescuer tilts the head.",
        "Opening the airway.",
        "Mask seal is held.",
        "Ensures a seal.",
        "With two hands.",
        "Gloves on.",
        "You press the mask.",
        "Suction is ready.",
    ],
)
def test_not_an_order(text: str) -> None:
    assert not begins_with_verb(main_part(text))


@pytest.mark.parametrize("text", ["Debride the wound.", "Reglove both hands.", "Gently press it.", "Do not lift it."])
def test_an_order_with_a_verb_that_no_list_has(text: str) -> None:
    assert begins_with_verb(main_part(text))


def test_every_vague_word_passes_its_cheap_look() -> None:
    """The stems that are looked for first leave out no word that the pattern finds."""
    from generator.checks.writing_vague import STEMS

    words = (
        *("properly", "proper", "appropriate", "appropriately", "adequate", "adequately", "sufficient", "sufficiently"),
        *("suitable", "suitably", "satisfactory", "satisfactorily", "correctly", "effective", "effectively", "optimal"),
        *("optimally", "reasonable", "reasonably", "acceptable", "acceptably", "good", "promptly"),
    )
    phrases = ("well enough", "in a timely manner", "as needed", "if necessary", "when required", "where indicated")
    for word in (*words, *phrases):
        for text in (f"Press it {word}.", f"{word.capitalize()} it is."):
            assert VAGUE.search(text), text
            assert any(stem in text for stem in STEMS), text
    assert VAGUE.search("Press the correct side.")
    assert not VAGUE.search("Correct the angle of the head.")


def test_the_nearest_name() -> None:
    assert did_you_mean("gauz", ["gauze", "gloves"], otherwise="Add it.") == "Did you mean `gauze`? If not: add it."
    assert did_you_mean("zzz", ["gauze", "gloves"], otherwise="Add it.") == "Add it."


def test_code_in_prose_is_blanked_without_moving_anything() -> None:
    text = "a `{x}` b\n\n```yaml\n[l](n.md)\n```\n<!-- [c](d.md) -->\n[k](m.md 'title') ![](i.png)\n"
    plain = without_code(text)
    assert len(plain) == len(text)
    assert plain.count("\n") == text.count("\n")
    assert [(link.target, link.is_image) for link in links(text)] == [("m.md", False), ("i.png", True)]


def test_external_links_are_listed_with_their_places(base: Curriculum) -> None:
    prose = {"about.md": "# About\n\n[x](https://out.example/a) and https://out.example/b.\n`https://code.example`\n"}
    found = {link.address: [str(use) for use in link.uses] for link in external_links(replace(base, prose=prose))}
    assert found == {
        "https://doi.org/10.5555/12345678": ["curriculum/sources.yaml:18:10"],
        "https://journal.example/breaths": ["curriculum/sources.yaml:19:10"],
        "https://press.example/wounds": ["curriculum/sources.yaml:34:10"],
        "https://out.example/a": ["curriculum/pages/about.md:3:1"],
        "https://out.example/b": ["curriculum/pages/about.md:3:32"],
    }


def test_probing_asks_only_the_opener(base: Curriculum) -> None:
    asked: list[str] = []
    told: list[tuple[int, int]] = []

    def opener(address: str) -> int:
        asked.append(address)
        if "press" in address:
            raise OSError("no route")
        return 403 if "doi" in address else 404

    answers = probe_links(external_links(base), opener=opener, progress=lambda done, total: told.append((done, total)))
    assert asked == [answer.link.address for answer in answers]
    assert told == [(1, 3), (2, 3), (3, 3)]
    assert {answer.link.address.split("/")[2]: (answer.is_alive, answer.what) for answer in answers} == {
        "doi.org": (True, "answered with status 403"),
        "journal.example": (False, "answered with status 404"),
        "press.example": (False, "could not be opened: no route"),
    }


def test_a_check_never_opens_a_connection(base: Curriculum, monkeypatch: pytest.MonkeyPatch) -> None:
    import socket

    def refuse(*_: object, **__: object) -> None:
        raise AssertionError("a check must not use the network")

    monkeypatch.setattr(socket, "socket", refuse)
    monkeypatch.setattr(socket, "create_connection", refuse)
    assert check(base, today=TODAY) == ()
    assert len(external_links(base)) == 3


def test_time_grows_with_the_number_of_skills_and_no_faster(base: Curriculum) -> None:
    """Eight times the skills take about eight times as long; a rule that compares all with all would take 64."""

    def seconds(count: int) -> float:
        skill = base.skills["mask-breath"]
        skills = {f"s{n}": skill.model_copy(update={"id": f"s{n}"}) for n in range(count)}
        best = float("inf")
        for _ in range(3):
            large = replace(base, skills={**base.skills, **skills})
            start = time.perf_counter()
            found = check(large, today=TODAY)
            best = min(best, time.perf_counter() - start)
            assert found == ()
        return best

    assert seconds(1600) < 25 * seconds(200)
