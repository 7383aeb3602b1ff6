"""The rules that turn attempts into a status: one small history worked out by hand for each, then properties of all.

The rules are our own design (stated in `analysis/readiness/status.py`); they have no outside source. Statistics inside
are held to published values in `outside/`.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_labs import curriculum, lab, skill, station, step, trainer

from generator.analysis.readiness import Readiness, Standing, Status, readiness_of
from generator.analysis.readiness.history import natural
from generator.analysis.statistics.result import Interval
from generator.model import Clearance, Curriculum, RungPlan, Skill
from generator.model.attempt import Attempt
from generator.model.skill import PassRule

DAY = date(2027, 3, 1)


def plan(rung: str, trainer: str, count: int, by: str = "peer", steps: str = "") -> RungPlan:
    rule = PassRule(clean_in_a_row=count, scored_by=by)  # type: ignore[arg-type]
    return RungPlan(rung=rung, trainer=trainer, aim="Aim.", steps=tuple(steps.split()), pass_rule=rule)


def seal_skill(**clearance: Any) -> Skill:
    """Two rungs to pass, then 3 checks on 2 days within 60, valid for 6 months; two clean attempts after a fail."""
    rule = {"rung": "perform", "clean_in_a_row": 3, "different_days": 2, "within_days": 60, "valid_months": 6}
    return skill(
        "seal", step("tilt", "tilt"), step("press", "press"), step("talk", critical=False),
        ladder=(plan("isolate", "head", 2), plan("combine", "torso", 2), plan("perform", "body", 2, "instructor")),
    ).model_copy(update={"clearance": Clearance(**(rule | {"after_a_fail": "Practise."} | clearance))})  # fmt: skip


def course(*skills: Skill, **clearance: Any) -> Curriculum:
    return curriculum(
        trainer("head", "tilt:earned press:silent"), trainer("torso", "tilt:earned press:earned"),
        trainer("body", "tilt:earned press:earned"), trainer("liar", "tilt:given press:earned"),
        *(skills or (seal_skill(**clearance),)),
    )  # fmt: skip


PLACES = {"i": ("isolate", "head"), "c": ("combine", "torso"), "p": ("perform", "body"), "l": ("isolate", "liar"),
          "x": ("perform", "liar")}  # fmt: skip


def attempts(*days: str, learner: str = "L1", skill: str = "seal") -> list[Attempt]:
    """Attempts from words such as `0:i+ i+ I-`: a day, then one word an attempt.

    A letter is a place (`i`solate, `c`ombine, `p`erform, `l` and `x` the liar on the first and last rung), a capital
    an instructor; then `+` is clean, `-` a critical step missed, `~` another step missed, `?` a critical one not seen.
    """
    found = []
    for text in days:
        day, _, words = text.partition(":")
        for number, word in enumerate(words.split()):
            rung, trainer = PLACES[word[0].lower()]
            on = DAY + timedelta(days=int(day))
            marks = {"+": {}, "-": {"missed": ("tilt",), "failing": ("tilt",)}, "~": {"missed": ("talk",)},
                     "?": {"unseen": ("tilt",)}}[word[1]]  # fmt: skip
            found.append(
                Attempt(
                    line=len(found) + 2, on=on, learner=learner, skill=skill, rung=rung, trainer=trainer,
                    evaluator="E1", role="instructor" if word[0].isupper() else "peer", team_role="",
                    attempt=f"{learner}-{day}-{number}", revision="", **marks,  # type: ignore[arg-type]
                )
            )  # fmt: skip
    return found


def standing(*days: str, on: int = 0, **clearance: Any) -> Standing:
    found = readiness_of(course(**clearance), attempts(*days), on=DAY + timedelta(days=on))
    return found.standing("L1", "seal")


PASSED = "0:i+ i+ c+ c+"


@pytest.mark.parametrize(
    ("days", "on", "status"),
    [
        # a first attempt, clean or not, is practice
        (["0:i+"], 0, Status.PRACTISING),
        (["0:i-"], 0, Status.PRACTISING),
        # both rungs below the check are passed: ready
        ([PASSED], 0, Status.READY),
        # one rung is not passed: a miss, critical or not, or an unseen step ends the run
        (["0:i+ i+ c+ c- c+"], 0, Status.PRACTISING),
        (["0:i+ i+ c+ c~ c+"], 0, Status.PRACTISING),
        (["0:i+ i+ c+ c? c+"], 0, Status.PRACTISING),
        # a passed rung stays passed
        (["0:i+ i+ c+ c+ i- c-"], 0, Status.READY),
        # rungs may be passed in any order, and by instructors' marks too
        (["0:C+ C+ I+ I+"], 0, Status.READY),
        # an attempt on a trainer that the ladder does not have there moves nothing
        (["0:l+ l+ c+ c+"], 0, Status.PRACTISING),
        # three clean checks on two days clear
        ([PASSED, "1:P+ P+", "2:P+"], 2, Status.CLEARED),
        # the rungs below are not asked about when the clearance rule itself is met
        (["1:P+ P+", "2:P+"], 2, Status.CLEARED),
        # three on one day do not, two on two days do not
        ([PASSED, "1:P+ P+ P+"], 1, Status.READY),
        ([PASSED, "1:P+", "2:P+"], 2, Status.READY),
        # a peer's marks never clear
        ([PASSED, "1:p+ p+ p+", "2:p+ p+ p+"], 2, Status.READY),
        ([PASSED, "1:P+ P+", "2:p+"], 2, Status.READY),
        # a check that is neither clean nor failed starts the run again
        ([PASSED, "1:P+ P+ P~", "2:P+"], 2, Status.READY),
        ([PASSED, "1:P+ P+ P?", "2:P+"], 2, Status.READY),
        # a peer's miss does not end a run of checks
        ([PASSED, "1:P+ P+ p-", "2:P+"], 2, Status.CLEARED),
        # the run must fit in 60 days, both end days counted
        ([PASSED, "1:P+ P+", "60:P+"], 60, Status.CLEARED),
        ([PASSED, "1:P+ P+", "61:P+"], 61, Status.READY),
        # a critical step missed in a check holds, and nothing else that went well offsets it
        ([PASSED, "1:P+ P+", "2:P-"], 2, Status.ON_HOLD),
        ([PASSED, "1:P+ P+", "2:P+", "3:P-"], 3, Status.ON_HOLD),
        (["1:P-"], 1, Status.ON_HOLD),
        # two clean attempts by anyone end the hold; the clearance is gone
        ([PASSED, "1:P+ P+", "2:P+", "3:P-", "4:c+"], 4, Status.ON_HOLD),
        ([PASSED, "1:P+ P+", "2:P+", "3:P-", "4:c+ i+"], 4, Status.READY),
        # attempts that are not clean end no hold
        ([PASSED, "1:P-", "2:c~ c- c? i~"], 2, Status.ON_HOLD),
        # a check on a trainer that the ladder does not have there is none, clean or failed
        ([PASSED, "1:X+ X+", "2:X+"], 2, Status.READY),
        ([PASSED, "1:P+ P+", "2:P+ X-"], 2, Status.CLEARED),
        # a clean check made on hold is practice; it takes three new ones after the hold
        ([PASSED, "1:P-", "2:P+ P+ P+ P+", "3:P+"], 3, Status.CLEARED),
        ([PASSED, "1:P-", "2:P+ P+ P+ P+"], 2, Status.READY),
        ([PASSED, "1:P-", "2:P+ P+", "3:P+ P+"], 3, Status.READY),
        # a failed check on hold starts the hold again
        ([PASSED, "1:P-", "2:c+ P- c+"], 2, Status.ON_HOLD),
        # an instructor's miss below the clearance rung is no failed check
        ([PASSED, "1:C-"], 1, Status.READY),
        # a not-clean check after the clearance takes nothing away
        ([PASSED, "1:P+ P+", "2:P+", "3:P~"], 3, Status.CLEARED),
        # valid for six months from the last day on which the rule was met, that day included
        ([PASSED, "1:P+ P+", "2:P+"], 186, Status.CLEARED),
        ([PASSED, "1:P+ P+", "2:P+"], 187, Status.REFRESH_DUE),
        # a run that is met again renews it
        ([PASSED, "1:P+ P+", "2:P+", "50:P+"], 187, Status.CLEARED),
        # one clean check long after renews nothing when the run must fit in 60 days
        ([PASSED, "1:P+ P+", "2:P+", "190:P+"], 190, Status.REFRESH_DUE),
        # attempts after the day that is asked about are not looked at
        ([PASSED, "1:P+ P+", "2:P+", "9:P-"], 2, Status.CLEARED),
    ],
)  # fmt: skip
def test_status_of_a_small_history(days: list[str], on: int, status: Status) -> None:
    assert standing(*days, on=on).status is status


def test_nobody_has_started_what_nobody_tried() -> None:
    other = seal_skill().model_copy(update={"id": "other"})
    found = readiness_of(course(seal_skill(), other), attempts("0:i+"), on=DAY)
    assert found.standing("L1", "other").status is Status.NOT_STARTED
    assert found.standing("L1", "other").next is not None
    assert found.cohort[1].counts[Status.NOT_STARTED] == 1
    empty = readiness_of(course(), [], on=DAY)
    assert (empty.learners, empty.standings, empty.rows) == ((), {}, 0)


@pytest.mark.parametrize(
    ("clearance", "days", "on", "status"),
    [
        ({"clean_in_a_row": 1, "different_days": 1}, ["1:P+"], 1, Status.CLEARED),
        ({"different_days": 1}, ["1:P+ P+ P+"], 1, Status.CLEARED),
        ({"different_days": 3}, ["1:P+ P+", "2:P+"], 2, Status.PRACTISING),
        ({"different_days": 3}, ["1:P+ P+", "2:P+", "3:P+"], 3, Status.CLEARED),
        # without a window a check counts as long as a clearance is valid
        ({"within_days": None}, ["1:P+ P+", "180:P+"], 180, Status.CLEARED),
        ({"within_days": None}, ["1:P+ P+", "187:P+"], 187, Status.PRACTISING),
        ({"valid_months": 12}, ["1:P+ P+", "2:P+"], 300, Status.CLEARED),
        ({"clean_after_a_fail": 0}, ["1:P-"], 1, Status.PRACTISING),
        ({"clean_after_a_fail": 3}, ["1:P- c+ c+"], 1, Status.ON_HOLD),
        ({"clean_after_a_fail": 3}, ["1:P- c+ c~ i+ i+"], 1, Status.PRACTISING),
        # the rule of the file may ask for a peer: a peer's marks still never clear
        ({"scored_by": "peer"}, ["1:p+ p+", "2:p+"], 2, Status.PRACTISING),
        ({"scored_by": "peer"}, ["1:P+ P+", "2:P+"], 2, Status.CLEARED),
        # clearance on a lower rung
        ({"rung": "combine", "different_days": 1}, ["1:C+ C+ C+"], 1, Status.CLEARED),
        ({"rung": "combine"}, ["1:i+ i+"], 1, Status.PRACTISING),
    ],
)
def test_each_rule_of_the_file_decides(clearance: dict[str, Any], days: list[str], on: int, status: Status) -> None:
    found = standing(*days, on=on, **clearance)
    assert found.status is status, found.reasons


def test_a_rung_scored_by_instructors_is_not_passed_by_peers() -> None:
    strict = seal_skill().model_copy(
        update={"ladder": (plan("isolate", "head", 2, "instructor"), *seal_skill().ladder[1:])}
    )
    for words, status in (("i+ i+ c+ c+", Status.PRACTISING), ("I+ i- I+ c+ c+", Status.READY)):
        found = readiness_of(course(strict), attempts(f"0:{words}"), on=DAY)
        assert found.standing("L1", "seal").status is status


def test_a_ladder_of_one_rung_is_ready_after_one_clean_attempt() -> None:
    short = seal_skill().model_copy(update={"ladder": seal_skill().ladder[2:]})
    for words, status in (("P~", Status.PRACTISING), ("p+", Status.READY), ("P+", Status.READY)):
        assert readiness_of(course(short), attempts(f"0:{words}"), on=DAY).standing("L1", "seal").status is status


# --- words, next, coaching ---------------------------------------------------------------------------------------


def test_reasons_say_why_as_a_colleague_would() -> None:
    held = standing(PASSED, "1:P+ P+", "2:P-", "3:c+", on=3)
    assert held.reasons == (
        "Missed “Do tilt” in the check on 2027-03-03: a critical step, so the rest of that check does not count.",
        "1 clean attempt since; 2 end the hold.",
        "Practise.",
    )
    assert held.failed_on == date(2027, 3, 3)
    assert (held.clean_in_a_row, held.needed_in_a_row) == (1, 2)
    assert held.next is not None
    assert (held.next.rung, held.next.trainer, held.next.is_check) == ("combine", "torso", False)
    cleared = standing(PASSED, "1:P+ P+", "2:P+", "5:p-", on=5)
    assert cleared.reasons[0] == "3 clean checks in a row on Perform, the last on 2027-03-03. Valid until 2027-09-03."
    assert cleared.reasons[1].startswith("A peer saw a critical step missed on 2027-03-06.")
    assert cleared.next is None
    assert "peer" not in " ".join(standing(PASSED, "1:P+ P+", "2:P+", "5:p-", "6:P+", on=6).reasons)
    ready = standing(PASSED, "1:P+", on=1)
    assert ready.reasons[0] == "Isolate (Head trainer) and Combine (Torso trainer) are passed."
    assert ready.next is not None
    assert ready.next.is_check
    assert ready.next.what == "2 clean checks more on Perform (Body trainer), on another day"
    practising = standing("0:i+ i+ c+ c~", on=0)
    assert practising.reasons == (
        "The run on Combine (Torso trainer) starts again; passing it takes 2 in a row.",
        "The last attempt there, on 2027-03-01, missed “Do talk”.",
    )
    off = standing("0:l+ l-", on=0)
    assert off.reasons[-1].startswith("2 attempts were made on a trainer that the ladder does not have")


def test_coaching_names_critical_steps_first_and_looks_at_the_last_five() -> None:
    found = standing("0:i- i~ i~ i~ i+", "1:i~ i-", on=1)
    assert [(one.step, one.missed, one.is_critical) for one in found.coach] == [("tilt", 1, True), ("talk", 3, False)]
    assert {one.attempts for one in found.coach} == {5}
    assert standing("0:i- i+ i+", "1:i+ i+ i+", on=1).coach == ()


def test_two_dates_a_rule_and_a_habit() -> None:
    """Validity runs from the rule; practice runs from the last clean attempt on that rung, a peer's too."""
    found = standing(PASSED, "1:P+ P+", "2:P+", "40:p+", on=50)
    assert (found.cleared_on, found.valid_until) == (date(2027, 3, 3), date(2027, 9, 3))
    assert (found.last_success, found.practise_by) == (date(2027, 4, 10), date(2027, 10, 10))


