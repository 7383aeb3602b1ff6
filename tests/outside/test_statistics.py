"""Every check of `statistics-checks.json` against our functions, with its published tolerance.

The file names for each expected value its source, its basis (`published`: read in the source; `memory`: recalled,
libraries agree; `math`: an identity; `constructed`: invented data) and the libraries that recomputed it. Both stand
in the test's id. A check without an implementation fails the suite unless it is left out below, with the reason.
"""

from __future__ import annotations

import itertools
import json
import math
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any, TypeVar

import pytest
from hypothesis import given
from hypothesis import strategies as st

from generator.analysis.statistics import agreement, beta, blocks, decay, many_raters, proportions, runs, standards
from generator.analysis.statistics.result import Interval, Undefined, Why, normal_interval
from generator.analysis.wear import cost_per_attempt
from generator.model import Trainer

CHECKS: dict[str, dict[str, Any]] = {
    check["id"]: check
    for check in json.loads((Path(__file__).parent / "statistics-checks.json").read_text(encoding="utf-8"))["checks"]
}

LEFT_OUT = {
    "mps_published": "quotes one study's cut scores; the judges' marks are not published: nothing to compute",
    "cpr_interval_rct": "quotes one trial's results; a finding to cite, not a method",
    "cepeda_gap": "quotes one study's findings, on facts and not on hand skills; not a method",
    "latin_counts": "counts Latin squares; nothing in the handbook counts them (timetables are solved, not enumerated)",
}

Result = TypeVar("Result")


def _defined(result: Result | Undefined) -> Result:
    assert not isinstance(result, Undefined), str(result)
    return result


def _ends(interval: Interval | Undefined) -> list[float]:
    found = _defined(interval)
    return [found.low, found.high]


# --- one function a check: inputs in, the shape of `expected` out -------------------------------------------

COMPUTE: dict[str, Callable[[dict[str, Any]], Any]] = {}


def _computes(*ids: str) -> Callable[[Callable[[dict[str, Any]], Any]], Callable[[dict[str, Any]], Any]]:
    def keep(function: Callable[[dict[str, Any]], Any]) -> Callable[[dict[str, Any]], Any]:
        for id_ in ids:
            assert id_ not in COMPUTE
            COMPUTE[id_] = function
        return function

    return keep


@_computes("kappa_gerstman", "kappa_paradox_A", "kappa_paradox_B")
def _kappa(inputs: dict[str, Any]) -> Any:
    found = _defined(agreement.cohen_kappa(inputs["table"]))
    return {"po": found.observed, "pe": found.expected, "kappa": found.kappa}


@_computes("kappa_sas_simple", "kappa_flp_diagnosis")
def _kappa_with_errors(inputs: dict[str, Any]) -> Any:
    found = _defined(agreement.cohen_kappa(inputs["table"]))
    by_chance = {"ase0": found.error_by_chance, "se0": found.error_by_chance}
    return {"kappa": found.kappa, "ase": found.error, "z": _defined(found.z)} | by_chance


@_computes("pabak_FC_A", "pabak_FC_B")
def _pabak(inputs: dict[str, Any]) -> Any:
    return _defined(agreement.balance(inputs["table"])).pabak


@_computes("pabak_identity_FC_A", "pabak_identity_FC_B", "pabak_identity_gwet125", "pabak_identity_gerstman")
def _rebuilt_kappa(inputs: dict[str, Any]) -> Any:
    found = _defined(agreement.balance(inputs["table"]))
    assert found.prevalence_index == pytest.approx(inputs["PI"], abs=1e-12)
    assert found.bias_index == pytest.approx(inputs["BI"], abs=1e-12)
    rebuilt = _defined(found.kappa)
    assert rebuilt == pytest.approx(_defined(agreement.cohen_kappa(inputs["table"])).kappa, abs=1e-12)
    return rebuilt


@_computes("ac1_gwet_125")
def _ac1(inputs: dict[str, Any]) -> Any:
    return {
        "ac1": _defined(agreement.gwet_ac1(inputs["table"])).ac1,
        "kappa": _defined(agreement.cohen_kappa(inputs["table"])).kappa,
        "pabak": _defined(agreement.balance(inputs["table"])).pabak,
    }


def _counts_of(inputs: dict[str, Any]) -> list[list[float]]:
    return [[share * inputs["N"] for share in row] for row in inputs["proportions_judgeB_rows"]]


@_computes("kappa_cohen1968")
def _weighted(inputs: dict[str, Any]) -> Any:
    table = _counts_of(inputs)
    # "Swapped": Cohen's second example gives the first kind of disagreement 6 and the second 1.
    swapped = [[{1.0: 6.0, 6.0: 1.0}.get(weight, weight) for weight in row] for row in inputs["disagreement_weights"]]
    return {
        "kappa": _defined(agreement.cohen_kappa(table)).kappa,
        "kappa_w": _defined(agreement.weighted_kappa(table, inputs["disagreement_weights"])).kappa,
        "kappa_w_swapped_6_1": _defined(agreement.weighted_kappa(table, swapped)).kappa,
    }


