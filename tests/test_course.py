"""Carry-over across the course: instances worked out by hand, swaps that mend, the map, and properties."""

from __future__ import annotations

import random
from itertools import permutations

from small_labs import curriculum, lab, rung, skill, station, step, trainer

from generator.analysis.course import Bring, CarryOver, Reorder, Swap, course_of, order_of
from generator.analysis.explain import carry_message, carry_remedy
from generator.model import Curriculum, Worth

HONEST = trainer("head", "tilt:earned")
LIES = trainer("torso", "tilt:given")
OPEN = skill("open", step("tilt-it", "tilt"))
BREATHE = skill("breathe", step("tilt-it", "tilt"))
GOOD = station("good", "open", "head")
BAD = station("bad", "breathe", "torso")
LATER = station("later", "open", "torso")


def course(*labs: object, more: tuple[object, ...] = ()) -> Curriculum:
    return curriculum(HONEST, LIES, OPEN, BREATHE, GOOD, BAD, LATER, *labs, *more)  # type: ignore[arg-type]


def test_groups_start_one_station_apart_and_move_on_in_the_order_listed() -> None:
    day = lab("d", "a b c", learners=16, visits={"b": 2})
    assert [order_of(day, g) for g in range(1, 6)] == [
        ("a", "b", "c", "b"),
        ("b", "c", "a", "b"),
        ("c", "a", "b", "b"),
        ("a", "b", "c", "b"),
        (),
    ]
    typed = lab("d", "a b c", learners=8, orders={2: "c b a"})
    assert [order_of(typed, g) for g in (1, 2)] == [("a", "b", "c"), ("c", "b", "a")]


def test_a_group_that_starts_on_the_lie_is_named_with_the_swap_that_mends_it() -> None:
    # Group 1: good, bad. Group 2 starts one station on: bad, good.
    (found,) = course_of(course(lab("d", "good bad", learners=8))).findings
    assert (found.lab, found.station, found.technique, found.groups) == ("d", "bad", "tilt", (2,))
    assert (found.skill, found.trainer, found.step, found.suffers) == ("breathe", "torso", "tilt-it", "open")
    assert found.order_can_mend
    assert not found.is_typed
    assert found.mends == (Swap(group=2, station="bad", with_station="good"),)


def test_an_earlier_day_that_earned_it_keeps_the_group_safe() -> None:
    assert course_of(course(lab("b", "bad", day=7), lab("a", "good", day=0))).findings == ()


def test_a_later_honest_station_can_be_brought_forward() -> None:
    (found,) = course_of(course(lab("first", "bad", day=0), lab("second", "good later", day=7))).findings
    assert not found.order_can_mend
    assert found.suffers == "open"
    assert found.mends == (Bring(station="good", from_lab="second", groups=(1,)),)


def test_what_nothing_mends_is_said() -> None:
    made = course(lab("d", "bad later"))
    (found,) = course_of(made).findings
    assert found.mends == ()
    assert not found.order_can_mend
    assert "add a station" in carry_remedy(made, found)


def test_a_reason_on_the_rung_is_kept() -> None:
    breathe = skill("breathe", step("tilt-it", "tilt"), ladder=(rung("torso", because="All we have."),))
    made = curriculum(LIES, breathe, BAD, lab("d", "bad"))
    (found,) = course_of(made).findings
    assert found.because == "All we have."


def test_a_station_practises_what_its_rung_practises() -> None:
    two = skill("breathe", step("tilt-it", "tilt"), step("press"), ladder=(rung("torso", "press"),))
    assert course_of(curriculum(LIES, two, BAD, lab("d", "bad"))).findings == ()


def test_the_nearest_swap_that_adds_no_finding_is_offered() -> None:
    # Order x y z. x lies about a; y earns a but lies about b; z earns b and is silent about a: two findings.
    # y x z mends a and leaves b as it was; x z y mends b and leaves a. Both are nearer than the whole turn z y x.
    made = curriculum(
        trainer("x", "a:given"),
        trainer("y", "a:earned b:given"),
        trainer("z", "b:earned"),
        skill("s", step("one", "a b")),
        station("sx", "s", "x"),
        station("sy", "s", "y"),
        station("sz", "s", "z"),
        lab("d", "sx sy sz"),
    )
    findings = {f.technique: f for f in course_of(made).findings}
    assert set(findings) == {"a", "b"}
    assert findings["a"].mends == (Swap(group=1, station="sx", with_station="sy"),)
    assert findings["b"].mends == (Swap(group=1, station="sy", with_station="sz"),)


