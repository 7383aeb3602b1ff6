"""The practice checklist keeps ticks on this device, and its rows are what any reader of CSV reads back.

The rows are judged by Python's own csv module in strict mode and by RFC 4180, section 2 (comma, quotes doubled, every
row ended by CR LF). Text that a spreadsheet would run as a formula is the list of OWASP, "CSV Injection": = + - @, tab
and carriage return, and the full-width forms of the first four.
"""

from __future__ import annotations

import csv
import io
import random
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from browser_helpers import DESKTOP, PHONE
from playwright.sync_api import Page, expect

from generator.analysis.readiness.history import natural

pytestmark = pytest.mark.browser

COLUMNS = [
    "date",
    "learner",
    "skill",
    "rung",
    "trainer",
    "evaluator",
    "role",
    "team_role",
    "attempt",
    "revision",
    "missed",
    "unseen",
    "note",
]
SHEET = "practice-1a2b3c4d.html"
NEW_SHEET = "practice-5e6f7a8b.html"


def tick(page: Page, step: str) -> Any:
    return page.locator(f"input[name={step}]")


def rows_of(text: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text, newline=""), strict=True))


def fill_in(page: Page, **values: str) -> None:
    given = {"learner": "L07", "date": "2026-11-02", "rung": "perform", "evaluator": "E3", "role": "peer"} | values
    page.get_by_role("button", name="Save this attempt as CSV").click()
    page.get_by_label("Learner code").fill(given["learner"])
    page.get_by_label("Date of the attempt").fill(given["date"])
    page.get_by_label("Rung").select_option(given["rung"])
    page.get_by_label("Evaluator code").fill(given["evaluator"])
    page.get_by_label("Evaluator is a").select_option(given["role"])
    page.get_by_label("Team role of the learner").select_option(given.get("team_role", "bag"))
    if "note" in given:
        page.get_by_label("Note").fill(given["note"])


def saved(page: Page) -> tuple[str, bytes]:
    with page.expect_download() as download:
        page.get_by_role("button", name="Save as a CSV file").click()
    return download.value.suggested_filename, Path(download.value.path()).read_bytes()


def test_ticks_survive_a_reload(visit: Any, small_site: str) -> None:
    page = visit(small_site + SHEET).page
    page.get_by_text("Squeeze the bag until").click()
    tick(page, "watch").check()
    page.reload()
    assert [tick(page, step).is_checked() for step in ("seal", "squeeze", "release", "watch")] == [
        False,
        True,
        False,
        True,
    ]
    tick(page, "watch").uncheck()
    page.reload()
    expect(tick(page, "watch")).not_to_be_checked()


def test_ticks_belong_to_one_skill_and_one_revision(visit: Any, small_site: str) -> None:
    page = visit(small_site + SHEET).page
    tick(page, "seal").check()
    page.goto(f"{small_site}other.html")
    expect(tick(page, "seal")).not_to_be_checked()
    expect(page.locator(".rb-practice-notice")).to_have_count(0)
    page.goto(small_site + NEW_SHEET)
    expect(tick(page, "seal")).not_to_be_checked()
    expect(page.locator(".rb-practice-progress")).to_have_text("0 of 4 steps, 2 critical left")
    notice = page.locator(".rb-practice-notice")
    expect(notice).to_contain_text("The sheet has changed: this is revision 5e6f7a8b.")
    notice.get_by_role("button", name="Forget the old ticks").click()
    page.reload()
    expect(notice).to_have_count(0)
    page.goto(small_site + SHEET)
    expect(tick(page, "seal")).not_to_be_checked()


def test_progress_counts_steps_and_critical_ones(visit: Any, small_site: str) -> None:
    page = visit(small_site + SHEET).page
    progress = page.locator(".rb-practice-progress")
    expect(progress).to_have_text("0 of 4 steps, 2 critical left")
    tick(page, "seal").check()
    tick(page, "watch").check()
    expect(progress).to_have_text("2 of 4 steps, 1 critical left")
    tick(page, "squeeze").check()
    expect(progress).to_have_text("3 of 4 steps, no critical step left")
    plain = page.evaluate("() => rungbook.progressText([{ticked: true}, {ticked: false}])")
    assert plain == "1 of 2 steps"


def test_clearing_asks_first_and_can_be_refused(visit: Any, small_site: str) -> None:
    page = visit(small_site + SHEET).page
    clear = page.get_by_role("button", name="Clear all ticks")
    expect(clear).to_be_disabled()
    tick(page, "seal").check()
    tick(page, "squeeze").check()
    for way_back in ("button", "Escape"):
        clear.click()
        expect(page.get_by_role("button", name="Keep them")).to_be_focused()
        if way_back == "button":
            page.get_by_role("button", name="Keep them").click()
        else:
            page.keyboard.press("Escape")
        expect(clear).to_be_focused()
        expect(tick(page, "seal")).to_be_checked()
    clear.click()
    page.get_by_role("button", name="Clear 2 ticks").click()
    page.reload()
    for step in ("seal", "squeeze"):
        expect(tick(page, step)).not_to_be_checked()
    assert page.evaluate("() => localStorage.length") == 0