@_computes("kappa_cohen1968_se")
def _old_errors(inputs: dict[str, Any]) -> Any:
    data = CHECKS[inputs["as"]]["inputs"]
    found = _defined(agreement.cohen_1968_errors(_counts_of(data), data["disagreement_weights"]))
    return {"se10": found.error_10, "se13": found.error_13, "z": _defined(found.z)}


@_computes("fleiss_1971")
def _fleiss(inputs: dict[str, Any]) -> Any:
    found = _defined(many_raters.fleiss_kappa(inputs["counts"]))
    return {"kappa": found.kappa, "P_bar": found.observed, "Pe_bar": found.expected}


@_computes("landis_koch_bands")
def _words(inputs: dict[str, Any]) -> Any:
    return [agreement.word_for(value) for value in inputs["values"]]


@_computes("runs_oeis", "runs_oeis_r2")
def _tosses(inputs: dict[str, Any]) -> Any:
    return [runs.run_chance(success=inputs["p"], run=inputs["r"], attempts=n).chance * 2**n for n in inputs["n"]]


@_computes("runs_feller_approx")
def _feller(inputs: dict[str, Any]) -> Any:
    p, r = inputs["p"], inputs["r"]
    return {
        "approx": [runs.no_run_by_root(success=p, run=r, attempts=n) for n in inputs["n"]],
        "exact": [1 - runs.run_chance(success=p, run=r, attempts=n).chance for n in inputs["n"]],
    }


@_computes("runs_mean_wait")
def _wait(inputs: dict[str, Any]) -> Any:
    return [_defined(runs.mean_wait(success=p, run=r)).attempts for p, r in inputs["cases"]]


@_computes("newcombe_81_263", "newcombe_0_20", "newcombe_1_29")
def _newcombe(inputs: dict[str, Any]) -> Any:
    x, n, confidence = inputs["x"], inputs["n"], inputs["conf"]
    return {
        "cp": _ends(proportions.clopper_pearson(x, n, confidence=confidence)),
        "wilson": _ends(proportions.wilson(x, n, confidence=confidence)),
    }


@_computes("scipy_cp_7_50")
def _exact_interval(inputs: dict[str, Any]) -> Any:
    return _ends(proportions.clopper_pearson(inputs["x"], inputs["n"]))


@_computes("learner_wilson")
def _small_records(inputs: dict[str, Any]) -> Any:
    return [_ends(proportions.wilson(x, n)) for x, n in inputs["cases"]]


@_computes("beta_all_pass")
def _all_pass(inputs: dict[str, Any]) -> Any:
    return [proportions.posterior(n, n, threshold=inputs["t"]).chance_above for n in inputs["n"]]


@_computes("beta_18_20")
def _posterior(inputs: dict[str, Any]) -> Any:
    found = proportions.posterior(inputs["x"], inputs["n"], threshold=inputs["t"])
    return {"P_gt_t": found.chance_above, "mean": found.mean}


@_computes("success_run")
def _success_run(inputs: dict[str, Any]) -> Any:
    return [
        runs.attempts_needed(confidence=confidence, reliability=reliability).attempts
        for confidence, reliability in inputs["cases"]
    ]


@_computes("rule_of_three")
def _three(inputs: dict[str, Any]) -> Any:
    found = [_defined(proportions.no_events(n)) for n in inputs["n"]]
    return {"approx": [each.rule_of_three for each in found], "exact": [each.exact for each in found]}


@_computes("angoff_constructed")
def _angoff(inputs: dict[str, Any]) -> Any:
    found = _defined(standards.angoff(inputs["judges_by_items"]))
    return {
        "cut": found.cut,
        "judge_sums": list(found.judge_sums),
        "pct": found.percent,
        "sd": _defined(found.spread),
        "se": _defined(found.error),
    }


@_computes("critical_steps_product")
def _product(inputs: dict[str, Any]) -> Any:
    return [runs.all_steps_chance(each=each, steps=steps) for each, steps in inputs["cases"]]


# Shrout and Fleiss 1979 (doi:10.1037/0033-2909.86.2.420), table 2: six targets, four judges. Table from memory; the
# paper prints ICC(1,1) .17, ICC(3,1) .71, ICC(1,4) .44, ICC(3,4) .91, which the test below holds it to.
SHROUT_FLEISS = [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]


