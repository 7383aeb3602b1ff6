"""The three cards of a scenario: what stands on them, that they fit their paper, and that the seed is printed."""

from __future__ import annotations

import io
import re
from collections import Counter
from functools import cache
from pathlib import Path

import pypdf
import pytest

from generator.analysis.scenario.debrief import needs_of
from generator.analysis.scenario.flow import in_flow_order
from generator.analysis.scenario.numbers import worked_numbers
from generator.analysis.scenario.variants import variant_of
from generator.analysis.wording import fill
from generator.cli import main
from generator.model import Curriculum, Paper
from generator.reading import read_curriculum
from generator.rendering.sheets import Sheet, Typeset, scenario_sheets, sheets_of, typesetter

PAPERS: tuple[Paper, ...] = ("a4", "us-letter")
SHIPPED = Path(__file__).parent.parent / "curriculum"
NAMES = sorted(path.stem for path in (SHIPPED / "scenarios").glob("*.yaml"))
ONE = "grape-at-the-party"
KINDS = ("facilitator", "patient", "observer")


@cache
def shipped() -> Curriculum:
    curriculum, _ = read_curriculum(SHIPPED)
    assert curriculum is not None
    return curriculum


@cache
def cards(name: str, seed: int | None = None) -> dict[str, Sheet]:
    return {sheet.kind: sheet for sheet in scenario_sheets(shipped(), shipped().scenarios[name], seed=seed)}


@cache
def made(name: str, kind: str, paper: Paper = "us-letter", seed: int | None = None) -> Typeset:
    return typesetter.set_sheet(cards(name, seed)[kind], paper)


@cache
def printed(name: str, kind: str, paper: Paper = "us-letter", seed: int | None = None) -> str:
    pages = pypdf.PdfReader(io.BytesIO(made(name, kind, paper, seed).pdf)).pages
    return flat(" ".join(page.extract_text() for page in pages))


def flat(text: str) -> str:
    """Words without the spaces that a line break may put anywhere."""
    return re.sub(r"\s+", "", re.sub("[\u00ad\u200b]", "", text))


def text(words: str) -> str:
    return flat(fill(words, shipped().quantities))


