"""The pacer keeps time, obeys touch and keyboard, and does not chatter to a screen reader.

Cadence against published figures: one breath every 6 seconds is 10 a minute (AHA 2020 and 2025, adult in cardiac or
respiratory arrest with a pulse); one every 2 to 3 seconds is 20 to 30 a minute (AHA 2020, infant and child).
"""

from __future__ import annotations

import statistics
from itertools import pairwise
from typing import Any

import pytest
from browser_helpers import PHONE
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser

WORDS = ["squeeze", "two", "three", "four", "five", "six"]

RECORD = """id => {
  const word = document.querySelector(`#${id} .rb-pacer-word`);
  const tally = document.querySelector(`#${id} .rb-pacer-tally`);
  window.seen = [];
  new MutationObserver(() => window.seen.push([performance.now(), word.textContent, parseInt(tally.textContent)]))
    .observe(word, {childList: true, characterData: true, subtree: true});
}"""


def button(page: Page, id: str) -> Any:
    return page.locator(f"#pacer-{id} button")


def beat_at(page: Page, elapsed: float, interval: float, words: list[str]) -> dict[str, Any]:
    result: dict[str, Any] = page.evaluate(
        "([elapsed, interval, words]) => rungbook.beatAt(elapsed, interval, words)", [elapsed, interval, words]
    )
    return result


@pytest.mark.parametrize(
    ("elapsed", "interval", "word"),
    [
        (0, 0, "squeeze"),
        (999.999, 0, "squeeze"),
        (1000, 0, "two"),
        (5999, 0, "six"),
        (6000, 1, "squeeze"),
        (3_599_000, 599, "six"),
        (3_600_000, 600, "squeeze"),
        (-5, 0, "squeeze"),
    ],
)
def test_words_fall_evenly_with_the_first_on_the_action(
    visit: Any, small_site: str, elapsed: float, interval: int, word: str
) -> None:
    page = visit(f"{small_site}pacer.html").page
    beat = beat_at(page, elapsed, 6000, WORDS)
    assert (beat["interval"], beat["word"]) == (interval, word)


@pytest.mark.parametrize(
    ("interval_ms", "low", "high"), [(6000, 10, 10), (3000, 20, 20), (2000, 30, 30), (600, 100, 100), (500, 120, 120)]
)
def test_actions_a_minute_match_the_published_rates(
    visit: Any, small_site: str, interval_ms: int, low: int, high: int
) -> None:
    page = visit(f"{small_site}pacer.html").page
    actions = page.evaluate(
        """interval => {
          const seen = new Set();
          for (let t = 0; t < 60000; t += 10) seen.add(rungbook.beatAt(t, interval, ["a", "b"]).interval);
          return seen.size;
        }""",
        interval_ms,
    )
    assert low <= actions <= high


def test_each_beat_ends_where_the_next_one_starts_for_odd_intervals(visit: Any, small_site: str) -> None:
    page = visit(f"{small_site}pacer.html").page
    slips = page.evaluate(
        """() => {
          const slips = [];
          for (const interval of [100 / 3, 545.4545, 600, 1234.5, 6000, 10007])
            for (const count of [0, 1, 2, 3, 6, 7]) {
              const words = Array.from({length: count}, (_, n) => `w${n}`);
              let beat = rungbook.beatAt(0, interval, words);
              for (let step = 1; step < 3000; step += 1) {
                const next = rungbook.beatAt(beat.endsAt, interval, words);
                if (next.beat !== beat.beat + 1 || next.startsAt !== beat.endsAt) slips.push([interval, count, step]);
                beat = next;
              }
            }
          return slips;
        }"""
    )
    assert slips == []


@pytest.mark.parametrize("interval", ["0", "-1", "NaN", "Infinity"])
def test_an_impossible_interval_is_refused(visit: Any, small_site: str, interval: str) -> None:
    page = visit(f"{small_site}pacer.html").page
    name = page.evaluate(f"() => {{ try {{ rungbook.beatAt(0, {interval}, []) }} catch (e) {{ return e.name }} }}")
    assert name == "RangeError"


def test_a_pacer_without_a_pace_stays_readable_text(visit: Any, small_site: str) -> None:
    page = visit(f"{small_site}pacer.html").page
    expect(page.locator("#pacer-broken")).to_have_text("Pace: no pace. one")
    expect(button(page, "broken")).to_have_count(0)