def _mean_squares() -> tuple[Fraction, Fraction, Fraction]:
    """Exact mean squares between targets, within targets, and residual, by the textbook sums."""
    n, k = len(SHROUT_FLEISS), len(SHROUT_FLEISS[0])
    grand = Fraction(sum(map(sum, SHROUT_FLEISS)), n * k)
    total = sum((cell - grand) ** 2 for row in SHROUT_FLEISS for cell in row)
    targets = sum(k * (Fraction(sum(row), k) - grand) ** 2 for row in SHROUT_FLEISS)
    judges = sum(n * (Fraction(sum(column), n) - grand) ** 2 for column in zip(*SHROUT_FLEISS, strict=True))
    between = Fraction(targets, n - 1)
    return between, Fraction(total - targets, n * (k - 1)), Fraction(total - targets - judges, (n - 1) * (k - 1))


def _icc() -> dict[str, float]:
    between, within, residual = _mean_squares()
    k = 4
    return {
        "1,1": float((between - within) / (between + (k - 1) * within)),
        "3,1": float((between - residual) / (between + (k - 1) * residual)),
        "1,4": float((between - within) / between),
        "3,4": float((between - residual) / between),
    }


@_computes("spearman_brown_identity")
def _spearman_brown(inputs: dict[str, Any]) -> Any:
    assert inputs["as"] == "icc_shrout_fleiss"
    one = _icc()
    return [_defined(many_raters.spearman_brown(one[kind], 4)) for kind in ("3,1", "1,1")]


@_computes("peers_needed")
def _peers(inputs: dict[str, Any]) -> Any:
    return [_defined(many_raters.peers_needed(one_peer=r, wanted=wanted)) for r, wanted in inputs["pairs_r_R"]]


@_computes("mcnemar_exact_small")
def _mcnemar(inputs: dict[str, Any]) -> Any:
    (_, only_first), (only_second, _) = inputs["table"]
    return _defined(proportions.exact_mcnemar(only_first, only_second)).p_value


@_computes("kappa_precision")
def _precision(inputs: dict[str, Any]) -> Any:
    return [
        _ends(_defined(agreement.cohen_kappa([[n * cell for cell in row] for row in inputs["cell_props"]])).interval)
        for n in inputs["n"]
    ]


@_computes("half_life_interval")
def _intervals(inputs: dict[str, Any]) -> Any:
    return [
        [decay.months_to(target, half_life_months=months) for target in inputs["target"]]
        for months in inputs["h_months"]
    ]


@_computes("eti_implied_half_life")
def _implied(inputs: dict[str, Any]) -> Any:
    return _defined(decay.half_life(before=inputs["p0"], after=inputs["p1"], months=inputs["months"]))


@_computes("cost_per_rep")
def _cost(inputs: dict[str, Any]) -> Any:
    # A trainer has no salvage value here: what a sale brings is taken off its purchase before it is typed.
    trainer = Trainer.model_validate(
        {
            "id": "torso",
            "name": "Torso",
            "summary": "Invented",
            "feedback": {},
            "setup_minutes": 1,
            "setup": (),
            "cleaning": (),
            "units": 1,
            "wear": {
                "purchase": str(inputs["price"] - inputs["salvage"]),
                "rated_attempts": inputs["rated_cycles"],
                "consumables_per_attempt": str(inputs["consumable"]),
            },
        }
    )
    return float(cost_per_attempt(trainer))


@_computes("rot_all_visit")
def _all_visit(inputs: dict[str, Any]) -> Any:
    return [blocks.fewest_blocks(groups=groups, stations=stations).blocks for groups, stations in inputs["cases"]]


@_computes("rot_capacity")
def _capacity(inputs: dict[str, Any]) -> Any:
    stations = inputs["stations"]
    return [
        blocks.fewest_blocks(
            groups=inputs["groups"],
            stations=stations,
            capacities=[caps.get(str(station), caps.get("all", 1)) for station in range(stations)],
        ).blocks
        for caps in inputs["caps"]
    ]


@_computes("rot_instructors")
def _instructors(inputs: dict[str, Any]) -> Any:
    return [
        blocks.fewest_blocks(groups=groups, stations=stations, instructors=instructors).blocks
        for groups, stations, instructors in inputs["cases"]
    ]


@_computes("rot_total_order")
def _in_order(inputs: dict[str, Any]) -> Any:
    return [blocks.fewest_blocks_in_order(groups=n, stations=m).blocks for n, m in inputs["cases"]]


@_computes("rot_first_station")
def _one_first(inputs: dict[str, Any]) -> Any:
    return [blocks.fewest_blocks_one_first(groups=n, stations=m).blocks for n, m in inputs["cases"]]


@_computes("round_robin")
def _rounds(inputs: dict[str, Any]) -> Any:
    return [len(blocks.rounds_of_pairs(n)) for n in inputs["n"]]


# --- the checks ---------------------------------------------------------------------------------------------


