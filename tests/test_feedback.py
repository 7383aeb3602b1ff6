"""The four rules of a written ladder, each on an instance worked out by hand, worth tables, properties and wording."""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path

import pytest
from small_labs import curriculum, random_skill, random_trainer, rung, skill, step, trainer

from generator.analysis.course import course_of
from generator.analysis.explain import ladder_text, message, remedy
from generator.analysis.feedback import (
    Finding,
    exposure,
    fit,
    honest_first,
    lab_table,
    meetings,
    proof,
    skill_table,
    thrift,
)
from generator.analysis.inventory import inventory_of
from generator.analysis.ladders import BestLadder, compare
from generator.analysis.whole import analyse
from generator.model import Curriculum, Skill, Worth
from generator.reading import read_curriculum

SHIPPED = Path(__file__).parents[1] / "curriculum"


def only(made: Curriculum) -> Skill:
    return next(iter(made.skills.values()))


def honest(made: Curriculum) -> tuple[Finding, ...]:
    return honest_first(made, inventory_of(made), only(made))


HEAD = trainer("head", "tilt:earned", wear="2")
GAUGE = trainer("gauge", "tilt:measured", wear="1")
TORSO = trainer("torso", "tilt:given seal:earned", wear="3", accepts="mask")
MUTE = trainer("mute", "", wear="0")


def test_a_first_meeting_on_given_names_step_rung_trainer_technique_and_who_would_do() -> None:
    made = curriculum(HEAD, GAUGE, TORSO, skill("s", step("open", "tilt"), ladder=(rung("torso"), rung("head"))))
    (found,) = honest(made)
    assert (found.step, found.rung, found.trainer, found.technique) == ("open", 0, "torso", "tilt")
    assert found.would_do == ("gauge", "head"), "cheapest first"
    assert found.later == 1
    assert not found.is_excused


def test_silence_before_an_honest_meeting_is_no_lie() -> None:
    ladder = (rung("mute"), rung("head"), rung("torso"))
    made = curriculum(MUTE, HEAD, TORSO, skill("s", step("open", "tilt"), ladder=ladder))
    assert honest(made) == ()


def test_silence_does_not_make_a_lie_honest() -> None:
    made = curriculum(MUTE, TORSO, skill("s", step("open", "tilt"), ladder=(rung("mute"), rung("torso"))))
    assert [f.rung for f in honest(made)] == [1]


def test_only_steps_that_are_practised_and_critical_meet_a_technique() -> None:
    steps = (step("open", "tilt"), step("hold", "seal"), step("look", "tilt", critical=False))
    left_out = curriculum(HEAD, TORSO, skill("s", *steps, ladder=(rung("torso", "hold look"), rung("head"))))
    assert honest(left_out) == ()


def test_a_reason_excuses_and_is_kept_to_be_printed() -> None:
    made = curriculum(TORSO, skill("s", step("open", "tilt"), ladder=(rung("torso", because="All we have."),)))
    (found,) = honest(made)
    assert found.is_excused
    assert found.because == "All we have."


def test_who_would_do_must_take_the_device_and_stand_for_the_patient() -> None:
    small = trainer("small", "size:earned", accepts="tube", wear="0", populations=("infant",))
    cut = trainer("cut", "size:earned", accepts="tube")
    bare = trainer("bare", "size:earned", wear="0")
    torso = trainer("torso", "size:given", accepts="tube")
    one = skill("s", step("measure", "size", uses="tube"), ladder=(rung("torso"),), populations=("adult",))
    made = curriculum(small, cut, bare, torso, one, populations="adult infant")
    (found,) = honest(made)
    assert found.would_do == ("cut",)


def test_an_unknown_trainer_brings_no_second_finding() -> None:
    made = curriculum(TORSO, skill("s", step("open", "tilt", see=None), ladder=(rung("typo"), rung("torso"))))
    assert honest(made) == ()
    assert proof(made, inventory_of(made), only(made)) == ()


def test_proof_asks_for_an_honest_rung_or_a_see_on_every_step() -> None:
    ladder = (rung("mute"),)
    seen = curriculum(MUTE, skill("s", step("a", "tilt"), step("b", "tilt"), ladder=ladder))
    assert proof(seen, inventory_of(seen), only(seen)) == ()
    half = curriculum(MUTE, HEAD, skill("s", step("a", "tilt"), step("b", "tilt", see=None), ladder=ladder))
    (found,) = proof(half, inventory_of(half), only(half))
    assert (found.step, found.technique, found.would_do) == ("b", "tilt", ("head",))
    proved = curriculum(MUTE, HEAD, skill("s", step("b", "tilt", see=None), ladder=(rung("mute"), rung("head"))))
    assert proof(proved, inventory_of(proved), only(proved)) == ()