def test_when_no_single_swap_does_a_whole_order_is_offered() -> None:
    # l lies about p, m earns p and lies about q, n earns q and lies about r, o earns r. Honest only as o n m l.
    made = curriculum(
        trainer("l", "p:given"),
        trainer("m", "q:given p:earned"),
        trainer("n", "r:given q:earned"),
        trainer("o", "r:earned"),
        skill("s", step("one", "p q r")),
        *(station(f"s{t}", "s", t) for t in "lmno"),
        lab("d", "sl sm sn so"),
    )
    found = {f.technique: f for f in course_of(made).findings}
    assert set(found) == {"p", "q", "r"}
    assert all(f.order_can_mend for f in found.values())
    assert all(f.mends and isinstance(f.mends[0], Swap | Reorder) for f in found.values())


def test_the_map_marks_the_first_honest_meeting() -> None:
    found = course_of(course(lab("one", "good bad", learners=8), lab("two", "good", day=7, learners=4)))
    assert found.map.labs == ("one", "two")
    ((technique, cells),) = found.map.rows
    assert technique == "tilt"
    assert (cells[0].first_honest, cells[0].first_given) == ((1, 2), (2,))
    assert cells[0].worths == (Worth.EARNED, Worth.GIVEN)
    assert (cells[1].first_honest, cells[1].is_met) == ((), True)
    ((_, firsts),) = found.firsts
    assert [(f.group, f.lab, f.station, f.place) for f in firsts] == [(1, "one", "good", 0), (2, "one", "good", 1)]


def test_the_sentence_names_station_groups_and_the_skill_that_suffers() -> None:
    made = course(lab("d", "good bad", learners=8))
    (found,) = course_of(made).findings
    assert carry_message(made, found) == (
        "The tilt light comes on. On the torso trainer that is given, and at `bad` group 2 meets tilt before it was "
        "earned at any station. `Skill open` rests on it later."
    )
    assert carry_remedy(made, found) == "For group 2 swap `bad` and `good`."


def random_course(seed: int) -> Curriculum:
    rng = random.Random(seed)
    techniques = ("a", "b", "c")
    worths = ("earned", "given", "silent")
    trainers = [
        trainer(f"t{n}", " ".join(f"{t}:{rng.choice(worths)}" for t in techniques)) for n in range(5)
    ]
    one = skill("s", *(step(f"on-{t}", t) for t in techniques))
    stations = [station(f"s{n}", "s", f"t{n}") for n in range(5)]
    names = [s.id for s in stations]
    return curriculum(
        *trainers, one, *stations, lab("one", " ".join(rng.sample(names, 4))), lab("two", rng.choice(names), day=7)
    )


def false_meetings(made: Curriculum, order: tuple[str, ...]) -> set[str]:
    """Techniques first met on `given` on the first day in this order, straight from the definition."""
    false: set[str] = set()
    settled: set[str] = set()
    for id in order:
        for t, feedback in made.trainers[made.stations[id].trainer].feedback.items():
            if feedback.worth is Worth.GIVEN and t not in settled:
                false.add(t)
            if feedback.worth is not Worth.SILENT:
                settled.add(t)
    return false


def spares(made: Curriculum, order: tuple[str, ...], found: CarryOver) -> bool:
    """Whether this order meets the station only once the technique is earned, with no lie before it."""
    before = order[: order.index(found.station)]
    worths = [made.trainers[made.stations[id].trainer].worth_of(found.technique) for id in before]
    return any(worth.is_honest for worth in worths) and not false_meetings(made, before)


def test_findings_and_mends_equal_trying_every_order() -> None:
    swaps = mendable = 0
    for seed in range(500):
        made = random_course(seed)
        today = order_of(made.labs["one"], 1)
        found = [f for f in course_of(made).findings if f.lab == "one"]
        assert {f.technique for f in found} == false_meetings(made, today)
        for one in found:
            assert one.order_can_mend == any(spares(made, order, one) for order in permutations(today))
            mendable += one.order_can_mend
            for mend in one.mends:
                if isinstance(mend, Swap):
                    turned = list(today)
                    i, j = turned.index(mend.station), turned.index(mend.with_station)
                    turned[i], turned[j] = turned[j], turned[i]
                    after = false_meetings(made, tuple(turned))
                    assert one.technique not in after
                    swaps += 1
    assert swaps > 100
    assert mendable > 100