def _case_id(check: dict[str, Any]) -> str:
    return f"{check['id']}-{check['basis']}{'' if check['verified'] else '-unverified'}"


def _assert_close(found: Any, expected: Any, tolerance: Any, where: str) -> int:
    """Compare along the shape of `expected`; say how many values were compared."""
    if isinstance(expected, dict):
        return sum(
            _assert_close(
                found[key], value, tolerance[key] if isinstance(tolerance, dict) else tolerance, f"{where}.{key}"
            )
            for key, value in expected.items()
        )
    if isinstance(expected, list):
        assert len(found) == len(expected), where
        pairs = zip(found, expected, strict=True)
        return sum(_assert_close(one, other, tolerance, f"{where}[{i}]") for i, (one, other) in enumerate(pairs))
    if isinstance(expected, str):
        assert found == expected, where
    else:
        # One part in 10^12 beyond the tolerance, so that 0.0005 itself is not refused by rounding.
        assert abs(found - expected) <= tolerance + 1e-12 * abs(expected), f"{where}: {found} is not {expected}"
    return 1


def test_every_check_is_computed_or_left_out_with_a_reason() -> None:
    assert len(CHECKS) == 48
    assert set(COMPUTE).isdisjoint(LEFT_OUT)
    assert set(COMPUTE) | set(LEFT_OUT) == set(CHECKS)
    assert all(len(reason) > 20 for reason in LEFT_OUT.values())


@pytest.mark.parametrize("check", [pytest.param(CHECKS[id_], id=_case_id(CHECKS[id_])) for id_ in COMPUTE])
def test_published_value(check: dict[str, Any]) -> None:
    found = COMPUTE[check["id"]](check["inputs"])
    source = f"{check['id']} ({check['source']}; {check['basis']})"
    assert _assert_close(found, check["expected"], check["tolerance"], source) > 0


def test_shrout_and_fleiss_table_gives_the_printed_coefficients() -> None:
    # Shrout and Fleiss 1979, table 4: .17, .71, .44, .91.
    assert {kind: round(value, 2) for kind, value in _icc().items()} == {
        "1,1": 0.17,
        "3,1": 0.71,
        "1,4": 0.44,
        "3,4": 0.91,
    }


def test_weighted_errors_are_those_of_statsmodels() -> None:
    # The note of `kappa_cohen1968_se`: statsmodels gives 0.0755 and 0.0597 by Fleiss, Cohen and Everitt 1969.
    data = CHECKS["kappa_cohen1968"]["inputs"]
    found = _defined(agreement.weighted_kappa(_counts_of(data), data["disagreement_weights"]))
    assert sorted((found.error, found.error_by_chance), reverse=True) == pytest.approx([0.0755, 0.0597], abs=5e-5)


@pytest.mark.parametrize(
    ("table", "error"),
    [([[118, 5], [2, 0]], 0.02296), ([[40, 9], [6, 45]], 0.07135), ([[75, 1, 4], [5, 4, 1], [0, 0, 10]], 0.03923)],
)
def test_ac1_error_is_that_of_irrcac(table: list[list[int]], error: float) -> None:
    # irrCAC 0.4.4 (a Python package for agreement among raters), table functions, five digits printed.
    # Its interval uses t with n - 1 degrees of freedom, ours the normal distribution.
    assert _defined(agreement.gwet_ac1(table)).error == pytest.approx(error, abs=5e-6)


# --- cases without an answer are a named result -------------------------------------------------------------