def test_ticks_of_an_earlier_day_are_pointed_out(visit: Any, small_site: str) -> None:
    page = visit(small_site + SHEET).page
    page.evaluate("() => localStorage.setItem('rungbook/ticks/mask-breath/1a2b3c4d/seal', '2026-01-05')")
    page.reload()
    expect(tick(page, "seal")).to_be_checked()
    expect(page.locator(".rb-practice-notice")).to_contain_text("Some ticks here were made on 2026-01-05.")


def test_a_saved_attempt_is_one_row_of_the_attempts_format(visit: Any, small_site: str) -> None:
    page = visit(small_site + SHEET).page
    tick(page, "seal").check()
    fill_in(page, note='said "slow", then sped up, badly')
    page.get_by_label("Not seen: Watch the chest fall").check()
    name, content = saved(page)
    header, row = rows_of(content.decode("utf-8"))
    assert header == COLUMNS
    fields = dict(zip(header, row, strict=True))
    attempt = fields.pop("attempt")
    assert re.fullmatch(r"a\d{13}-[0-9a-f]{10}", attempt)
    assert fields == {
        "date": "2026-11-02",
        "learner": "L07",
        "skill": "mask-breath",
        "rung": "perform",
        "trainer": "whole-body",
        "evaluator": "E3",
        "role": "peer",
        "team_role": "bag",
        "revision": "1a2b3c4d",
        "missed": "squeeze release",
        "unseen": "watch",
        "note": 'said "slow", then sped up, badly',
    }
    assert content.count(b"\r\n") == content.count(b"\n") == 2
    assert content.endswith(b"\r\n")
    assert name == f"attempt-mask-breath-2026-11-02-{attempt}.csv"


def test_steps_that_the_rung_does_not_practise_are_not_missed(visit: Any, small_site: str) -> None:
    page = visit(small_site + SHEET).page
    tick(page, "seal").check()
    fill_in(page, rung="isolate")
    header, row = rows_of(saved(page)[1].decode())
    fields = dict(zip(header, row, strict=True))
    assert (fields["trainer"], fields["missed"], fields["unseen"]) == ("half-torso", "squeeze", "")


def test_an_attempt_keeps_its_id_until_the_ticks_are_cleared(visit: Any, small_site: str) -> None:
    page = visit(small_site + SHEET).page
    ids = []
    for clears in (False, True, False):
        tick(page, "seal").check()
        fill_in(page)
        ids.append(rows_of(saved(page)[1].decode())[1][COLUMNS.index("attempt")])
        if clears:
            page.get_by_role("button", name="Clear all ticks").click()
            page.get_by_role("button", name="Clear 1 tick").click()
    assert ids[0] == ids[1] != ids[2]
    # Attempts of one day are taken in the order of their ids.
    assert sorted(ids, key=natural) == ids


def test_codes_are_asked_for_at_export_and_never_kept(visit: Any, small_site: str) -> None:
    page = visit(small_site + SHEET).page
    tick(page, "seal").check()
    expect(page.get_by_label("Learner code")).to_be_hidden()
    fill_in(page, learner="SECRETLEARNER", evaluator="SECRETWATCHER", note="SECRETNOTE")
    assert b"SECRETLEARNER" in saved(page)[1]
    kept = page.evaluate(
        """async () => JSON.stringify([
          Object.entries(localStorage), Object.entries(sessionStorage), document.cookie, location.href, history.state,
          (await indexedDB.databases()).map(each => each.name), await caches.keys(),
          [...document.querySelectorAll("input, select, textarea")].map(each => each.value),
        ])"""
    )
    assert "SECRET" not in kept
    assert "rungbook/ticks/mask-breath/1a2b3c4d/seal" in kept
    page.get_by_role("button", name="Save this attempt as CSV").click()
    page.get_by_label("Learner code").fill("SECRETLEARNER")
    page.reload()
    assert "SECRET" not in page.evaluate(
        "() => JSON.stringify([{...localStorage}, [...document.querySelectorAll('input')].map(i => i.value)])"
    )


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [
        ("Learner code", "", "The row needs this."),
        ("Learner code", "Two Words", "Use letters and digits, no blanks: a code, not a name."),
        ("Evaluator code", "=cmd", "Use letters and digits, no blanks: a code, not a name."),
        ("Date of the attempt", "", "The row needs this."),
    ],
)
def test_a_row_that_would_be_set_aside_is_not_saved(
    visit: Any, small_site: str, field: str, value: str, says: str
) -> None:
    page = visit(small_site + SHEET).page
    fill_in(page)
    page.get_by_label(field).fill(value)
    page.get_by_role("button", name="Save as a CSV file").click()
    expect(page.locator(".rb-practice-error")).to_have_text(says)
    expect(page.get_by_label(field)).to_be_focused()
    expect(page.get_by_label(field)).to_have_accessible_description(says)
    expect(page.get_by_label(field)).to_have_attribute("aria-invalid", "true")
    page.get_by_label(field).fill("2026-11-03" if "Date" in field else "X1")
    expect(page.locator(".rb-practice-error")).to_have_count(0)
    assert len(rows_of(saved(page)[1].decode())) == 2