def test_prerequisites_are_named_and_change_no_status() -> None:
    first = seal_skill().model_copy(update={"id": "first", "title": "First things"})
    second = seal_skill().model_copy(update={"prerequisites": ("first",)})
    made = attempts(PASSED)
    found = readiness_of(course(first, second), made, on=DAY).standing("L1", "seal")
    assert found.status is Status.READY
    assert found.reasons[-1] == "Not cleared in “First things”, which comes before this skill."
    both = made + attempts("0:P+ P+", "1:P+", skill="first")
    later = readiness_of(course(first, second), both, on=DAY + timedelta(days=1)).standing("L1", "seal")
    assert "First things" not in " ".join(later.reasons)


def test_marks_of_one_attempt_count_once_and_the_instructor_decides() -> None:
    peer, instructor = attempts("0:i+ I-")
    same = [peer, replace(instructor, attempt=peer.attempt)]
    found = readiness_of(course(), same, on=DAY)
    assert (found.rows, found.attempts) == (2, 1)
    assert found.standing("L1", "seal").clean == 0
    two_peers = [peer, replace(instructor, attempt=peer.attempt, role="peer")]
    assert readiness_of(course(), two_peers, on=DAY).standing("L1", "seal").clean == 0
    lenient = [replace(peer, missed=("tilt",), failing=("tilt",)), replace(same[1], missed=(), failing=())]
    assert readiness_of(course(), lenient, on=DAY).standing("L1", "seal").clean == 1