@pytest.mark.parametrize(
    ("result", "why"),
    [
        pytest.param(agreement.cohen_kappa([[0, 0], [0, 0]]), Why.EMPTY, id="kappa-empty"),
        pytest.param(agreement.cohen_kappa([[9, 0], [0, 0]]), Why.NO_VARIANCE, id="kappa-one-category"),
        pytest.param(agreement.gwet_ac1([[0, 0], [0, 0]]), Why.EMPTY, id="ac1-empty"),
        pytest.param(agreement.balance([[0, 0], [0, 0]]), Why.EMPTY, id="balance-empty"),
        pytest.param(
            _defined(agreement.balance([[0, 0], [0, 7]])).kappa, Why.NO_VARIANCE, id="balance-kappa-one-category"
        ),
        pytest.param(
            _defined(agreement.cohen_kappa([[5, 3], [0, 0]])).z, Why.NO_SPREAD_BY_CHANCE, id="kappa-constant-rater"
        ),
        pytest.param(
            agreement.cohen_1968_errors([[4, 0], [0, 0]], [[0, 1], [1, 0]]), Why.NO_VARIANCE, id="1968-one-category"
        ),
        pytest.param(many_raters.fleiss_kappa([]), Why.EMPTY, id="fleiss-empty"),
        pytest.param(many_raters.fleiss_kappa([[0, 0]]), Why.EMPTY, id="fleiss-no-ratings"),
        pytest.param(many_raters.fleiss_kappa([[1, 0], [0, 1]]), Why.ONE_RATER, id="fleiss-one-rater"),
        pytest.param(many_raters.fleiss_kappa([[3, 0], [3, 0]]), Why.NO_VARIANCE, id="fleiss-one-category"),
        pytest.param(many_raters.spearman_brown(-0.5, 4), Why.NOT_RELIABLE, id="spearman-brown-negative"),
        pytest.param(many_raters.peers_needed(one_peer=0, wanted=0.5), Why.NOT_RELIABLE, id="peers-unreliable"),
        pytest.param(proportions.wilson(0, 0), Why.EMPTY, id="wilson-empty"),
        pytest.param(proportions.clopper_pearson(0, 0), Why.EMPTY, id="exact-interval-empty"),
        pytest.param(proportions.no_events(0), Why.EMPTY, id="no-events-empty"),
        pytest.param(proportions.exact_mcnemar(0, 0), Why.NO_DISAGREEMENT, id="mcnemar-no-disagreement"),
        pytest.param(runs.mean_wait(success=0, run=3), Why.NEVER, id="wait-never"),
        pytest.param(decay.half_life(before=0.6, after=0.6, months=3), Why.NEVER, id="no-decay"),
        pytest.param(standards.angoff([]), Why.EMPTY, id="angoff-no-judges"),
        pytest.param(standards.angoff([[]]), Why.EMPTY, id="angoff-no-steps"),
        pytest.param(_defined(standards.angoff([[0.5, 1.0]])).error, Why.ONE_JUDGE, id="angoff-one-judge"),
    ],
)
def test_undefined_is_named(result: Any, why: Why) -> None:
    assert result == Undefined(why=why)
    assert str(result) == f"undefined: {why}"


@pytest.mark.parametrize(
    "call",
    [
        pytest.param(lambda: agreement.cohen_kappa([[1, 2, 3], [4, 5, 6]]), id="table-not-square"),
        pytest.param(lambda: agreement.cohen_kappa([[1]]), id="table-one-category"),
        pytest.param(lambda: agreement.cohen_kappa([[1, -2], [3, 4]]), id="table-negative"),
        pytest.param(lambda: agreement.cohen_kappa([[1, math.nan], [3, 4]]), id="table-nan"),
        pytest.param(lambda: agreement.weighted_kappa([[1, 2], [3, 4]], [[0, 0], [0, 0]]), id="weights-all-zero"),
        pytest.param(lambda: agreement.weighted_kappa([[1, 2], [3, 4]], [[1, 1], [1, 0]]), id="weights-diagonal"),
        pytest.param(lambda: agreement.balance([[1, 0, 0], [0, 1, 0], [0, 0, 1]]), id="balance-3x3"),
        pytest.param(lambda: many_raters.fleiss_kappa([[2, 1], [1, 1]]), id="fleiss-ragged"),
        pytest.param(lambda: many_raters.spearman_brown(1.2, 4), id="reliability-above-1"),
        pytest.param(lambda: many_raters.peers_needed(one_peer=1, wanted=0.5), id="peer-perfect"),
        pytest.param(lambda: proportions.wilson(4, 3), id="more-events-than-trials"),
        pytest.param(lambda: proportions.clopper_pearson(-1, 3), id="negative-events"),
        pytest.param(lambda: proportions.wilson(1, 3, confidence=1), id="confidence-1"),
        pytest.param(lambda: proportions.posterior(1, 3, threshold=1.5), id="threshold-above-1"),
        pytest.param(lambda: runs.run_chance(success=1.1, run=3, attempts=9), id="success-above-1"),
        pytest.param(lambda: runs.run_chance(success=0.5, run=0, attempts=9), id="run-of-none"),
        pytest.param(lambda: runs.run_chance(success=0.5, run=1, attempts=-1), id="negative-attempts"),
        pytest.param(lambda: runs.no_run_by_root(success=0.5, run=1, attempts=4), id="double-root"),
        pytest.param(lambda: runs.attempts_needed(reliability=1, confidence=0.95), id="reliability-1"),
        pytest.param(lambda: decay.months_to(1, half_life_months=6), id="target-1"),
        pytest.param(lambda: standards.angoff([[0.5], [0.5, 0.5]]), id="angoff-ragged"),
        pytest.param(lambda: standards.angoff([[1.5]]), id="angoff-no-chance"),
        pytest.param(lambda: blocks.fewest_blocks(groups=0, stations=3), id="no-groups"),
        pytest.param(lambda: blocks.fewest_blocks(groups=3, stations=3, capacities=[1]), id="capacities-short"),
        pytest.param(lambda: blocks.rounds_of_pairs(1), id="one-person"),
        pytest.param(lambda: beta.beta_cdf(0.5, 0, 1), id="beta-shape"),
        pytest.param(lambda: beta.beta_quantile(1.5, 1, 1), id="beta-chance"),
    ],
)
def test_a_call_that_makes_no_sense_is_refused(call: Callable[[], object]) -> None:
    with pytest.raises(ValueError, match=r"\w"):
        call()