def test_an_honest_trainer_proves_nothing_on_a_rung_that_leaves_the_step_out() -> None:
    made = curriculum(HEAD, skill("s", step("a", "tilt", see=None), step("b"), ladder=(rung("head", "b"),)))
    assert [f.technique for f in proof(made, inventory_of(made), only(made))] == ["tilt"]


def test_silence_everywhere_always_fails_proof_unless_a_see_exists() -> None:
    failed = 0
    for seed in range(300):
        rng = random.Random(seed)
        one = random_skill(rng, "s")
        one = one.model_copy(update={"ladder": (rung("mute"),)})
        made = curriculum(MUTE, one)
        found = {f.technique for f in proof(made, inventory_of(made), one)}
        expected = {t for s in one.steps if s.critical and s.see is None for t in s.rests_on}
        assert found == expected
        failed += bool(found)
    assert failed > 100


def test_fit_names_the_device() -> None:
    made = curriculum(HEAD, skill("s", step("in", "tilt", uses="mask gloves"), step("free"), ladder=(rung("head"),)))
    (found,) = fit(made, only(made))
    assert (found.rung, found.trainer, found.step, found.equipment) == (0, "head", "in", ("mask",))
    isolated = curriculum(HEAD, skill("s", step("in", uses="mask"), step("free"), ladder=(rung("head", "free"),)))
    assert fit(isolated, only(isolated)) == ()


def test_thrift_wear_must_not_fall() -> None:
    top, one = trainer("top", wear="9"), step("a", "tilt")
    made = curriculum(HEAD, GAUGE, top, skill("s", one, ladder=(rung("head"), rung("gauge"))))
    (found,) = thrift(made, inventory_of(made), only(made))
    assert (found.rung, found.trainer, found.after) == (1, "gauge", "head")
    twin = trainer("twin", "tilt:earned", wear="2")
    level = curriculum(HEAD, twin, top, skill("s", one, ladder=(rung("head"), rung("twin"))))
    assert thrift(level, inventory_of(level), only(level)) == ()


def test_thrift_the_costliest_trainer_earns_nothing_first_that_a_cheaper_one_can() -> None:
    simulator = trainer("simulator", "tilt:earned team:measured", wear="9", accepts="mask")
    steps = (step("open", "tilt"), step("call", "team"))
    made = curriculum(HEAD, simulator, skill("s", *steps, ladder=(rung("simulator"),)))
    (found,) = thrift(made, inventory_of(made), only(made))
    assert (found.technique, found.would_do) == ("tilt", ("head",)), "nothing cheaper answers for team"
    below = curriculum(HEAD, simulator, skill("s", *steps, ladder=(rung("head", "open"), rung("simulator"))))
    assert thrift(below, inventory_of(below), only(below)) == ()


def test_exposure_counts_lies_until_the_first_honest_meeting() -> None:
    # torso, torso, head, torso: tilt is met falsely on rungs 0 and 1, honestly on 2, and 3 no longer misleads.
    ladder = (rung("torso"), rung("torso"), rung("head"), rung("torso"))
    made = curriculum(HEAD, TORSO, skill("s", step("open", "tilt"), ladder=ladder))
    assert exposure(made, only(made)) == 2
    assert [(m.worth, m.is_proved) for m in meetings(made, only(made))] == [
        (Worth.GIVEN, False), (Worth.GIVEN, False), (Worth.EARNED, False), (Worth.GIVEN, True),
    ]  # fmt: skip


def test_worth_tables() -> None:
    steps = (step("open", "tilt seal", uses="mask"), step("b", "tilt", critical=False))
    made = curriculum(HEAD, TORSO, skill("s", *steps))
    table = lab_table(made)
    assert table.trainers == ("head", "torso")
    assert {row.technique: row.worths for row in table.rows} == {
        "tilt": (Worth.EARNED, Worth.GIVEN),
        "seal": (Worth.SILENT, Worth.EARNED),
    }
    rows = skill_table(made, only(made)).rows
    assert [(r.step, r.technique, r.accepts) for r in rows] == [
        ("open", "tilt", (False, True)),
        ("open", "seal", (False, True)),
    ]


def test_a_ladder_that_keeps_the_rules_has_no_finding() -> None:
    """A computed best ladder, written down, is clean of errors."""
    written = 0
    for seed in range(300):
        rng = random.Random(seed)
        records = [random_trainer(rng, f"t{n}") for n in range(4)]
        one = random_skill(rng, "s")
        made = curriculum(*records, one)
        best = compare(made, inventory_of(made), one).best
        if not isinstance(best, BestLadder):
            continue
        ladder = tuple(rung(r.trainer, " ".join(r.steps)) for r in best.rungs)
        again = one.model_copy(update={"ladder": ladder})
        made = curriculum(*records, again)
        inventory = inventory_of(made)
        assert honest_first(made, inventory, again) == ()
        assert fit(made, again) == ()
        assert [f for f in thrift(made, inventory, again) if f.after] == []
        assert exposure(made, again) == 0
        written += 1
    assert written > 100


