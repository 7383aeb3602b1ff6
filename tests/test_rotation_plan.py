"""Lab days of small invented curricula, planned from their records to the command that prints them."""

from __future__ import annotations

import json
import shutil
from collections import Counter
from datetime import UTC, date
from pathlib import Path

import pytest
from small_labs import curriculum, lab, rung, skill, station, step, trainer

from generator.analysis.rotation.clock import blocks_until, slots_of
from generator.analysis.rotation.day import Before
from generator.analysis.rotation.from_lab import day_of
from generator.analysis.rotation.plan import Clash, LabPlan, plan_of
from generator.analysis.rotation.roles import Task, share_out
from generator.cli import main
from generator.model import Curriculum
from generator.model.lab import Break, FixedVisit, LabInstructor, Supply
from generator.reading import read_curriculum

SHIPPED = Path(__file__).parent.parent / "curriculum"


def falsely_given(**more) -> Curriculum:
    """`lie` rewards a tilt that only `truth` makes the learner earn; `other` and `more` are about something else."""
    return curriculum(
        trainer("plain", "tilt:earned"), trainer("liar", "tilt:given"), trainer("third", "seal:earned"),
        trainer("fourth", "seal:earned"),
        skill("breathe", step("tilt-it", "tilt"), minutes=5),
        skill("seal-it", step("press", "seal"), minutes=5),
        station("truth", "breathe", "plain"), station("lie", "breathe", "liar"),
        station("other", "seal-it", "third"), station("more", "seal-it", "fourth"),
        lab("day-1", "lie truth other", learners=12, **more),
    )  # fmt: skip


def planned(known: Curriculum, id: str = "day-1", **more) -> LabPlan:
    plan = plan_of(known, id, **more)
    assert isinstance(plan, LabPlan)
    return plan


# From the records


def test_a_group_earns_a_technique_before_it_meets_it_where_it_is_given() -> None:
    known = falsely_given()
    day = day_of(known, known.labs["day-1"])
    assert day.before == tuple(
        Before(group=group, technique="tilt", first=frozenset({"truth"}), then="lie") for group in range(3)
    )
    plan = planned(known)
    for group in (1, 2, 3):
        order = [turn.station for turn in plan.turns if turn.group == group]
        assert order.index("truth") < order.index("lie")


def test_what_an_earlier_lab_earned_need_not_come_first_again() -> None:
    known = falsely_given()
    first = lab("day-0", "truth", day=-1, learners=8)
    both = curriculum(
        *known.trainers.values(), *known.skills.values(), *known.stations.values(), first, known.labs["day-1"]
    )
    # Only two groups came to the earlier day.
    assert {rule.group for rule in day_of(both, both.labs["day-1"]).before} == {2}


def test_a_reason_on_the_rung_takes_the_precedence_away() -> None:
    known = falsely_given()
    excused = skill(
        "breathe", step("tilt-it", "tilt"), minutes=5, ladder=(rung("liar", because="It is all that moves."),)
    )
    changed = curriculum(
        *known.trainers.values(), excused, known.skills["seal-it"], *known.stations.values(), known.labs["day-1"]
    )
    assert day_of(changed, changed.labs["day-1"]).before == ()


def test_the_day_has_the_instructors_units_and_times_of_the_lab() -> None:
    known = falsely_given(
        instructors=(LabInstructor(id="instructor-a", runs=("lie", "truth")),),
        learners_per_instructor=6,
        end="10:10",
        fixed=(FixedVisit(group=2, station="other", block=3),),
    )
    day = day_of(known, known.labs["day-1"], without=("plain",))
    assert day.instructors == {"instructor-a": frozenset({"lie", "truth"})}
    assert day.trainers == {"liar": 1, "plain": 0, "third": 1}
    assert day.learners_per_instructor == 6
    # 09:00 to 10:10 holds three blocks of 20 minutes with 5 between them.
    assert day.most_blocks == 3
    assert (day.fixed[0].group, day.fixed[0].block) == (1, 2)
    assert day_of(known, known.labs["day-1"], learners=14).group_sizes == (4, 4, 3, 3)
    assert day_of(known, known.labs["day-1"], without=("instructor-a",)).plans_instructors