# --- identities and properties ------------------------------------------------------------------------------

tables = st.integers(2, 5).flatmap(
    lambda size: st.lists(st.lists(st.integers(0, 60), min_size=size, max_size=size), min_size=size, max_size=size)
)
counts = st.integers(1, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))
chances = st.floats(0.01, 0.99)


@given(tables)
def test_swapping_the_raters_changes_nothing(table: list[list[int]]) -> None:
    turned = [list(column) for column in zip(*table, strict=True)]
    one, other = agreement.cohen_kappa(table), agreement.cohen_kappa(turned)
    if isinstance(one, Undefined):
        assert one == other
    else:
        assert one.kappa == pytest.approx(_defined(other).kappa, abs=1e-12)
        assert one.error == pytest.approx(_defined(other).error, abs=1e-9)
    ac1, ac1_turned = agreement.gwet_ac1(table), agreement.gwet_ac1(turned)
    if isinstance(ac1, Undefined):
        assert ac1 == ac1_turned
    else:
        assert ac1.ac1 == pytest.approx(_defined(ac1_turned).ac1, abs=1e-12)
        assert ac1.error == pytest.approx(_defined(ac1_turned).error, abs=1e-9)


@given(tables, st.randoms(use_true_random=False))
def test_renaming_the_categories_changes_nothing(table: list[list[int]], random: Any) -> None:
    order = list(range(len(table)))
    random.shuffle(order)
    renamed = [[table[i][j] for j in order] for i in order]
    one, other = agreement.cohen_kappa(table), agreement.cohen_kappa(renamed)
    if isinstance(one, Undefined):
        assert one == other
    else:
        assert one.kappa == pytest.approx(_defined(other).kappa, abs=1e-12)


@given(tables)
def test_agreement_never_passes_one_and_nothing_is_nan(table: list[list[int]]) -> None:
    for result in (agreement.cohen_kappa(table), agreement.gwet_ac1(table)):
        if isinstance(result, Undefined):
            continue
        value = result.kappa if isinstance(result, agreement.Kappa) else result.ac1
        assert value <= 1 + 1e-12
        assert all(map(math.isfinite, (value, result.error, result.interval.low, result.interval.high)))


@given(st.integers(2, 5), st.integers(1, 50))
def test_full_agreement_over_all_categories_is_one(size: int, n: int) -> None:
    table = [[n if i == j else 0 for j in range(size)] for i in range(size)]
    assert _defined(agreement.cohen_kappa(table)).kappa == pytest.approx(1)
    assert _defined(agreement.gwet_ac1(table)).ac1 == pytest.approx(1)


def test_ac1_still_has_a_value_where_kappa_has_none() -> None:
    found = _defined(agreement.gwet_ac1([[40, 0], [0, 0]]))
    assert (found.ac1, found.error) == (1, 0)


@given(st.lists(st.tuples(st.integers(0, 1), st.integers(0, 1)), min_size=1, max_size=60))
def test_two_raters_by_fleiss_use_the_pooled_margins(pairs: list[tuple[int, int]]) -> None:
    # With two raters Fleiss' kappa is Scott's pi (Fleiss 1971): (po - sum of squared mean shares) / (1 - it).
    found = many_raters.fleiss_kappa([[2 - one - other, one + other] for one, other in pairs])
    share = Fraction(sum(one + other for one, other in pairs), 2 * len(pairs))
    chance = share**2 + (1 - share) ** 2
    if chance == 1:
        assert found == Undefined(why=Why.NO_VARIANCE)
    else:
        same = Fraction(sum(one == other for one, other in pairs), len(pairs))
        assert _defined(found).kappa == pytest.approx(float((same - chance) / (1 - chance)), abs=1e-9)


@given(counts)
def test_intervals_hold_the_share_and_mirror(count: tuple[int, int]) -> None:
    x, n = count
    for interval in (proportions.wilson, proportions.clopper_pearson):
        low, high = _ends(interval(x, n))
        assert -1e-12 <= low <= x / n + 1e-12
        assert x / n - 1e-12 <= high <= 1 + 1e-12
        assert _ends(interval(n - x, n)) == pytest.approx([1 - high, 1 - low], abs=1e-9)