def test_a_page_without_a_ladder_still_exports(visit: Any, small_site: str) -> None:
    page = visit(f"{small_site}plain.html").page
    page.get_by_role("button", name="Save this attempt as CSV").click()
    for label, text in (("Learner code", "L1"), ("Rung", "combine"), ("Trainer", "-torso"), ("Evaluator code", "E1")):
        page.get_by_label(label).fill(text)
    page.get_by_label("Evaluator is a").select_option("instructor")
    header, row = rows_of(saved(page)[1].decode())
    fields = dict(zip(header, row, strict=True))
    assert (fields["rung"], fields["trainer"], fields["role"]) == ("combine", "'-torso", "instructor")
    assert fields["missed"] == "seal squeeze release watch"


def test_the_row_can_be_copied_without_its_header(visit: Any, small_site: str) -> None:
    page = visit(small_site + SHEET, permissions=["clipboard-read", "clipboard-write"]).page
    fill_in(page)
    page.get_by_role("button", name="Copy the row without its header").click()
    expect(page.locator(".rb-practice-said")).to_contain_text("The row is copied.")
    (row,) = rows_of(page.evaluate("() => navigator.clipboard.readText()"))
    assert len(row) == len(COLUMNS)
    assert row[1] == "L07"


def test_any_text_comes_back_from_the_row_and_none_is_a_formula(visit: Any, small_site: str) -> None:
    page = visit(small_site + SHEET).page
    dice = random.Random(20261125)
    alphabet = [*"ab\"',;=+-@|\t\r\n\\ ＝＋－＠é漢 \u200f\u2028", "\r\n", "=1+1", "'=", "@SUM(A1)", '""', "\U0001f9ea"]
    attempts = [
        {column: "".join(dice.choices(alphabet, k=dice.randrange(8))) for column in COLUMNS} for _ in range(400)
    ]
    text = page.evaluate("attempts => rungbook.attemptsCsv(attempts)", attempts)
    header, *rows = rows_of(text)
    assert header == COLUMNS
    assert len(rows) == len(attempts)
    for attempt, row in zip(attempts, rows, strict=True):
        for column, cell in zip(COLUMNS, row, strict=True):
            # What JavaScript's trim takes off is more than Python's strip does.
            plain = attempt[column].strip(" \t\r\n\u2028\ufeff")
            assert cell == (f"'{plain}" if plain[:1] in tuple("=+-@＝＋－＠") else plain)
            assert cell[:1] not in tuple("=+-@\t\r＝＋－＠")


def test_rfc_4180_examples(visit: Any, small_site: str) -> None:
    """RFC 4180, section 2, rules 6 and 7: a quoted line break, a comma, and a doubled quote."""
    page = visit(small_site + SHEET).page
    attempt = {"date": "aaa", "learner": "b\r\nbb", "skill": "c,cc", "rung": 'b"bb'}
    text = page.evaluate("attempt => rungbook.attemptsCsv([attempt], false)", attempt)
    assert text == 'aaa,"b\r\nbb","c,cc","b""bb",,,,,,,,,\r\n'


BLOCKED = """
Object.defineProperty(window, "localStorage", {get() { throw new DOMException("no", "SecurityError"); }});
"""
FULL = """
const real = Storage.prototype.setItem;
Storage.prototype.setItem = function (key, value) {
  if (key !== "rungbook/probe") throw new DOMException("full", "QuotaExceededError");
  return real.call(this, key, value);
};
"""


@pytest.mark.parametrize("trouble", [BLOCKED, FULL], ids=["blocked", "full"])
def test_without_storage_it_works_and_says_that_ticks_are_not_kept(visit: Any, small_site: str, trouble: str) -> None:
    page = visit(small_site + SHEET, before=lambda page: page.add_init_script(trouble)).page
    tick(page, "seal").check()
    expect(page.locator(".rb-practice-progress")).to_have_text("1 of 4 steps, 1 critical left")
    expect(page.locator(".rb-practice-notice")).to_contain_text("does not let the page keep ticks")
    fill_in(page)
    assert rows_of(saved(page)[1].decode())[1][COLUMNS.index("missed")] == "squeeze release watch"


