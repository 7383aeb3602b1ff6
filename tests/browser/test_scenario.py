"""A scenario is run from dispatch to exported log on a tablet with the network off, and its arithmetic is checked."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from browser_helpers import PHONE
from conftest import Handbook, Visit
from playwright.sync_api import Page

from generator.analysis.scenario.debrief import read_log
from generator.analysis.wording import fill
from generator.reading import read_curriculum
from generator.reading.run_log import read_run_log
from generator.rendering.scenario_words import took_said

pytestmark = pytest.mark.browser
TABLET = {"viewport": {"width": 820, "height": 1180}, "has_touch": True, "service_workers": "block"}
"""What keeps the whole handbook for later is tried elsewhere; here a run must need nothing but its own page."""
RUN = "scenarios/vomit-on-the-stairs-run.html"
BUS_STOP = "scenarios/down-at-the-bus-stop-run.html"
TOP = Path(__file__).resolve().parents[2]

MACHINE = """{
  states: [
    {id: "a", title: "A", exit: null, over: 0, readings: {pulse: 100, breath: 10}, needs: [], moves: [
      {id: "note", says: "Noted", on: "action", to: null, after: null, skill: "knot", step: "tie"},
      {id: "go", says: "Go", on: "action", to: "b", after: null, skill: "knot", step: "pull"},
      {id: "left", says: "Left", on: "omission", to: "c", after: 60, skill: "knot", step: "tie"},
      {id: "late", says: "Late", on: "time", to: "c", after: 90, skill: null, step: null}]},
    {id: "b", title: "B", exit: null, over: 20, readings: {pulse: 60}, moves: [],
      needs: [{skill: "knot", title: "Knot", steps: [
        {id: "pull", do: "Pull.", critical: true}, {id: "trim", do: "Trim.", critical: true},
        {id: "coil", do: "Coil.", critical: false}]}]},
    {id: "c", title: "C", exit: "Lost.", over: 0, readings: {}, needs: [], moves: []}],
  targets: [{name: "To go", since: "start", until: "go", says: "10 seconds", seconds: 10},
            {name: "To late", since: "go", until: "late", says: null, seconds: null}],
}"""
"""An invented machine, worked by hand below."""


def stand_still(page: Page) -> None:
    """Time moves only when a test says so, however busy the machine is."""
    page.clock.install(time=0)
    page.clock.pause_at(1000)


def at_second(page: Page, events: str, at: float) -> Any:
    return page.evaluate(
        f"""() => {{ const run = {MACHINE}; const stand = rungbook.standing(run, {events});
        const due = rungbook.nextByItself(stand);
        return [stand.state.id, rungbook.readingsAt(stand, {at}), due && [due.move.id, due.at]] }}"""
    )


def state_of(page: Page) -> str:
    """The title of the state that is shown, without its number."""
    number, title = page.locator("h2.rb-run-state").inner_text().split(". ", 1)
    assert number.isdigit()
    return title


def saved_log(page: Page, folder: Path) -> Path:
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Save the log as CSV").click()
    saved = folder / "log.csv"
    waiting.value.save_as(saved)
    return saved


def test_where_a_run_stands_is_worked_out_from_its_events(handbook: Handbook, visit: Callable[..., Visit]) -> None:
    page = visit(f"{handbook.address}/{RUN}", **TABLET).page
    start = '{at: 0, kind: "start", to: "a"}'
    assert at_second(page, f"[{start}]", 5) == ["a", {"pulse": 100, "breath": 10}, ["left", 60]]
    # A noted step holds off the omission of that step, so the next thing by itself is the timer.
    noted = f'[{start}, {{at: 4, kind: "move", id: "note"}}]'
    assert at_second(page, noted, 5)[2] == ["late", 90]
    # From 100 to 60 over 20 seconds from second 30: half way at second 40. What B does not name stays.
    gone = f'[{start}, {{at: 30, kind: "move", id: "go", to: "b"}}]'
    assert at_second(page, gone, 40) == ["b", {"pulse": 80, "breath": 10}, None]
    assert at_second(page, gone, 55)[1] == {"pulse": 60, "breath": 10}


def test_the_log_becomes_the_debrief(handbook: Handbook, visit: Callable[..., Visit]) -> None:
    page = visit(f"{handbook.address}/{RUN}", **TABLET).page
    events = """[{at: 0, kind: "start", to: "a"}, {at: 5, kind: "stop"}, {at: 5, kind: "go"},
      {at: 12, kind: "move", id: "go", to: "b"}]"""
    read = page.evaluate(f"() => rungbook.readLog({MACHINE}, {events})")
    assert [(time["took"], time["late"]) for time in read["times"]] == [(12, True), (None, False)]
    assert read["missed"] == ["Trim."]
    assert read["stops"] == 1


def test_a_whole_run_with_the_network_off(handbook: Handbook, visit: Callable[..., Visit], tmp_path: Path) -> None:
    opened = visit(f"{handbook.address}/{RUN}", before=stand_still, **TABLET)
    page = opened.page
    page.wait_for_load_state("networkidle")
    asked = len(opened.requests)
    page.context.set_offline(True)
    press = lambda name: page.get_by_role("button", name=name, exact=False).first.click()  # noqa: E731

    press("Start the clock")
    page.clock.run_for(20_000)
    assert page.locator(".rb-run-clock").inner_text() == "0:20"
    press("Gloves, eye protection")
    press("Rolled, and the tip is in")
    assert state_of(page) == "Mouth clear, not breathing enough"
    page.clock.run_for(15_000)
    # 78 percent at the start, 74 after 30 seconds: 76 half way.
    shown = page.locator(".rb-run-vitals div", has_text="SpO₂").locator("strong").inner_text()
    assert shown == "76"
    page.get_by_label("Tilt the head back").check()

    # Nobody breathes for him: at 75 seconds in this state it happens by itself.
    page.clock.run_for(61_000)
    assert state_of(page) == "Airway blocked"
    # Taken back, it does not happen again until the facilitator lets things happen.
    press("Take back the last")
    page.clock.run_for(5_000)
    assert state_of(page) == "Mouth clear, not breathing enough"
    assert page.locator(".rb-run-next").inner_text().startswith("Held back")

    # A stop holds the clock, whatever time passes.
    press("Stop, stop, stop")
    before = page.locator(".rb-run-clock").inner_text()
    page.clock.run_for(30_000)
    assert page.locator(".rb-run-clock").inner_text() == before
    press("Go on")
    press("First breath with chest rise")
    page.get_by_label("Note").fill("=formula, and a comma")
    press("Add to the log")
    press("Now: Vomit comes back")
    press("Mask off, rolled")
    press("Handover given")

    assert page.locator("h2.rb-run-state").inner_text() == "Handed over with a clear airway"
    assert "From arrival to the first suction: 0:20" in page.locator(".rb-run-times").inner_text()
    assert "Safety stops: 1" in page.locator(".rb-run-times").inner_text()
    missed = page.locator(".rb-run-missed").inner_text()
    assert "Tilt the head back" not in missed
    assert "Press the mask" in missed

    saved = saved_log(page, tmp_path)
    text = saved.read_bytes().decode()
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert [row["event"] for row in rows][:3] == ["start", "move", "move"]
    assert {"second", "clock", "event", "move", "state", "words"} == set(rows[0])
    assert next(row for row in rows if row["event"] == "note")["words"] == "'=formula, and a comma"
    assert next(row for row in rows if row["move"] == "first-suction")["second"] == "20"
    assert all(line.endswith("\r") for line in text.split("\n")[:-1])
    assert [url for url in opened.requests[asked:] if not url.startswith("blob:")] == []


def test_the_command_reads_from_the_saved_log_what_the_page_shows(
    handbook: Handbook, visit: Callable[..., Visit], tmp_path: Path
) -> None:
    """Whole seconds on both sides, also when buttons were pressed between two of them."""
    page = visit(f"{handbook.address}/{BUS_STOP}", before=stand_still, **TABLET).page
    press = lambda name: page.get_by_role("button", name=name, exact=False).first.click()  # noqa: E731
    press("Start the clock")
    for seconds, name in (
        (4_600, "First look and feel"),
        (11_700, "First push on the chest"),
        (20_300, "Stop, stop, stop"),
        (5_000, "Go on"),
        (9_400, "Both pads on, and the pushing"),
        (6_500, "Last push before the shock"),
        (7_900, "Button pressed, everyone clear"),
        (2_300, "First push after the shock"),
    ):
        page.clock.run_for(seconds)
        press(name)
    page.get_by_label("Let the chest come all the way up").check()
    page.clock.run_for(70_600)
    press("Compressors changed")
    press("Now: The waveform jumps")
    press("Summary said aloud")

    shown = page.locator(".rb-run-times li").all_inner_texts()
    missed = page.locator(".rb-run-missed li").all_inner_texts()
    curriculum, _ = read_curriculum(TOP / "curriculum")
    assert curriculum is not None
    scenario = curriculum.scenarios["down-at-the-bus-stop"]
    events, problems = read_run_log(saved_log(page, tmp_path), scenario)
    assert problems == ()
    log = read_log(curriculum, scenario, events)
    assert [f"{took.target.name}: {took_said(curriculum, took)}" for took in log.times] == shown[:-1]
    assert shown[-1] == f"Safety stops: {len(log.stops)}"
    assert [fill(one.step.do, curriculum.quantities) for one in log.missed] == missed
    assert any(took.is_outside for took in log.times) and len(log.stops) == 1
    assert "Let the chest come all the way up after each push." not in missed


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("device", [TABLET, PHONE])
def test_a_run_under_way_is_accessible_and_never_scrolls_sideways(
    handbook: Handbook, visit: Callable[..., Visit], device: dict[str, Any], scheme: str
) -> None:
    page = visit(f"{handbook.address}/{BUS_STOP}", color_scheme=scheme, reduced_motion="reduce", **device).page

    def judge() -> None:
        assert page.evaluate("document.scrollingElement.scrollWidth") == device["viewport"]["width"]
        found = Axe().run(page, options={"resultTypes": ["violations"]})
        assert found.response["passes"], "axe did not run"
        assert found.violations_count == 0, found.generate_report()

    press = lambda name: page.get_by_role("button", name=name, exact=False).first.click()  # noqa: E731
    press("Start the clock")
    judge()
    # A vital sign that no state has named yet has no tile.
    assert page.locator(".rb-run-vitals dt:visible").all_inner_texts() == ["RR"]
    press("First push on the chest")
    press("Stop, stop, stop")
    judge()
    press("Go on")
    small = page.evaluate(
        """() => [...document.querySelectorAll(".rb-run button, .rb-run .rb-run-choice")]
          .filter(node => node.getBoundingClientRect().height < 48).map(node => node.textContent)"""
    )
    assert small == []  # a gloved hand on a tablet: ours, above the 24 CSS pixels of WCAG 2.2, SC 2.5.8
    press("End here")
    judge()


def test_a_run_survives_a_reload(handbook: Handbook, visit: Callable[..., Visit]) -> None:
    page = visit(f"{handbook.address}/{RUN}", before=stand_still, **TABLET).page
    page.get_by_role("button", name="Start the clock").click()
    page.clock.run_for(10_000)
    page.get_by_role("button", name="Rolled, and the tip is in").click()
    page.reload()
    assert state_of(page) == "Mouth clear, not breathing enough"
    page.clock.run_for(5_000)
    # The clock that is fed by hand runs on by itself too, so a slow machine may be a second further.
    assert page.locator(".rb-run-clock").inner_text() in ("0:15", "0:16")


def test_a_variant_shows_its_seed_and_its_own_numbers(handbook: Handbook, visit: Callable[..., Visit]) -> None:
    page = visit(f"{handbook.address}/{RUN}", **TABLET).page
    written = page.locator(".rb-run-numbers").inner_text()
    page.get_by_label("Variant").select_option(index=3)
    assert "Seed 3" in page.get_by_label("Variant").evaluate("select => select.selectedOptions[0].textContent")
    assert page.locator(".rb-run-numbers").inner_text() != written
    assert "Predicted body weight" in page.locator(".rb-run-numbers").inner_text()