def test_ids_of_one_day_are_taken_in_natural_order() -> None:
    assert sorted(["a10", "a2", "b1", "a2b", "10", "9", ""], key=natural) == ["", "9", "10", "a2", "a2b", "a10", "b1"]
    typed = attempts("0:i- i- i- i- i- i- i- i- i- i+")
    made = [replace(one, attempt=f"try{number}") for number, one in enumerate(typed, 1)]
    made.append(replace(made[-1], attempt="try11"))
    assert ("isolate", "head") in readiness_of(course(), made, on=DAY).standing("L1", "seal").passed


# --- lists -------------------------------------------------------------------------------------------------------


def test_each_lab_day_has_its_list() -> None:
    stations = [station("s1", "seal", "body", rung="perform"), station("s2", "seal", "torso", rung="combine")]
    start = (DAY - date(2026, 9, 1)).days
    days = [lab("near", "s2", day=start + 10), lab("far", "s1 s2", day=start + 180)]
    whole = replace(course(), stations={s.id: s for s in stations}, labs={one.id: one for one in days})
    made = [
        *attempts(PASSED, learner="ready"), *attempts("1:P-", learner="held"), *attempts("0:i+", learner="new"),
        *attempts("1:P+ P+", "2:P+", learner="cleared"), *attempts("1:P+ P+", "9:P+", learner="later"),
    ]  # fmt: skip
    near, far = readiness_of(whole, made, on=DAY + timedelta(days=9)).labs
    assert [(one.learner, one.stations, one.is_at_rung) for one in near.checks] == [
        ("held", ("s2",), False), ("ready", ("s2",), False),
    ]  # fmt: skip
    # Both clearances end in September, within a month after the last planned day.
    assert [(one.learner, one.stations, one.trainer) for one in far.checks] == [
        ("cleared", ("s1", "s2"), "body"), ("later", ("s1", "s2"), "body"),
    ]  # fmt: skip
    assert [lab_list.lab for lab_list in readiness_of(whole, made, on=DAY + timedelta(days=11)).labs] == ["far"]