def test_every_shipped_scenario_has_its_three_cards() -> None:
    found = Counter((sheet.kind, sheet.id) for sheet in sheets_of(shipped()) if sheet.kind in KINDS)
    assert found == Counter((kind, name) for kind in KINDS for name in NAMES)
    assert len(NAMES) >= 8
    assert len({sheet.revision for name in NAMES for sheet in cards(name).values()}) == 3 * len(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_the_facilitator_holds_states_moves_vital_signs_lines_stop_and_debrief(name: str) -> None:
    scenario, on = shipped().scenarios[name], printed(name, "facilitator")
    for words in (scenario.brief, scenario.dispatch, scenario.scene, scenario.safety_stop, scenario.patient.about):
        assert text(words) in on
    for worked in worked_numbers(scenario):
        assert flat(worked.value) in on
    for state in scenario.states:
        assert on.count(text(state.title)) >= 2  # once in the flow, once in the list
        for line in (*state.findings, *state.say):
            assert text(line) in on
        for id, value in state.readings.items():
            assert flat(f"{shipped().readings[id].short}{value}") in on
        for move in state.moves:
            assert on.count(text(move.says)) >= 2, move.id
    for phase in scenario.debrief:
        assert all(text(question) in on for question in (phase.aim, *phase.questions))


@pytest.mark.parametrize("name", NAMES)
def test_the_patient_card_holds_answers_and_findings_and_none_of_the_moves(name: str) -> None:
    scenario, on = shipped().scenarios[name], printed(name, "patient")
    assert text(scenario.safety_stop) in on and text(scenario.patient.about) in on
    for answer in scenario.patient.answers:
        assert text(answer.asked) in on and text(answer.answer) in on
    for number, state in enumerate(in_flow_order(scenario), 1):
        assert (flat(f"{number}{fill(state.title, shipped().quantities)}") in on) == (state.exit is None)
        assert all(text(line) in on for line in state.findings)
        titles_and_findings = text(" ".join((state.title, *state.findings)))
        for move in state.moves:
            assert text(move.says) not in on or text(move.says) in titles_and_findings


@pytest.mark.parametrize("name", NAMES)
def test_the_observer_has_a_box_for_each_critical_step_and_a_field_for_each_time(name: str) -> None:
    scenario = shipped().scenarios[name]
    places = made(name, "observer").geometry["places"]
    boxes = [place["what"] for place in places if place["sort"] == "box"]
    wanted = [
        f"seen:{state.id}:{need.skill.id}/{step.id}"
        for state in scenario.states
        if state.exit is None
        for need in needs_of(shipped(), state)
        for step in need.steps
        if step.critical
    ]
    assert Counter(boxes) == Counter(wanted)
    assert len(wanted) >= 8
    fields = {place["what"] for place in places if place["sort"] == "field"}
    assert fields >= {f"{end}:{target.id}" for target in scenario.targets for end in ("from", "until")}
    assert fields >= {"field:observer-code", "field:group", "field:date", "field:own"}
    on = printed(name, "observer")
    assert all(text(question) in on for phase in scenario.debrief for question in phase.questions)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", NAMES)
def test_cards_fit_both_papers(name: str, paper: Paper) -> None:
    most = {"facilitator": 9, "patient": 3, "observer": 5}
    for kind in KINDS:
        geometry = made(name, kind, paper).geometry
        width, height = geometry["page_mm"]
        assert geometry["pages"] <= most[kind]
        for place in geometry["places"]:
            assert place["x"] > 0 and place["x"] + place["width"] < width
            assert place["y"] > 0 and place["y"] + place["height"] < height
        codes = [place for place in geometry["places"] if place["sort"] == "code"]
        assert len(codes) == geometry["pages"]
        assert b"pdfuaid" in made(name, kind, paper).pdf


def test_the_seed_and_its_own_numbers_are_printed() -> None:
    scenario = shipped().scenarios[ONE]
    seed = next(n for n in range(50) if variant_of(scenario, n).patient.age_years == 7)
    on = printed(ONE, "facilitator", seed=seed)
    assert flat(f"Variant by seed {seed}") in on
    # Luscombe and Owens 2007: 3 x age + 7, beside the older 2 x (age + 4).
    assert flat("Girl, 7 years") in on and "28kg" in on and "22kg" in on
    assert "Variantbyseed" not in printed(ONE, "facilitator")
    for kind in KINDS:
        assert flat(f"Variant by seed {seed}") in printed(ONE, kind, seed=seed)
        assert cards(ONE, seed)[kind].revision != cards(ONE)[kind].revision


def test_a_card_is_black_on_white_only() -> None:
    pypdfium2 = pytest.importorskip("pypdfium2")
    for kind in KINDS:
        for page in pypdfium2.PdfDocument(made(ONE, kind).pdf):
            pixels = page.render(scale=1).to_numpy().astype(int)
            assert abs(pixels[..., 0] - pixels[..., 1]).max() == 0
            assert abs(pixels[..., 0] - pixels[..., 2]).max() == 0


def test_the_command_lists_checks_and_typesets(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    here = ["--curriculum", str(SHIPPED)]
    assert main(["scenario", *here]) == 0
    listed = capsys.readouterr().out
    assert all(name in listed for name in NAMES)
    assert main(["scenario", ONE, *here]) == 0
    told = capsys.readouterr().out
    for words in ("every one can be reached", "The quickest run takes", "If nobody acts:", "End: No pulse", "16 kg"):
        assert words in told
    assert main(["scenario", ONE, "--seed", "3", "--paper", "a4", "--out", str(tmp_path), *here]) == 0
    assert capsys.readouterr().out.startswith("Seed 3\n")
    assert {path.name for path in tmp_path.glob("*.pdf")} == {f"{kind}-{ONE}-seed-3-a4.pdf" for kind in KINDS}
    assert main(["scenario", "grape", *here]) == 2
    assert main(["scenario", "--seed", "3", *here]) == 2
