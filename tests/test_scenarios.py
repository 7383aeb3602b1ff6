"""Scenarios as machines: worked by hand, and equal to walking every path of small random machines.

The machines are invented. The rules of a run are those of `generator/analysis/scenario/machine.py`; the judge below
walks paths one move at a time and shares no code with it.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from math import inf
from pathlib import Path

import pytest

from generator.analysis.scenario.flaws import clashes, endless_states, unreachable
from generator.analysis.scenario.machine import can_end, endings, if_nobody_acts, length, machine_of, reachable
from generator.analysis.scenario.numbers import minutes_left, worked_numbers
from generator.analysis.scenario.prerequisites import prerequisites
from generator.analysis.scenario.variants import variant_of
from generator.model import Scenario
from generator.reading import read_curriculum

SHIPPED = Path(__file__).parent.parent / "curriculum"


def scenario(states: list[dict[str, object]], **more: object) -> Scenario:
    """A scenario with nothing in it but its states."""
    values: dict[str, object] = {
        "id": "invented", "title": "Invented", "strand": "knots", "levels": ["hand"], "minutes": 10, "learners": 2,
        "brief": "Brief.", "dispatch": "Dispatch.", "scene": "Scene.", "trainer": "board", "needed_for": ["Nothing."],
        "patient": {"age_years": 40, "sex": "female", "about": "Invented."}, "safety_stop": "Stop.",
        "skills": ["knot"], "start": "a", "states": states, "reviewed": {"on": "2026-11-25", "by": "Lead"},
        "debrief": [{"name": "Look", "minutes": 1, "aim": "Look.", "questions": ["What?"]}], **more,
    }  # fmt: skip
    return Scenario.model_validate(values)


def action(id: str, to: str | None, *, step: str | None = None, takes: int = 0) -> dict[str, object]:
    return {"id": id, "says": id, "on": "action", "skill": "knot" if step else None, "step": step, "to": to,
            "takes_seconds": takes}  # fmt: skip


def timer(id: str, to: str, seconds: int, *, without: str | None = None) -> dict[str, object]:
    return {"id": id, "says": id, "on": "omission" if without else "time", "skill": "knot" if without else None,
            "step": without, "after_seconds": seconds, "to": to}  # fmt: skip


def test_a_machine_worked_by_hand() -> None:
    made = scenario(
        [
            {"id": "a", "title": "A", "moves": [
                action("note", None, step="tie"),
                action("pull", "b", step="pull", takes=5),
                timer("slow", "c", 60, without="tie"),
                timer("over", "d", 90),
            ]},
            {"id": "b", "title": "B", "moves": [timer("done", "d", 10)]},
            {"id": "c", "title": "C", "moves": [action("mend", "b", step="mend", takes=20), timer("lost", "e", 40)]},
            {"id": "d", "title": "D", "exit": "Well."},
            {"id": "e", "title": "E", "exit": "Badly."},
        ]
    )  # fmt: skip
    machine = machine_of(made)
    # a →(5) b →(10) d is the quickest; a →(60) c →(at most 40) b →(10) d is the slowest, 110 seconds.
    assert length(machine).shortest == 15
    assert length(machine).longest == 110
    assert if_nobody_acts(made).states == (("a", 0), ("c", 60), ("e", 100))
    well, badly = endings(machine, made)
    assert well.always == frozenset()  # by way of `over` nobody did anything
    assert well.sometimes == {("knot", "tie"), ("knot", "pull"), ("knot", "mend")}
    assert badly.always == frozenset()
    assert badly.sometimes == {("knot", "tie")}
    assert not list(endless_states(made)) and not list(unreachable(made)) and not list(clashes(made))


def test_flaws_are_named_where_they_stand() -> None:
    made = scenario(
        [
            {"id": "a", "title": "A", "moves": [
                timer("first", "b", 10), timer("second", "c", 10), action("late", "b", takes=30),
            ]},
            {"id": "b", "title": "B"},
            {"id": "c", "title": "C", "exit": "Well."},
            {"id": "d", "title": "D", "moves": [action("go", "c")]},
        ]
    )  # fmt: skip
    # `second` never comes first, so `a` leads only to `b`, from which nothing leads on.
    assert [flaw.path for flaw in endless_states(made)] == [("states", 0, "id"), ("states", 1, "id")]
    assert [flaw.path for flaw in clashes(made)] == [("states", 0, "moves", 1)]
    assert {flaw.path for flaw in unreachable(made)} >= {
        ("states", 0, "moves", 1, "id"), ("states", 0, "moves", 2, "id"), ("states", 3, "id"),
    }  # fmt: skip


def test_a_state_that_can_be_held_makes_the_longest_run_endless() -> None:
    made = scenario(
        [
            {"id": "a", "title": "A", "moves": [action("go", "b")]},
            {"id": "b", "title": "B", "exit": "Well."},
        ]
    )
    found = length(machine_of(made))
    assert (found.shortest, found.longest, found.endless_because) == (0, inf, ("a",))


def random_machine(rng: random.Random) -> Scenario:
    count = rng.randint(2, 5)
    names = [chr(ord("a") + number) for number in range(count)]
    states: list[dict[str, object]] = []
    for name in names:
        if name == names[-1] or (name != "a" and rng.random() < 0.3):
            states.append({"id": name, "title": name, "exit": "End."})
            continue
        moves: list[dict[str, object]] = []
        for number in range(rng.randint(1 if name == "a" else 0, 4)):
            id = f"{name}{number}"
            step = rng.choice(["p", "q", "r"])
            kind = rng.randrange(4)
            if kind == 0:
                moves.append(action(id, None, step=step, takes=rng.choice([0, 4, 9])))
            elif kind == 1:
                moves.append(action(id, rng.choice(names), step=step, takes=rng.choice([0, 3, 7])))
            elif kind == 2:
                moves.append(timer(id, rng.choice(names), rng.randint(1, 8)))
            else:
                moves.append(timer(id, rng.choice(names), rng.randint(1, 8), without=step))
        states.append({"id": name, "title": name, "moves": moves})
    return scenario(states)


Step = tuple[str, int, frozenset[tuple[str, str]], frozenset[tuple[str, str]]]
"""Where a move leads, the second of the stay at which it happens, what it did for sure, and what was noted before."""


def stays(made: Scenario, name: str) -> Iterator[Step]:
    """Every way out of a state, second by second: each subset of noted actions is tried with each second."""
    state = next(one for one in made.states if one.id == name)
    notes = [move for move in state.moves if move.on == "action" and move.to is None]
    for chosen in range(1 << len(notes)):
        noted = [move for bit, move in enumerate(notes) if chosen >> bit & 1]
        for second in range(12):
            # Noted actions are done as soon as they can be; only those done by now count.
            done = frozenset((m.skill or "", m.step or "") for m in noted if m.takes_seconds <= second)
            timers = [
                move
                for move in state.moves
                if move.on != "action" and move.to is not None and move.after_seconds == second
                and not (move.on == "omission" and (move.skill, move.step) in done)
            ]  # fmt: skip
            # Before the timers of this second strike, an action may still be done in it.
            for move in state.moves:
                if move.on == "action" and move.to is not None and move.takes_seconds <= second:
                    yield move.to, second, frozenset([(move.skill or "", move.step or "")]), done
            if timers:
                yield timers[0].to or "", second, frozenset(), done
                break


@pytest.mark.parametrize("block", range(10))
def test_equal_to_walking_every_path(block: int) -> None:
    rng = random.Random(block)
    ended = 0
    for _ in range(100):
        made = random_machine(rng)
        exits = {state.id for state in made.states if state.exit is not None}
        machine = machine_of(made)
        steps = {state.id: set(stays(made, state.id)) if state.exit is None else set() for state in made.states}
        # Walk configurations (state, steps done for sure) breadth first; times by relaxing until nothing changes.
        entered, quickest = {"a"}, {"a": 0}
        always: dict[str, set[frozenset[tuple[str, str]]]] = {"a": {frozenset()}}
        changed = True
        while changed:
            changed = False
            for name in list(entered):
                for to, seconds, sure, _ in steps[name]:
                    entered.add(to)
                    if quickest[name] + seconds < quickest.get(to, 10**9):
                        quickest[to], changed = quickest[name] + seconds, True
                    for before in list(always.get(name, ())):
                        if before | sure not in always.setdefault(to, set()):
                            always[to].add(before | sure)
                            changed = True
        assert reachable(machine) == entered
        reached = exits & entered
        assert {ending.state for ending in endings(machine, made)} == reached
        for ending in endings(machine, made):
            assert ending.always == frozenset.intersection(*always[ending.state])
        expected = min((quickest[state] for state in reached), default=None)
        assert length(machine).shortest == expected
        ended += expected is not None
        ends = set(exits)
        while True:
            more = {name for name in steps if name not in ends and any(to in ends for to, *_ in steps[name])}
            if not more:
                break
            ends |= more
        assert can_end(machine) == ends
    assert ended > 15  # otherwise this would compare nothing


def test_a_variant_is_the_same_for_the_same_seed_and_its_numbers_are_worked_out_again() -> None:
    curriculum, _ = read_curriculum(SHIPPED)
    assert curriculum is not None
    base = curriculum.scenarios["vomit-on-the-stairs"]
    assert variant_of(base, 7) == variant_of(base, 7)
    drawn = [variant_of(base, seed) for seed in range(40)]
    assert len({(one.patient.age_years, one.patient.height_cm) for one in drawn}) > 30
    assert base.variants is not None and base.variants.height_cm is not None
    for one in drawn:
        assert base.variants.height_cm.least <= (one.patient.height_cm or 0) <= base.variants.height_cm.most
        numbers = {worked.id: worked.value for worked in worked_numbers(one)}
        height = float(one.patient.height_cm or 0)
        # ARDSNet 2000: 50 kg + 0.91 kg for each cm above 152.4 cm, for a man.
        assert numbers["predicted-weight"] == f"{50 + 0.91 * (height - 152.4):.1f} kg"
        gauge = float(one.cylinder.gauge_psi if one.cylinder else 0)
        # Virginia OEMS 2010: (gauge − 200 psi) × 0.16 for a D cylinder, over the flow.
        assert minutes_left(one.cylinder) == pytest.approx((gauge - 200) * 0.16 / 15)


@pytest.mark.parametrize("name", sorted(path.stem for path in (SHIPPED / "scenarios").glob("*.yaml")))
def test_every_shipped_scenario_can_be_run(name: str) -> None:
    curriculum, _ = read_curriculum(SHIPPED)
    assert curriculum is not None
    made = curriculum.scenarios[name]
    machine = machine_of(made)
    assert reachable(machine) == set(machine.states)
    assert can_end(machine) == set(machine.states)
    assert if_nobody_acts(made).ends
    found = length(machine)
    assert found.shortest is not None and found.shortest <= made.minutes * 60


@pytest.mark.parametrize(
    ("age", "values"),
    [
        # Luscombe and Owens 2007: 3 x age + 7, beside the older 2 x (age + 4) for 1 to 10 years. Tubes: Cole 1957,
        # age/4 + 4 without a cuff; age/4 + 3.5 with one and age/2 + 12 cm, both for 2 to 10 years (preformed-ett).
        (1, {"weight-older-rule": "10 kg", "weight-newer-rule": "10 kg"}),
        (4, {"weight-older-rule": "16 kg", "weight-newer-rule": "19 kg", "tube-cuffed": "4.5 mm", "tube-depth": "14 cm",
             "tube-uncuffed": "5 mm"}),
        (8, {"weight-older-rule": "24 kg", "weight-newer-rule": "31 kg", "tube-cuffed": "5.5 mm", "tube-depth": "16 cm",
             "tube-uncuffed": "6 mm"}),
        (12, {"weight-newer-rule": "43 kg"}),
        (17, {}),
    ],
)  # fmt: skip
def test_a_childs_numbers_come_by_the_published_rules(age: int, values: dict[str, str]) -> None:
    made = scenario(
        [{"id": "a", "title": "A", "exit": "End."}], patient={"age_years": age, "sex": "female", "about": "X"}
    )
    found = {worked.id: worked.value.split(";")[0] for worked in worked_numbers(made)}
    assert found == values


@pytest.mark.parametrize(
    ("sex", "height", "weight", "volume"),
    [
        # ARDSNet 2000: 50 (men) or 45.5 (women) + 0.91 x (height - 152.4) kg; 4, 6 and 8 mL/kg of it.
        ("male", 152.4, "50.0 kg", "200–400 mL, usually 300 mL"),
        ("female", 152.4, "45.5 kg", "182–364 mL, usually 273 mL"),
        ("male", 180, "75.1 kg", "300–601 mL, usually 451 mL"),
        ("female", 170, "61.5 kg", "246–492 mL, usually 369 mL"),
    ],
)
def test_an_adults_numbers_come_by_the_published_formula(sex: str, height: float, weight: str, volume: str) -> None:
    patient = {"age_years": 40, "sex": sex, "height_cm": height, "about": "X"}
    made = scenario([{"id": "a", "title": "A", "exit": "End."}], patient=patient)
    found = {worked.id: worked.value for worked in worked_numbers(made)}
    assert found == {"predicted-weight": weight, "tidal-volume": volume}


@pytest.mark.parametrize(
    ("size", "gauge", "flow", "minutes"),
    # The two worked examples of the Virginia OEMS sheet of 2010: 15.2 and 15.4 minutes, printed there as 15.
    [("D", 1150, 10, 15.2), ("E", 750, 10, 15.4)],
)
def test_a_cylinder_lasts_as_the_published_examples_say(size: str, gauge: int, flow: int, minutes: float) -> None:
    cylinder = {"size": size, "gauge_psi": gauge, "litres_per_minute": flow}
    made = scenario([{"id": "a", "title": "A", "exit": "End."}], cylinder=cylinder)
    assert minutes_left(made.cylinder) == pytest.approx(minutes)
    assert next(one.value for one in worked_numbers(made) if one.id == "cylinder-minutes") == "15 minutes"


def test_what_must_come_before_worked_by_hand() -> None:
    curriculum, _ = read_curriculum(SHIPPED)
    assert curriculum is not None
    base = curriculum.scenarios["vomit-on-the-stairs"]
    # Ladder of bag-mask-two-person: tilt-torso, gauge-torso, call-simulator; of oxygen-set-up: cleared on disrupt.
    found = prerequisites(curriculum, base.model_copy(update={"skills": ("bag-mask-two-person", "oxygen-set-up")}))
    assert [(one.skill, one.rung, one.trainer, one.needed_by) for one in found.before] == [
        ("bag-mask-two-person", "combine", "gauge-torso", ()),
        ("oxygen-set-up", "combine", "oxygen-bench", ()),
        ("open-airway-by-hand", "combine", "lung-head", ("bag-mask-two-person", "oral-adjunct")),
        ("oral-adjunct", "combine", "lung-head", ("bag-mask-two-person",)),
    ]
    by_skill = {one.skill: one.taught_by for one in found.before}
    assert by_skill["oxygen-set-up"] == ("airway-4",)
    assert (found.ready_after, found.untaught) == ("airway-4", ())
    # Without that lab day nothing teaches it, and the crew is never ready.
    labs = {id: lab for id, lab in curriculum.labs.items() if id != "airway-4"}
    without = prerequisites(replace(curriculum, labs=labs), base.model_copy(update={"skills": ("oxygen-set-up",)}))
    assert [one.skill for one in without.untaught] == ["oxygen-set-up"]
    assert without.ready_after is None
    assert prerequisites(curriculum, base.model_copy(update={"skills": ("nobody",)})).before == ()


def test_prerequisites_that_run_in_a_circle_are_each_named_once() -> None:
    curriculum, _ = read_curriculum(SHIPPED)
    assert curriculum is not None
    skills = dict(curriculum.skills)
    skills["open-airway-by-hand"] = skills["open-airway-by-hand"].model_copy(
        update={"prerequisites": ("oral-adjunct",)}
    )
    base = curriculum.scenarios["vomit-on-the-stairs"].model_copy(update={"skills": ("oral-adjunct",)})
    found = prerequisites(replace(curriculum, skills=skills), base)
    assert [one.skill for one in found.before] == ["oral-adjunct", "open-airway-by-hand"]


def test_scenarios_span_the_strands() -> None:
    curriculum, _ = read_curriculum(SHIPPED)
    assert curriculum is not None
    assert {one.strand for one in curriculum.scenarios.values()} == {one.id for one in curriculum.program.strands}
    assert all(one.cheaper and one.brief and one.debrief for one in curriculum.scenarios.values())
    trainers = curriculum.trainers
    for one in curriculum.scenarios.values():
        assert one.cheaper is not None and one.cheaper.trainer != one.trainer
        assert trainers[one.cheaper.trainer].units > 0