def test_refreshes_come_by_the_day_on_which_they_end() -> None:
    made = [*attempts("1:P+ P+", "9:P+", learner="L10"), *attempts("1:P+ P+", "2:P+", learner="L2")]
    found = readiness_of(course(), made, on=DAY + timedelta(days=189)).refreshes
    assert [(one.learner, one.is_over) for one in found] == [("L2", True), ("L10", False)]


def test_flagged_rows_are_listed_and_judged() -> None:
    made = attempts("0:i+ i+")
    made[1] = replace(made[1], flag="Look at it.")
    found = readiness_of(course(), made, on=DAY)
    assert [(one.line, one.why) for one in found.flagged] == [(3, "Look at it.")]
    assert found.standing("L1", "seal").clean == 2


# --- steps and carry-over ----------------------------------------------------------------------------------------


def test_steps_are_counted_where_they_were_practised_and_seen() -> None:
    found = readiness_of(course(), attempts("0:i+ i- i? i- i~"), on=DAY)
    tilt = next(one for one in found.steps if one.step == "tilt")
    assert (tilt.missed, tilt.seen, tilt.unseen, tilt.is_critical) == (2, 4, 1, True)
    # Newcombe 1998 has no table for 2 of 4; Wilson by hand: (0.5 + z²/8 ± z·sqrt(1/16 + z²/64)) / (1 + z²/4).
    assert isinstance(tilt.interval, Interval)
    assert (tilt.interval.low, tilt.interval.high) == (pytest.approx(0.1500, abs=5e-5), pytest.approx(0.8500, abs=5e-5))