# Clock


def test_blocks_breaks_and_change_overs_follow_one_another() -> None:
    day = lab("day-1", "a", breaks=(Break(after_block=2, minutes=15, name="Coffee"),))
    said = [(f"{slot.starts:%H:%M}", f"{slot.ends:%H:%M}", slot.block, slot.name) for slot in slots_of(day, 3)]
    assert said == [
        ("09:00", "09:20", 1, None), ("09:25", "09:45", 2, None), ("09:50", "10:05", None, "Coffee"),
        ("10:05", "10:25", 3, None),
    ]  # fmt: skip
    assert blocks_until(day, "10:24") == 2
    assert blocks_until(day, "10:25") == 3


def test_blocks_take_their_minutes_when_the_clocks_go_on() -> None:
    # In New York the clocks went on from 02:00 to 03:00 on 14 March 2027 (United States Code, title 15, section 260a:
    # the second Sunday of March).
    night = lab("day-1", "a").model_copy(update={"on": date(2027, 3, 14), "start": "01:30"})
    slots = slots_of(night, 3)
    assert [f"{slot.starts:%H:%M%z}" for slot in slots] == ["01:30-0500", "01:55-0500", "03:20-0400"]
    lengths = [(slot.ends.astimezone(UTC) - slot.starts.astimezone(UTC)).total_seconds() / 60 for slot in slots]
    assert lengths == [20, 20, 20]


# Inside a station


@pytest.mark.parametrize("learners", [2, 3, 4, 5, 6])
@pytest.mark.parametrize("rounds", [1, 2, 3, 4, 6, 7])
@pytest.mark.parametrize("seats", [1, 2, 3])
def test_everyone_performs_lends_a_hand_and_evaluates_equally_often_within_one(
    learners: int, rounds: int, seats: int
) -> None:
    partners = int(seats == 1 and learners > 2)
    task = Task(station="s", rounds=rounds, seats=tuple(f"seat-{n}" for n in range(seats)), partners=partners)
    day = share_out([task] * 5, learners)
    counts = {kind: Counter[int]() for kind in ("perform", "assist", "evaluate")}
    for attempt in (attempt for visit in day for attempt in visit):
        hands = [learner for _, learner in attempt.performers if learner]
        together = [*hands, *attempt.partners, *attempt.evaluators]
        assert sorted(together) == list(range(1, learners + 1))
        counts["perform"].update(hands)
        counts["assist"].update(attempt.partners)
        counts["evaluate"].update(attempt.evaluators)
    for visit in day:
        here = Counter(learner for attempt in visit for _, learner in attempt.performers if learner)
        shares = [here[learner] for learner in range(1, learners + 1)]
        assert max(shares) - min(shares) <= 1
    for count in counts.values():
        shares = [count[learner] for learner in range(1, learners + 1)]
        assert max(shares) - min(shares) <= 1
    if rounds * 5 % learners == 0 and learners >= seats:
        assert len({counts["perform"][learner] for learner in range(1, learners + 1)}) == 1


def test_a_whole_circle_of_attempts_gives_each_learner_each_seat_once() -> None:
    (visit,) = share_out([Task(station="s", rounds=4, seats=("mask", "bag"))], 4)
    for seat in ("mask", "bag"):
        assert sorted(dict(attempt.performers)[seat] for attempt in visit) == [1, 2, 3, 4]


def test_two_units_make_two_attempts_at_once_and_nobody_is_at_both() -> None:
    (visit,) = share_out([Task(station="s", rounds=2, units=2)], 4)
    assert [(attempt.number, attempt.round) for attempt in visit] == [(1, 1), (2, 1), (3, 2), (4, 2)]
    assert sorted(learner for attempt in visit for _, learner in attempt.performers) == [1, 2, 3, 4]


def test_the_instructor_fills_the_seats_of_a_team_that_a_group_is_too_small_for() -> None:
    (visit,) = share_out([Task(station="s", rounds=1, seats=("a", "b", "c"))], 2)
    assert sorted(learner for _, learner in visit[0].performers) == [0, 1, 2]