def test_findings_read_like_a_colleague() -> None:
    made = curriculum(HEAD, TORSO, skill("s", step("open", "tilt"), ladder=(rung("torso"),)))
    (found,) = honest(made)
    assert message(made, found) == (
        "The tilt light comes on. On the torso trainer that is given, so tilt is not proved at the step `open`."
    )
    assert remedy(made, found) == (
        "Start on the head trainer (`head`), leave the step out here, or say in `because` why not."
    )


# --- facts of the trade, as computed on the shipped curriculum (common practice, no source)


@pytest.fixture(scope="module")
def shipped() -> Curriculum:
    curriculum, _ = read_curriculum(SHIPPED)
    assert curriculum is not None
    assert len(curriculum.skills) >= 10
    return curriculum


def best_to_the_same_end(shipped: Curriculum, id: str) -> BestLadder:
    found = compare(shipped, inventory_of(shipped), shipped.skills[id]).to_same_end
    assert found is not None
    return found


def test_novices_start_on_a_trainer_that_responds_only_to_correct_technique(shipped: Curriculum) -> None:
    """Common practice, no source."""
    for id in shipped.skills:
        found = compare(shipped, inventory_of(shipped), shipped.skills[id]).best
        assert isinstance(found, BestLadder), id
        first = shipped.trainers[found.trainers[0]]
        assert found.rungs[0].earns, id
        assert all(first.worth_of(technique).is_honest for technique in found.rungs[0].earns)


def test_an_always_open_torso_may_not_come_first(shipped: Curriculum) -> None:
    """Common practice, no source: learners who met a permissive trainer first fail to tilt the head later."""
    skill = shipped.skills["bag-mask-one-person"]
    assert honest_first(shipped, inventory_of(shipped), skill) == ()
    spoiled = skill.model_copy(
        update={"ladder": (skill.ladder[0].model_copy(update={"trainer": "open-torso", "steps": ()}), *skill.ladder)}
    )
    found = {f.technique: f for f in honest_first(shipped, inventory_of(shipped), spoiled)}
    assert "head-tilt" in found
    assert {"tilt-torso", "gauge-torso"} <= set(found["head-tilt"].would_do)


def test_a_group_that_meets_the_always_open_torso_first_suffers_later(shipped: Curriculum) -> None:
    """Common practice, no source: learners who met a permissive trainer first fail to tilt the head later.

    On the course as it is planned no group does. Put the always-open torso's station on the first day and the course
    names the tilt, the groups, and a later skill of theirs that suffers.
    """
    tilt = [found for found in course_of(shipped).findings if found.technique == "head-tilt"]
    assert tilt == []
    one = shipped.stations["bag-mask-one-disrupt"]
    assert one.trainer == "open-torso"
    first = min(shipped.labs.values(), key=lambda lab: lab.on)
    stop = first.stations[0].model_copy(update={"station": one.id})
    turned = first.model_copy(update={"stations": (stop, *first.stations), "orders": ()})
    found = course_of(replace(shipped, labs={**shipped.labs, first.id: turned})).findings
    misled = [each for each in found if (each.technique, each.station) == ("head-tilt", one.id)]
    assert misled
    assert all(each.suffers in shipped.skills and each.suffers != one.skill for each in misled)
    assert all(each.groups for each in misled)


def test_adjuncts_come_on_a_trainer_that_accepts_them(shipped: Curriculum) -> None:
    """Common practice, no source."""
    for id, device in (("oral-adjunct", "oral-adjuncts"), ("nasal-adjunct", "nasal-adjuncts")):
        found = compare(shipped, inventory_of(shipped), shipped.skills[id]).best
        assert isinstance(found, BestLadder)
        assert device in shipped.trainers[found.trainers[-1]].accepts
        assert "tilt-torso" not in found.trainers, "it takes no adjunct"


def test_the_contaminated_airway_and_then_the_full_simulation_come_last(shipped: Curriculum) -> None:
    """Common practice, no source."""
    found = best_to_the_same_end(shipped, "suction-and-ventilate-soiled-airway")
    assert found.trainers[-2:] == ("flood-head", "call-simulator")
    assert len(found.trainers) >= 3
    assert found.late == (), "nothing is left to be learned on the costliest trainer"


def test_the_simulator_is_never_met_before_everything_cheaper_has_been_earned(shipped: Curriculum) -> None:
    """Common practice, no source."""
    ended = 0
    for one in shipped.skills.values():
        if one.ladder and one.ladder[-1].trainer == "call-simulator":
            found = best_to_the_same_end(shipped, one.id)
            assert len(found.trainers) > 1
            ended += 1
    assert ended >= 3


def test_the_terminal_shows_written_and_best_side_by_side(shipped: Curriculum) -> None:
    text = ladder_text(shipped, analyse(shipped), "suction-and-ventilate-soiled-airway")
    assert "written" in text
    assert "End on the whole-call simulator: it takes the whole skill." in text