@given(counts)
def test_exact_interval_leaves_its_tail_on_each_side(count: tuple[int, int]) -> None:
    # The definition of Clopper and Pearson 1934, with the binomial tail as the plain sum.
    x, n = count
    low, high = _ends(proportions.clopper_pearson(x, n))

    def at_most(k: int, p: float) -> float:
        return math.fsum(math.comb(n, i) * p**i * (1 - p) ** (n - i) for i in range(k + 1))

    if x > 0:
        assert 1 - at_most(x - 1, low) == pytest.approx(0.025, abs=1e-9)
    if x < n:
        assert at_most(x, high) == pytest.approx(0.025, abs=1e-9)


@given(st.integers(0, 60), st.integers(1, 60), st.floats(0, 1))
def test_binomial_tail_is_the_plain_sum(k: int, n: int, p: float) -> None:
    k = min(k, n)
    plain = math.fsum(math.comb(n, i) * p**i * (1 - p) ** (n - i) for i in range(k + 1))
    assert beta.binomial_at_most(k, n, p) == pytest.approx(plain, abs=1e-12)


@given(st.floats(0.3, 3000), st.floats(0.3, 3000), st.floats(0.0001, 0.9999))
def test_beta_quantile_undoes_the_distribution(a: float, b: float, p: float) -> None:
    x = beta.beta_quantile(p, a, b)
    if 1e-12 < x < 1 - 1e-12:
        assert beta.beta_cdf(x, a, b) == pytest.approx(p, abs=1e-9)


@given(st.floats(0.1, 5000), st.floats(0.1, 5000), st.floats(0.001, 0.999))
def test_beta_mirrors(a: float, b: float, x: float) -> None:
    assert beta.beta_cdf(x, a, b) + beta.beta_cdf(1 - x, b, a) == pytest.approx(1, abs=1e-9)


@pytest.mark.parametrize("p", [0.0, 0.25, 0.5, 0.9, 1.0])
@pytest.mark.parametrize("run", [1, 2, 3])
def test_run_chance_is_the_sum_over_all_sequences(p: float, run: int) -> None:
    # Brute force over every sequence of up to 9 attempts, in rational numbers.
    exact = Fraction(p)
    for attempts in range(10):
        total = Fraction(0)
        for marks in itertools.product((True, False), repeat=attempts):
            longest = max((len(list(group)) for clean, group in itertools.groupby(marks) if clean), default=0)
            if longest >= run:
                total += exact ** sum(marks) * (1 - exact) ** (attempts - sum(marks))
        found = runs.run_chance(success=p, run=run, attempts=attempts)
        assert len(found.by_attempt) == attempts + 1
        assert found.chance == pytest.approx(float(total), abs=1e-12)


@given(chances, st.integers(1, 6), st.integers(0, 80))
def test_more_attempts_never_lower_and_longer_runs_never_raise_the_chance(p: float, run: int, m: int) -> None:
    found = runs.run_chance(success=p, run=run, attempts=m)
    assert list(found.by_attempt) == sorted(found.by_attempt)
    assert runs.run_chance(success=p, run=run + 1, attempts=m).chance <= found.chance + 1e-15


@given(st.floats(0.4, 1), st.integers(1, 4))
def test_mean_wait_is_the_sum_of_the_chances_to_still_wait(p: float, run: int) -> None:
    # E[T] = sum over k of P(T > k): the tail sum of the exact distribution.
    found = runs.run_chance(success=p, run=run, attempts=4000)
    waiting = math.fsum(1 - chance for chance in found.by_attempt)
    assert _defined(runs.mean_wait(success=p, run=run)).attempts == pytest.approx(waiting, rel=1e-6)


@given(st.floats(0.05, 0.995), st.floats(0.05, 0.995))
def test_attempts_needed_are_enough_and_one_fewer_is_not(reliability: float, confidence: float) -> None:
    n = runs.attempts_needed(reliability=reliability, confidence=confidence).attempts
    assert 1 - reliability**n >= confidence - 1e-7
    assert n == 1 or 1 - reliability ** (n - 1) < confidence


def test_attempts_needed_at_an_exact_whole_number() -> None:
    # 1 - 0.5^n = 0.75, 0.875, ... exactly at n = 2, 3, ...: no attempt more because of rounding.
    for n in range(1, 20):
        assert runs.attempts_needed(reliability=0.5, confidence=1 - 0.5**n).attempts == n


@given(st.floats(0.01, 0.99), st.floats(0.5, 40))
def test_half_life_undoes_months_to(target: float, months: float) -> None:
    half = _defined(decay.half_life(before=0.9, after=0.9 * target, months=months))
    assert decay.months_to(target, half_life_months=half) == pytest.approx(months)