def test_it_does_not_drift_over_ten_intervals_on_a_busy_page(visit: Any, small_site: str) -> None:
    page = visit(f"{small_site}pacer.html").page
    page.evaluate(RECORD, "pacer-quick")
    # Blocks of work longer than a frame, as a slow phone has: a timer set from the beat before would fall behind.
    page.evaluate(
        "() => { setInterval(() => { const end = performance.now() + 25; while (performance.now() < end); }, 60) }"
    )
    button(page, "quick").click()
    page.wait_for_function("() => window.seen.at(-1)?.[2] > 11", timeout=15_000)
    # Each action carries its number, for a machine that stalls may leave a beat out.
    actions = [(moment, number) for moment, word, number in page.evaluate("() => window.seen") if word == "one"]
    late = [moment - actions[0][0] - (number - 1) * 300 for moment, number in actions]
    assert actions[-1][1] >= 11
    assert abs(statistics.median(late[-5:])) < 50, late


def test_a_minute_at_six_seconds_counts_ten_breaths(visit: Any, small_site: str) -> None:
    page = visit(f"{small_site}pacer.html", before=lambda page: page.clock.install()).page
    page.evaluate(RECORD, "pacer-breath")
    button(page, "breath").click()
    page.clock.run_for(59_500)
    words = [word for _, word, _ in page.evaluate("() => window.seen")]
    assert words == WORDS * 10
    expect(page.locator("#pacer-breath .is-now")).to_have_text("six")


def test_it_starts_and_stops_by_keyboard_alone(visit: Any, small_site: str) -> None:
    page = visit(f"{small_site}pacer.html").page
    start = button(page, "breath")
    page.keyboard.press("Tab")
    expect(start).to_be_focused()
    for key in ("Space", "Enter"):
        page.keyboard.press(key)
        expect(start).to_have_attribute("aria-pressed", "true")
        expect(page.locator("#pacer-breath .rb-pacer-word")).to_have_text("squeeze")
        page.keyboard.press(key)
        expect(start).to_have_attribute("aria-pressed", "false")
    page.keyboard.press("Enter")
    page.keyboard.press("Escape")
    expect(start).to_have_attribute("aria-pressed", "false")
    expect(page.locator("#pacer-breath .rb-pacer-face")).to_be_hidden()
    expect(start).to_be_focused()


def test_it_starts_and_stops_by_touch_with_big_enough_targets(visit: Any, small_site: str) -> None:
    page = visit(f"{small_site}pacer.html", **PHONE).page
    start = button(page, "breath")
    for target in (start, *page.locator("#pacer-breath label:visible").all()):
        box = target.bounding_box()
        assert box is not None
        assert min(box["width"], box["height"]) >= 48
    start.tap()
    expect(start).to_have_attribute("aria-pressed", "true")
    start.tap()
    expect(start).to_have_attribute("aria-pressed", "false")


def test_only_one_pacer_runs_at_a_time(visit: Any, small_site: str) -> None:
    page = visit(f"{small_site}pacer.html").page
    button(page, "breath").click()
    button(page, "quick").click()
    expect(button(page, "breath")).to_have_attribute("aria-pressed", "false")
    expect(button(page, "quick")).to_have_attribute("aria-pressed", "true")
    expect(page.locator(".rb-pacer.is-running")).to_have_count(1)


def test_leaving_the_page_stops_it(visit: Any, small_site: str) -> None:
    page = visit(f"{small_site}pacer.html").page
    button(page, "breath").click()
    page.evaluate(
        """() => {
          Object.defineProperty(document, "hidden", {value: true, configurable: true});
          document.dispatchEvent(new Event("visibilitychange"));
        }"""
    )
    expect(button(page, "breath")).to_have_attribute("aria-pressed", "false")
    expect(page.locator("#pacer-breath [role=status]")).to_have_text("Stopped, because the page was left.")


def test_a_pacer_taken_out_of_the_page_stops(visit: Any, small_site: str) -> None:
    page = visit(f"{small_site}pacer.html").page
    page.evaluate(RECORD, "pacer-quick")
    button(page, "quick").click()
    page.evaluate("() => { window.gone = document.querySelector('#pacer-quick'); gone.remove(); }")
    page.wait_for_timeout(250)
    assert not page.evaluate("() => gone.classList.contains('is-running')")