def test_two_open_pages_agree(visit: Any, small_site: str) -> None:
    first = visit(small_site + SHEET).page
    second = first.context.new_page()
    second.goto(small_site + SHEET)
    tick(second, "seal").check()
    expect(tick(first, "seal")).to_be_checked()


def tab_until(page: Page, here: Callable[[], bool], most: int = 60) -> None:
    for _ in range(most):
        page.keyboard.press("Tab")
        if here():
            return
    raise AssertionError("the keyboard does not reach it")


def focused_text(page: Page) -> str:
    text: str = page.evaluate("() => document.activeElement.textContent.trim()")
    return text


def test_keyboard_alone_ticks_clears_and_exports(visit: Any, small_site: str) -> None:
    page = visit(small_site + SHEET).page
    page.keyboard.press("Tab")
    expect(tick(page, "seal")).to_be_focused()
    outline = "() => getComputedStyle(document.activeElement.parentElement.querySelector('.rb-tick-box')).outlineStyle"
    assert page.evaluate(outline) == "solid"
    page.keyboard.press("Space")
    expect(tick(page, "seal")).to_be_checked()
    tab_until(page, lambda: focused_text(page) == "Save this attempt as CSV")
    page.keyboard.press("Enter")
    expect(page.get_by_label("Learner code")).to_be_focused()
    page.keyboard.type("L9")
    tab_until(page, lambda: page.evaluate("() => document.activeElement.tagName") == "SELECT")
    page.keyboard.type("Perform")
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    page.keyboard.type("E9")
    page.keyboard.press("Tab")
    page.keyboard.type("Peer")
    page.keyboard.press("Tab")
    page.keyboard.type("Bag")
    with page.expect_download() as download:
        tab_until(page, lambda: focused_text(page) == "Save as a CSV file")
        page.keyboard.press("Space")
    row = rows_of(Path(download.value.path()).read_bytes().decode("utf-8"))[1]
    assert row[1:8] == ["L9", "mask-breath", "perform", "whole-body", "E9", "peer", "bag"]
    expect(page.get_by_role("button", name="Save this attempt as CSV")).to_be_focused()
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.keyboard.press("Shift+Tab")
    assert focused_text(page) == "Clear 1 tick"
    page.keyboard.press("Enter")
    expect(tick(page, "seal")).not_to_be_checked()
    expect(tick(page, "seal")).to_be_focused()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_an_unticked_step_is_a_real_empty_square(visit: Any, small_site: str, scheme: str) -> None:
    page = visit(small_site + SHEET, color_scheme=scheme, **DESKTOP).page
    tick(page, "seal").check()
    look = page.evaluate(
        """() => ["seal", "squeeze"].map(name => {
          const box = document.querySelector(`input[name=${name}] ~ .rb-tick-box`);
          const {width, height} = box.getBoundingClientRect();
          const style = getComputedStyle(box);
          return [width, height, style.borderTopWidth, style.backgroundColor === getComputedStyle(document.body)
            .backgroundColor, getComputedStyle(box, "::after").content !== "none"];
        })"""
    )
    assert look == [[28, 28, "3px", True, True], [28, 28, "3px", True, False]]


def test_rows_and_buttons_are_big_enough_to_touch(visit: Any, small_site: str) -> None:
    page = visit(small_site + SHEET, **PHONE).page
    tick(page, "seal").check()
    page.get_by_role("button", name="Clear all ticks").click()
    page.get_by_role("button", name="Save this attempt as CSV").click()
    touched = page.locator(
        ".rb-tick:visible, .rb-practice button:visible, .rb-practice-field :is(input, select):visible, "
        ".rb-practice-unseen:visible"
    ).all()
    assert len(touched) >= 16
    for target in touched:
        box = target.bounding_box()
        assert box is not None
        assert box["height"] >= 48, target
    assert page.evaluate("() => document.documentElement.scrollWidth") <= 390


def test_on_paper_the_squares_are_empty_and_the_buttons_gone(visit: Any, small_site: str) -> None:
    page = visit(small_site + SHEET).page
    tick(page, "seal").check()
    page.emulate_media(media="print")
    after = "() => getComputedStyle(document.querySelector('input:checked ~ .rb-tick-box'), '::after').display"
    assert page.evaluate(after) == "none"
    expect(page.get_by_text("Seal the mask with both hands.")).to_be_visible()
    expect(page.locator(".rb-practice button:visible")).to_have_count(0)
    expect(page.locator(".rb-practice-progress")).to_be_hidden()