def test_attempts_minutes_and_supplies_follow_from_the_stations() -> None:
    known = falsely_given()
    gloves = known.stations["truth"].model_copy(
        update={"supplies": (Supply(name="Gloves", per_attempt="0.5"), Supply(name="Wipe", per_attempt="1"))}
    )
    known = curriculum(
        *known.trainers.values(), *known.skills.values(), gloves, known.stations["lie"], known.stations["other"],
        known.stations["more"], known.labs["day-1"],
    )  # fmt: skip
    plan = planned(known)
    load = plan.load("truth")
    # 20 minutes, 5 an attempt, 3 groups: 12 attempts; each of the 4 learners of a group performs once, 5 minutes.
    assert load is not None
    assert (load.attempts, load.attempts_each, load.minutes_each) == (12, (1, 1), (5, 5))
    assert {name: str(amount) for name, amount in load.supplies} == {"Gloves": "6.0", "Wipe": "12"}
    assert dict(plan.supplies) == dict(load.supplies)
    assert {duty.minutes for duty in plan.duties} == {15}
    assert len(plan.duties) == 12


# What honest order costs


def test_honest_order_has_a_price_and_a_station_that_saves_it() -> None:
    plan = planned(falsely_given())
    # Three groups at three stations need three blocks; earning the tilt first makes it four.
    assert plan.timetable.blocks == 4
    assert plan.price is not None
    assert (plan.price.blocks, plan.price.is_exact) == (1, True)
    assert plan.price.words.startswith("Honest order costs 1 block.")
    assert ("lie", 1) in {(move.station, move.saves) for move in plan.price.moves}


def test_the_visits_of_a_station_that_is_moved_are_not_counted_as_saved() -> None:
    known = falsely_given()
    day = lab("day-1", "lie truth", learners=8)
    day = day.model_copy(update={"stations": (day.stations[0], day.stations[1].model_copy(update={"units": 2}))})
    twice = trainer("plain", "tilt:earned", units=2)
    plan = planned(
        curriculum(twice, known.trainers["liar"], known.skills["breathe"], known.stations["truth"],
                   known.stations["lie"], day)
    )  # fmt: skip
    # Two groups: 2 blocks in any order, 3 when both earn the tilt first. Without `lie` the day is a single block, but
    # one of the two that it is shorter by is only the visit that another day gets.
    assert plan.timetable.blocks == 3
    assert plan.price is not None
    assert plan.price.blocks == 1
    assert [(move.station, move.saves) for move in plan.price.moves] == [("lie", 1)]


def test_without_precedence_there_is_no_price() -> None:
    known = falsely_given()
    day = lab("day-1", "truth other more", learners=12)
    other = curriculum(*known.trainers.values(), *known.skills.values(), *known.stations.values(), day)
    assert planned(other).price is None


# Impossible days


def test_an_impossible_day_is_told_in_the_words_of_the_lab_with_what_mends_it() -> None:
    clash = plan_of(falsely_given(end="09:50"), "day-1")
    assert isinstance(clash, Clash)
    assert not clash.ran_out
    assert any("09:50" in one.what for one in clash.requirements)
    assert clash.mends
    assert any("blocks" in text for text in clash.mends)


def test_a_trainer_out_of_service_is_named_with_the_station_that_needs_it() -> None:
    clash = plan_of(falsely_given(), "day-1", without=("third",))
    assert isinstance(clash, Clash)
    assert {one.rule for one in clash.requirements} == {"visits", "shared-trainer"}
    assert any("third" in one.what for one in clash.requirements)
    assert any("third" in text for text in clash.mends)


def test_every_mend_that_is_told_was_tried() -> None:
    known = falsely_given(end="09:50")
    clash = plan_of(known, "day-1")
    assert isinstance(clash, Clash)
    assert "Let the day end at 10:35, after 4 blocks." in clash.mends
    later = falsely_given(end="10:35")
    assert planned(later).timetable.blocks == 4


# What if