def test_a_screen_reader_hears_the_start_and_the_stop_but_no_beat(visit: Any, small_site: str) -> None:
    page = visit(f"{small_site}pacer.html").page
    status = page.locator("#pacer-quick [role=status]")
    page.evaluate(
        """() => {
          window.told = [];
          const area = document.querySelector("#pacer-quick [role=status]");
          new MutationObserver(() => told.push(area.textContent)).observe(area, {childList: true, characterData: true});
        }"""
    )
    button(page, "quick").click()
    page.wait_for_timeout(900)
    button(page, "quick").click()
    expect(status).to_contain_text("Stopped. Counted")
    told = page.evaluate("() => told")
    assert len(told) == 2
    assert told[0].startswith("Started.")
    assert page.locator("#pacer-quick [role=status]").evaluate("node => !node.closest('[aria-hidden=true]')")
    for part in (".rb-pacer-word", ".rb-pacer-words", ".rb-pacer-tally"):
        hidden = page.locator(f"#pacer-quick {part}").evaluate("node => !!node.closest('[aria-hidden=true]')")
        assert hidden, part
    name = page.get_by_role("button", name="Start or stop the pacer: 1 squeeze every 0.3 seconds")
    expect(name).to_have_count(1)


def test_reduced_motion_changes_the_word_without_any_animation(visit: Any, small_site: str) -> None:
    moving = visit(f"{small_site}pacer.html", reduced_motion="no-preference").page
    still = visit(f"{small_site}pacer.html", reduced_motion="reduce").page
    for page in (moving, still):
        button(page, "quick").click()
        page.wait_for_function("() => document.querySelector('#pacer-quick .rb-pacer-word').textContent === 'two'")
    assert moving.evaluate("() => document.getAnimations().length") == 1
    assert still.evaluate("() => document.getAnimations().length") == 0


SPY = """
window.clicks = []; window.buzzes = [];
const start = OscillatorNode.prototype.start;
OscillatorNode.prototype.start = function (at) { clicks.push(at); return start.call(this, at); };
Object.defineProperty(Navigator.prototype, "vibrate", {value: ms => { buzzes.push(ms); return true; }});
"""


def test_sound_and_vibration_are_off_until_asked_for(visit: Any, small_site: str) -> None:
    page = visit(f"{small_site}pacer.html", before=lambda page: page.add_init_script(SPY), **PHONE).page
    pacer = page.locator("#pacer-quick")
    expect(pacer.get_by_label("Sound")).not_to_be_checked()
    expect(pacer.get_by_label("Vibration")).not_to_be_checked()
    button(page, "quick").tap()
    page.wait_for_timeout(700)
    button(page, "quick").tap()
    assert page.evaluate("() => [clicks.length, buzzes.length]") == [0, 0]
    pacer.get_by_label("Sound").check()
    pacer.get_by_label("Vibration").check()
    button(page, "quick").tap()
    page.wait_for_timeout(1000)
    button(page, "quick").tap()
    clicks, buzzes = page.evaluate("() => [clicks, buzzes]")
    assert len(clicks) >= 4
    assert all(0.07 < later - earlier < 0.13 for earlier, later in pairwise(clicks[1:])), clicks
    assert 180 in buzzes
    assert 50 in buzzes
    assert buzzes[-1] == 0


@pytest.mark.parametrize("taken", ["delete Navigator.prototype.vibrate", "0"])
def test_vibration_is_not_offered_where_it_cannot_work(visit: Any, small_site: str, taken: str) -> None:
    # A desktop browser has the function but nothing that shakes; some phones do not have the function.
    options = PHONE if taken != "0" else {}
    page = visit(f"{small_site}pacer.html", before=lambda page: page.add_init_script(taken), **options).page
    expect(page.locator("#pacer-quick").get_by_label("Sound")).to_be_visible()
    expect(page.locator("#pacer-quick").get_by_label("Vibration")).to_be_hidden()


def test_a_pace_without_words_shows_which_action_it_is(visit: Any, small_site: str) -> None:
    page = visit(f"{small_site}pacer.html").page
    page.evaluate(RECORD, "pacer-bare")
    button(page, "bare").click()
    page.wait_for_function("() => window.seen.length >= 3")
    assert [word for _, word, _ in page.evaluate("() => window.seen")][:3] == ["1", "2", "3"]


def test_on_paper_the_words_stay_and_the_buttons_go(visit: Any, small_site: str) -> None:
    page = visit(f"{small_site}pacer.html").page
    page.emulate_media(media="print")
    expect(
        page.get_by_text("Pace: 1 breath every 6 seconds. squeeze · two · three · four · five · six")
    ).to_be_visible()
    expect(page.locator("#pacer-breath .rb-pacer-face")).to_be_hidden()
    expect(button(page, "breath")).to_be_hidden()