def test_a_critical_step_is_never_proposed_for_removal() -> None:
    made = [one for day in range(30) for one in attempts(f"{day}:i+ i+ i+ c+ c+")]
    found = readiness_of(course(), made, on=DAY + timedelta(days=30)).steps
    assert {one.step for one in found if one.may_go} == {"talk"}
    assert {one.step for one in found} == {"tilt", "press", "talk"}
    # Missed now and then on one rung, it stays there and everywhere.
    made += [one for day in range(30) for one in attempts(f"{day}:C~", learner="L2")]
    assert not any(one.may_go for one in readiness_of(course(), made, on=DAY + timedelta(days=30)).steps)


def test_carry_over_is_seen_in_data() -> None:
    made = []
    for number in range(8):
        made += attempts("0:l+ l+", "1:i- i- i+ i-" if number % 2 else "1:i- i+ i- i-", learner=f"G{number}")
        made += attempts("1:i+ i+ i- i+" if number % 2 else "1:i+ i+ i+ i+", learner=f"H{number}")
    made += attempts("0:l+ i+", learner="both")
    (seen,) = readiness_of(course(), made, on=DAY + timedelta(days=2)).carry_over
    assert (seen.technique, len(seen.given_first.learners), len(seen.honest_first.learners)) == ("tilt", 8, 8)
    assert seen.undecided == ("both",)
    assert (seen.given_first.share, seen.honest_first.share) == (0.75, 0.125)
    assert seen.difference == pytest.approx(0.625)
    assert isinstance(seen.interval, Interval)
    # Welch by hand: variances 0 and 0.017857, 8 learners a side, 7 degrees, t = 2.3646 (Student's table).
    half = 2.3646 * (0.0178571 / 8) ** 0.5
    assert seen.interval.low == pytest.approx(0.625 - half, abs=1e-4)
    assert "a hint, not a proof" in seen.says.lower()


def test_carry_over_with_one_learner_a_side_is_undefined() -> None:
    made = [*attempts("0:l+", "1:i-", learner="G"), *attempts("0:i+", learner="H")]
    (seen,) = readiness_of(course(), made, on=DAY + timedelta(days=2)).carry_over
    assert not isinstance(seen.interval, Interval)
    assert "too little to compare" in seen.says