def test_what_if_keeps_the_plan_and_says_what_changed() -> None:
    known = falsely_given()
    usual = planned(known)
    same = planned(known, near=usual)
    assert same.timetable.visits == usual.timetable.visits
    assert same.changed == ()
    more = planned(known, learners=14, near=usual)
    assert "Group 4 is new, with 3 learners." in more.changed
    assert any("instead of 4" in text for text in more.changed)


def test_an_absent_instructor_is_replaced_and_named() -> None:
    able = (
        LabInstructor(id="instructor-a", runs=("truth", "lie", "other")),
        LabInstructor(id="instructor-b", runs=("truth", "lie", "other")),
        LabInstructor(id="instructor-c", runs=("truth", "lie", "other")),
    )
    known = falsely_given(instructors=able)
    usual = planned(known)
    without = planned(known, without=("instructor-b",), near=usual)
    assert not any("instructor-b" in turn.instructors for turn in without.turns)
    assert all(turn.instructors for turn in without.turns)
    assert any(text.startswith("instructor-b is absent") for text in without.changed)


# Hand-typed orders


def test_a_typed_order_is_judged_and_not_changed() -> None:
    orders = {1: "truth lie other", 2: "other truth lie", 3: "truth other lie"}
    plan = planned(falsely_given(orders=orders))
    assert plan.is_typed
    assert [turn.station for turn in plan.turns if turn.group == 3] == ["truth", "other", "lie"]
    assert "capacity" in {breach.rule for breach in plan.breaches}
    assert any("truth" in problem.message and problem.rule == "timetable-broken" for problem in plan.problems)


# The shipped days


@pytest.fixture(scope="module")
def shipped() -> Curriculum:
    found, _ = read_curriculum(SHIPPED)
    assert found is not None
    return found


def test_every_shipped_lab_day_has_a_plan_that_is_proved_best(shipped: Curriculum) -> None:
    assert len(shipped.labs) >= 4
    for id in shipped.labs:
        plan = planned(shipped, id)
        assert plan.is_proved, (id, plan.aims)
        assert plan.breaches == ()
        for kind in ("performs", "assists", "evaluates"):
            for group in range(1, len(plan.group_sizes) + 1):
                shares = [getattr(duty, kind) for duty in plan.duties if duty.group == group]
                assert max(shares) - min(shares) <= 1, (id, kind, group, shares)
        assert all(load.attempts_each[1] - load.attempts_each[0] <= 1 for load in plan.loads), id


def test_the_same_input_gives_the_same_plan(shipped: Curriculum) -> None:
    assert plan_of(shipped, "airway-1") == plan_of(shipped, "airway-1")


# The command


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(SHIPPED, tmp_path / "curriculum"))


def test_the_command_prints_the_day_as_a_table(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rotate", "airway-1", "--curriculum", str(folder)]) == 0
    out = capsys.readouterr().out
    assert "08:30–08:55  1" in out
    assert "Lunch" in out
    assert "The day takes 6 blocks. No timetable has fewer." in out


def test_the_command_writes_json_that_says_what_was_proved(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rotate", "airway-1", "--curriculum", str(folder), "--format", "json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["aims"][0] == {"name": "blocks", "value": 6, "bound": 6, "proved": True}
    assert len(said["visits"]) == 36


def test_the_command_knows_who_and_what_can_be_missing(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rotate", "airway-1", "--curriculum", str(folder), "--without", "instructor-z"]) == 2
    assert "Did you mean instructor-" in capsys.readouterr().err
    assert main(["rotate", "airway-9", "--curriculum", str(folder)]) == 2


def test_an_impossible_day_ends_the_command_with_problems(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = folder / "labs" / "airway-1.yaml"
    path.write_text(path.read_text().replace("time_zone:", "end: 10:30\ntime_zone:"))
    assert main(["rotate", "airway-1", "--curriculum", str(folder)]) == 1
    said = capsys.readouterr()
    assert "labs/airway-1.yaml:" in said.err
    assert "[timetable-impossible]" in said.err
    assert "Any one of these would mend it" in said.out