@given(st.floats(0.01, 0.95), st.floats(0.05, 0.95))
def test_peers_needed_undoes_spearman_brown(one: float, wanted: float) -> None:
    k = _defined(many_raters.peers_needed(one_peer=one, wanted=wanted))
    assert many_raters.spearman_brown(one, k) == pytest.approx(wanted)


@given(st.integers(0, 40), st.integers(0, 40))
def test_mcnemar_is_symmetric_and_exact(one: int, other: int) -> None:
    found = proportions.exact_mcnemar(one, other)
    n = one + other
    if n == 0:
        assert found == Undefined(why=Why.NO_DISAGREEMENT)
        return
    exact = min(Fraction(1), Fraction(2 * sum(math.comb(n, i) for i in range(min(one, other) + 1)), 2**n))
    assert _defined(found).p_value == pytest.approx(float(exact), abs=1e-12)
    assert _defined(proportions.exact_mcnemar(other, one)).p_value == _defined(found).p_value


@given(st.integers(2, 14))
def test_rounds_of_pairs_bring_everybody_together_once(people: int) -> None:
    rounds = blocks.rounds_of_pairs(people)
    assert sorted(pair for each in rounds for pair in each) == list(itertools.combinations(range(people), 2))
    for each in rounds:
        met = [person for pair in each for person in pair]
        assert len(met) == len(set(met)) >= people - 1


@pytest.mark.parametrize(("groups", "stations"), [(2, 2), (2, 3), (3, 2), (3, 3), (1, 3)])
def test_block_bounds_are_attained(groups: int, stations: int) -> None:
    # Every way to place the visits in k blocks, by search: the bound itself has one, one block fewer has none.
    bound = blocks.fewest_blocks(groups=groups, stations=stations).blocks
    assert _can_rotate(groups, stations, bound, lambda _: True)
    assert not _can_rotate(groups, stations, bound - 1, lambda _: True)
    first = blocks.fewest_blocks_one_first(groups=groups, stations=stations).blocks
    assert _can_rotate(groups, stations, first, lambda row: row[0] == min(row))
    assert not _can_rotate(groups, stations, first - 1, lambda row: row[0] == min(row))
    in_order = blocks.fewest_blocks_in_order(groups=groups, stations=stations).blocks
    assert _can_rotate(groups, stations, in_order, lambda row: list(row) == sorted(row))
    assert not _can_rotate(groups, stations, in_order - 1, lambda row: list(row) == sorted(row))


def _can_rotate(groups: int, stations: int, blocks_: int, allowed: Callable[[tuple[int, ...]], bool]) -> bool:
    """Whether rows (block of each station, one row a group) exist with no station taken twice in a block."""
    rows = [row for row in itertools.permutations(range(blocks_), stations) if allowed(row)]

    def place(placed: tuple[tuple[int, ...], ...]) -> bool:
        if len(placed) == groups:
            return True
        return any(
            place((*placed, row))
            for row in rows
            if all(one != other for before in placed for one, other in zip(before, row, strict=True))
        )

    return place(())


def test_wider_confidence_gives_a_wider_interval() -> None:
    narrow, wide = normal_interval(0.5, 0.1, 0.8), normal_interval(0.5, 0.1, 0.99)
    assert wide.low < narrow.low < 0.5 < narrow.high < wide.high
    # z = 1.959964 at 95%: any table of the normal distribution.
    assert normal_interval(0, 1, 0.95).high == pytest.approx(1.959964, abs=5e-7)


# --- against reference libraries, where they are installed --------------------------------------------------


def test_beta_against_scipy() -> None:
    special = pytest.importorskip("scipy.special", reason="SciPy is not installed; the checks file stands in for it")
    shapes = [0.2, 1.0, 2.5, 30.0, 999.0, 250_000.0]
    for a, b in itertools.product(shapes, shapes):
        for p in (0.0005, 0.025, 0.3, 0.9, 0.9995):
            assert beta.beta_quantile(p, a, b) == pytest.approx(special.betaincinv(a, b, p), rel=1e-9, abs=1e-14)
            x = float(special.betaincinv(a, b, p))
            assert beta.beta_cdf(x, a, b) == pytest.approx(special.betainc(a, b, x), rel=1e-9, abs=1e-13)


@pytest.mark.parametrize("table", [[[40, 9], [6, 45]], [[118, 5], [2, 0]], [[75, 1, 4], [5, 4, 1], [0, 0, 10]]])
def test_kappa_against_statsmodels(table: list[list[int]]) -> None:
    rating = pytest.importorskip("statsmodels.stats.inter_rater", reason="statsmodels is not installed")
    theirs = rating.cohens_kappa(table)
    ours = _defined(agreement.cohen_kappa(table))
    assert (ours.kappa, ours.error, ours.error_by_chance) == pytest.approx(
        (theirs.kappa, theirs.std_kappa, theirs.std_kappa0), abs=1e-9
    )