def test_what_the_rule_is_worth() -> None:
    (rule,) = readiness_of(course(), [], on=DAY).rules
    half = next(one for one in rule.chances if one.success == 0.5)
    # Three heads in a row within 10 tosses: 520 of 1024 (Feller, vol. 1, XIII.7; OEIS A050231).
    assert half.by_attempt[10] == pytest.approx(520 / 1024)
    assert rule.shows == pytest.approx(0.05 ** (1 / 3))


# --- properties --------------------------------------------------------------------------------------------------

WORDS = [f"{rung}{mark}" for rung in "icplxICPLX" for mark in "+-~?"] + ["P+"] * 20 + ["i+", "c+"] * 8
"""Mostly clean, so that every status is reached."""
HISTORIES = st.lists(st.tuples(st.integers(0, 80), st.sampled_from(WORDS)), max_size=24)


def _made(history: Sequence[tuple[int, str]], seed: int) -> list[Attempt]:
    """Attempts with ids in no order, so that those of one day fall anywhere among each other."""
    dice = random.Random(seed)
    typed = [attempts(f"{day}:{word}")[0] for day, word in history]
    return [replace(one, attempt=f"{dice.randrange(10**6)}-{number}") for number, one in enumerate(typed)]


RULES = st.fixed_dictionaries(
    {
        "clean_in_a_row": st.integers(0, 4), "different_days": st.integers(0, 3),
        "within_days": st.none() | st.integers(0, 40), "valid_months": st.integers(0, 2),
        "clean_after_a_fail": st.integers(0, 3), "rung": st.sampled_from(["perform", "combine", "isolate", "disrupt"]),
    }
)  # fmt: skip


@settings(max_examples=800, deadline=None)
@given(
    HISTORIES, RULES, st.tuples(st.integers(0, 90), st.sampled_from([w for w in WORDS if w[1] == "+"])),
    st.integers(0, 100), st.tuples(st.integers(0, 999), st.integers(0, 10**6)),
)  # fmt: skip
def test_an_added_clean_attempt_never_lowers_the_status(
    history: list[tuple[int, str]], rules: dict[str, Any], more: tuple[int, str], on: int, ids: tuple[int, int]
) -> None:
    whole = course(**rules)
    made = _made(history, ids[0])
    day = DAY + timedelta(days=on)
    before = readiness_of(whole, made, on=day).standings.get(("L1", "seal"))
    added = replace(attempts(f"{more[0]}:{more[1]}")[0], attempt=f"{ids[1]}-new")
    after = readiness_of(whole, [*made, added], on=day).standings.get(("L1", "seal"))
    if before is not None:
        assert after is not None
        assert after.status.height >= before.status.height, (before.reasons, after.reasons)
        assert (after.valid_until or date.min) >= (before.valid_until or date.min)
        assert set(after.passed) >= set(before.passed)


def _whole(made: Sequence[Attempt]) -> Readiness:
    found = readiness_of(course(valid_months=1), made, on=DAY + timedelta(days=70))
    return replace(found, flagged=())


def _invented(seed: int) -> list[Attempt]:
    dice = random.Random(seed)
    made = []
    for number in range(dice.randrange(1, 6)):
        days = [f"{dice.randrange(70)}:{' '.join(dice.choices(WORDS, k=dice.randrange(1, 6)))}" for _ in range(6)]
        made += attempts(*dict.fromkeys(days), learner=f"L{number}")
    return [
        replace(one, attempt=f"{one.attempt}-{dice.randrange(3)}", evaluator=f"E{dice.randrange(9)}") for one in made
    ]


@pytest.mark.parametrize("seed", range(40))
@pytest.mark.parametrize("change", ["order", "names"])
def test_order_of_rows_and_names_of_evaluators_change_nothing(seed: int, change: str) -> None:
    made = _invented(seed)
    dice = random.Random(seed + 1_000)
    shuffle: dict[str, Callable[[], list[Attempt]]] = {
        "order": lambda: dice.sample(made, len(made)),
        "names": lambda: [
            replace(one, evaluator=name)
            for one, name in zip(made, dice.sample([o.evaluator for o in made], len(made)), strict=True)
        ],
    }
    assert _whole(shuffle[change]()) == _whole(made)


def test_the_properties_are_not_empty() -> None:
    """The invented histories reach every status, so the properties above say something about each."""
    reached = {one.status for seed in range(40) for one in _whole(_invented(seed)).standings.values()}
    assert reached == set(Status) - {Status.NOT_STARTED}
