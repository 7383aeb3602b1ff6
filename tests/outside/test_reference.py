"""Published check values for the reference formulas. The source stands beside each check.

Codes: S1 the number was seen in the source; S2 it was seen quoted elsewhere; M it is from memory.
"""

from __future__ import annotations

import inspect
import math
import re
from pathlib import Path
from types import ModuleType

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from generator.analysis.reference import airway_sizes, body, oxygen, pace, responsiveness
from generator.analysis.reference.basis import Basis

WEIGHTS = body.child_weight(age_years=5)
MODULES = (airway_sizes, body, oxygen, pace, responsiveness)
NOT_NUMBERS = (math.nan, math.inf, -math.inf)


# --- oxygen -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("size", "gauge", "flow", "minutes"),
    [
        pytest.param("D", 1150, 10, 15.2, id="virginia-oems2010-S1-D"),
        pytest.param("E", 750, 10, 15.4, id="virginia-oems2010-S1-E"),
        pytest.param("H", 300, 10, 31.4, id="virginia-oems2010-S1-H"),
        pytest.param("K", 300, 10, 31.4, id="virginia-oems2010-S1-K"),
        # Arithmetic on virginia-oems2010 with its 200 psi residual.
        pytest.param("E", 1000, 2, 112.0, id="virginia-oems2010-arithmetic-E"),
    ],
)
def test_cylinder_minutes_as_published(size: str, gauge: float, flow: float, minutes: float) -> None:
    found = oxygen.cylinder_minutes(size=size, gauge_psi=gauge, litres_per_minute=flow)
    assert found.minutes == pytest.approx(minutes, abs=1e-9)
    assert found.warning is None


def test_cylinder_without_residual_is_140_minutes_not_138() -> None:
    # A respiratory care page prints 2 h 18 min for this case; its own formula gives 2 h 20 min.
    found = oxygen.cylinder_minutes(size="E", gauge_psi=1000, litres_per_minute=2, residual_psi=0)
    assert found.minutes == pytest.approx(140.0, abs=1e-9)


@pytest.mark.parametrize(
    ("size", "litres", "psi"),
    # Contents of a full cylinder over its factor: near 2200 psi (cross-check on virginia-oems2010).
    [("D", 350, 2188), ("E", 625, 2232), ("H", 6900, 2197)],
)
def test_factor_gives_a_plausible_full_pressure(size: str, litres: float, psi: float) -> None:
    assert litres / oxygen.cylinder_factor(size).litres_per_psi == pytest.approx(psi, abs=0.5)


def test_factors_are_those_of_the_sheet_and_g_is_marked_as_second_hand() -> None:
    # D, E, M, H and K: virginia-oems2010 (S1). G: a second page (S2).
    found = {size: factor.litres_per_psi for size, factor in oxygen.FACTORS.items()}
    assert found == {"D": 0.16, "E": 0.28, "M": 1.56, "G": 2.41, "H": 3.14, "K": 3.14}
    assert {size for size, factor in oxygen.FACTORS.items() if factor.basis.checked != "primary"} == {"G"}


@pytest.mark.parametrize("gauge", [0, 150, 199.9, 200])
def test_at_or_under_the_residual_there_is_no_time_and_a_warning(gauge: float) -> None:
    # Rule 200 psi residual: virginia-oems2010 (S1).
    found = oxygen.cylinder_minutes(size="E", gauge_psi=gauge, litres_per_minute=10)
    assert found.minutes == 0
    assert found.warning is not None
    assert "200 psi" in found.warning


@pytest.mark.parametrize("size", ["M6", "M15", "M60", "", "AF", "E2", "HK"])
def test_unknown_cylinder_sizes_are_refused_by_name(size: str) -> None:
    # The letter factors are not valid for M-number aluminum cylinders, ISO or UK sizes (virginia-oems2010).
    with pytest.raises(ValueError, match="D, E, M, G, H, K"):
        oxygen.cylinder_minutes(size=size, gauge_psi=2000, litres_per_minute=10)


@pytest.mark.parametrize("bad", [-1.0, *NOT_NUMBERS])
def test_cylinder_refuses_numbers_that_make_no_sense(bad: float) -> None:
    with pytest.raises(ValueError, match="gauge"):
        oxygen.cylinder_minutes(size="E", gauge_psi=bad, litres_per_minute=10)
    with pytest.raises(ValueError, match="flow"):
        oxygen.cylinder_minutes(size="E", gauge_psi=2000, litres_per_minute=bad)
    with pytest.raises(ValueError, match="residual"):
        oxygen.cylinder_minutes(size="E", gauge_psi=2000, litres_per_minute=10, residual_psi=bad)


def test_a_flow_of_zero_is_refused() -> None:
    with pytest.raises(ValueError, match="flow must be more than 0"):
        oxygen.cylinder_minutes(size="E", gauge_psi=2000, litres_per_minute=0)


sizes = st.sampled_from(sorted(oxygen.FACTORS))
pressures = st.floats(0, 3000)
flows = st.floats(0.25, 25)


def _minutes(size: str, gauge: float, flow: float, residual: float = oxygen.RESIDUAL_PSI) -> float:
    return oxygen.cylinder_minutes(size=size, gauge_psi=gauge, litres_per_minute=flow, residual_psi=residual).minutes


@given(sizes, pressures, pressures, flows)
def test_more_pressure_never_gives_less_time(size: str, one: float, other: float, flow: float) -> None:
    assert _minutes(size, min(one, other), flow) <= _minutes(size, max(one, other), flow)


@given(sizes, pressures, flows, flows)
def test_more_flow_never_gives_more_time(size: str, gauge: float, one: float, other: float) -> None:
    assert _minutes(size, gauge, max(one, other)) <= _minutes(size, gauge, min(one, other))


@given(sizes, pressures, pressures, flows)
def test_pressure_above_the_residual_adds_up(size: str, one: float, other: float, flow: float) -> None:
    together = _minutes(size, one + other, flow, residual=0)
    apart = _minutes(size, one, flow, residual=0) + _minutes(size, other, flow, residual=0)
    assert together == pytest.approx(apart, rel=1e-12, abs=1e-9)


@given(sizes, st.floats(200, 3000), flows)
def test_time_times_flow_is_the_litres_above_the_residual(size: str, gauge: float, flow: float) -> None:
    litres = (gauge - 200) * oxygen.FACTORS[size].litres_per_psi
    assert _minutes(size, gauge, flow) * flow == pytest.approx(litres, rel=1e-12, abs=1e-9)


@given(sizes, pressures, flows)
def test_a_warning_comes_exactly_when_no_time_is_left(size: str, gauge: float, flow: float) -> None:
    found = oxygen.cylinder_minutes(size=size, gauge_psi=gauge, litres_per_minute=flow)
    assert (found.warning is not None) == (gauge <= 200)
    assert found.minutes >= 0


# --- body ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sex", "height_cm", "kg"),
    [
        # The form in cm with 0.91, ardsnet2000 (S2): 73.114 where the form in inches gives 73.0.
        pytest.param("male", 177.8, 73.114, id="ardsnet2000-S2-male-177.8cm"),
        # Both forms agree at their common zero, 152.4 cm = 60 in: ardsnet2000 and devine1974 (S2).
        pytest.param("male", 152.4, 50.0, id="ardsnet2000-S2-male-zero"),
        pytest.param("female", 152.4, 45.5, id="ardsnet2000-S2-female-zero"),
    ],
)
def test_predicted_body_weight(sex: body.Sex, height_cm: float, kg: float) -> None:
    assert body.predicted_body_weight(sex=sex, height_cm=height_cm).kg == pytest.approx(kg, abs=1e-9)


@pytest.mark.parametrize(
    ("sex", "inches", "printed_kg", "printed_ml"),
    [
        pytest.param("male", 70, 73.0, 438.0, id="printed-example-seen-S2"),
        # Arithmetic on ardsnet2000; the row of the printed table is from memory (M).
        pytest.param("female", 64, 54.7, 328.2, id="arithmetic-table-row-M"),
    ],
)
def test_predicted_body_weight_is_near_the_printed_inch_form(
    sex: body.Sex, inches: float, printed_kg: float, printed_ml: float
) -> None:
    # The two published forms differ by about 0.1 kg; ours is the one in cm, so 0.15 kg is the tolerance.
    found = body.predicted_body_weight(sex=sex, height_cm=inches * 2.54)
    assert found.kg == pytest.approx(printed_kg, abs=0.15)
    assert found.kg != pytest.approx(printed_kg, abs=0.01)
    # On the printed weight itself, 6 mL/kg gives the printed volume exactly.
    assert body.tidal_volume(predicted_kg=printed_kg).usual_ml == pytest.approx(printed_ml, abs=1e-9)


@given(st.sampled_from(["female", "male"]), st.floats(60, 84))
def test_the_two_published_forms_stay_together(sex: body.Sex, inches: float) -> None:
    # 2.3 kg an inch against 0.91 kg a cm (2.3114 an inch): 0.0114 kg for each inch above 60. Arithmetic.
    base = 50.0 if sex == "male" else 45.5
    ours = body.predicted_body_weight(sex=sex, height_cm=max(inches * 2.54, 152.4)).kg
    assert ours - (base + 2.3 * (inches - 60)) == pytest.approx(0.0114 * (inches - 60), abs=1e-6)


@pytest.mark.parametrize("height", [152.39, 100, 0, -170, 251, 1778, *NOT_NUMBERS])
def test_predicted_body_weight_refuses_a_height_it_is_not_for(height: float) -> None:
    # Adults only: martin2017-pbw (S2).
    with pytest.raises(ValueError, match="height must be"):
        body.predicted_body_weight(sex="male", height_cm=height)


def test_predicted_body_weight_refuses_an_unpublished_sex() -> None:
    with pytest.raises(ValueError, match="female and male"):
        body.predicted_body_weight(sex="other", height_cm=170)  # type: ignore[arg-type]


@given(st.floats(152.4, 250))
def test_male_and_female_differ_by_the_same_weight_at_each_height(height: float) -> None:
    # 50 - 45.5 = 4.5 kg: ardsnet2000 (S2).
    male = body.predicted_body_weight(sex="male", height_cm=height).kg
    female = body.predicted_body_weight(sex="female", height_cm=height).kg
    assert male - female == pytest.approx(4.5, abs=1e-9)


@given(st.floats(1, 150))
def test_tidal_volume_is_four_six_and_eight_ml_per_kg(kg: float) -> None:
    # 6 mL/kg, range 4-8: ardsnet2000, linares2015 (S2).
    found = body.tidal_volume(predicted_kg=kg)
    assert (found.low_ml / kg, found.usual_ml / kg, found.high_ml / kg) == pytest.approx((4, 6, 8))


@pytest.mark.parametrize("kg", [0, -1, *NOT_NUMBERS])
def test_tidal_volume_refuses_a_weight_that_is_none(kg: float) -> None:
    with pytest.raises(ValueError, match="predicted body weight"):
        body.tidal_volume(predicted_kg=kg)


def test_child_weight_at_five_years_by_both_rules() -> None:
    # 18 kg and 22 kg: arithmetic on luscombe2007 and luscombe2011 (S1).
    found = body.child_weight(age_years=5)
    assert (found.older.kg, found.newer.kg) == (18, 22)
    assert ("before 2007" in found.older.since) and ("2007" in found.newer.since)


def test_child_weight_above_ten_has_no_older_result() -> None:
    # Older rule 1-10 y, newer 1 y to puberty: luscombe2007 (S1).
    found = body.child_weight(age_years=11)
    assert found.older.kg is None
    assert found.newer.kg == 40


@given(st.floats(1, 10))
def test_newer_child_weight_is_never_below_the_older(age: float) -> None:
    # 3a + 7 - 2(a + 4) = a - 1: equal at 1 year, above it after. Identity.
    found = body.child_weight(age_years=age)
    assert found.older.kg is not None
    assert found.newer.kg is not None
    assert found.newer.kg - found.older.kg == pytest.approx(age - 1, abs=1e-9)


@pytest.mark.parametrize("age", [0, 0.9, 16.1, -5, *NOT_NUMBERS])
def test_child_weight_refuses_ages_out_of_range(age: float) -> None:
    with pytest.raises(ValueError, match="age must be"):
        body.child_weight(age_years=age)


# --- airway sizes -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cuffed", "mm"),
    # Arithmetic on cole1957 / park2022-ett (uncuffed, S1) and preformed-ett (cuffed, S1).
    [(False, 5.0), (True, 4.5)],
)
def test_tube_size_at_four_years(cuffed: bool, mm: float) -> None:
    found = airway_sizes.tube_size(age_years=4, cuffed=cuffed)
    assert found.inner_mm == mm
    # "Have 0.5 mm either side": cole1957 row (S1).
    assert found.have_ready_mm == (mm - 0.5, mm, mm + 0.5)


def test_rival_cuffed_formula_is_shown_as_from_memory() -> None:
    # age/4 + 3: duracher2008 (M).
    found = airway_sizes.tube_size(age_years=4, cuffed=True)
    assert found.rival_mm == 4.0
    assert found.rival_basis is not None
    assert found.rival_basis.checked == "memory"
    assert airway_sizes.tube_size(age_years=4, cuffed=False).rival_mm is None


@given(st.floats(2, 10))
def test_a_cuffed_tube_is_half_a_millimetre_smaller(age: float) -> None:
    uncuffed = airway_sizes.tube_size(age_years=age, cuffed=False)
    cuffed = airway_sizes.tube_size(age_years=age, cuffed=True)
    assert uncuffed.inner_mm - cuffed.inner_mm == pytest.approx(0.5)


@given(st.floats(2, 10), st.booleans())
def test_sizes_to_have_ready_are_half_steps_around_the_result(age: float, cuffed: bool) -> None:
    found = airway_sizes.tube_size(age_years=age, cuffed=cuffed)
    assert 2 <= len(found.have_ready_mm) <= 3
    for size in found.have_ready_mm:
        assert (2 * size).is_integer()
        assert abs(size - found.inner_mm) <= 0.5 + 1e-9


@pytest.mark.parametrize("age", [0, 1.99, 10.01, 40, *NOT_NUMBERS])
@pytest.mark.parametrize("cuffed", [True, False])
def test_tube_size_refuses_infants_and_older_children(age: float, cuffed: bool) -> None:
    # About 2-10 y, not for infants: cole1957 (S1).
    with pytest.raises(ValueError, match="2 or more and at most 10"):
        airway_sizes.tube_size(age_years=age, cuffed=cuffed)
    with pytest.raises(ValueError, match="2 or more and at most 10"):
        airway_sizes.tube_depth(age_years=age, inner_mm=5)


def test_tube_depth_by_both_rules() -> None:
    # age/2 + 12 cm: preformed-ett (S1). 3 x inner diameter (M). At 4 years with a 5.0 tube: 14 and 15 cm.
    found = airway_sizes.tube_depth(age_years=4, inner_mm=5.0)
    assert (found.by_age_cm, found.by_tube_cm) == (14.0, 15.0)
    assert (found.by_age_basis.checked, found.by_tube_basis.checked) == ("primary", "memory")


@pytest.mark.parametrize("mm", [0, 1.9, 10.5, 55, *NOT_NUMBERS])
def test_tube_depth_refuses_a_tube_that_does_not_exist(mm: float) -> None:
    with pytest.raises(ValueError, match="inner diameter"):
        airway_sizes.tube_depth(age_years=4, inner_mm=mm)


def test_typical_adult_adjuncts() -> None:
    # Oral 9 men, 8 women (9 cm, 8 cm): kim2014-opa, kim2017-opa (S1). Nasal 7 men, 6 women: roberts2005 (S1).
    found = {(size.device.split()[0], size.who): (size.number, size.unit) for size in airway_sizes.ADULT_ADJUNCTS}
    assert found == {
        ("oropharyngeal", "man"): (9, "cm long"),
        ("oropharyngeal", "woman"): (8, "cm long"),
        ("nasopharyngeal", "man"): (7, "mm inner diameter"),
        ("nasopharyngeal", "woman"): (6, "mm inner diameter"),
    }
    assert all(size.basis.checked == "primary" and size.basis.sources for size in airway_sizes.ADULT_ADJUNCTS)


# --- pace ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("seconds", "rate"),
    [
        pytest.param(6, 10, id="aha2025-als-S2-adult"),
        pytest.param(2, 30, id="aha2020-peds-S1-child-fast"),
        pytest.param(3, 20, id="aha2020-peds-S1-child-slow"),
    ],
)
def test_one_breath_every_so_many_seconds(seconds: float, rate: float) -> None:
    assert pace.per_minute(interval_seconds=seconds) == pytest.approx(rate)
    assert pace.interval_seconds(per_minute=rate) == pytest.approx(seconds)


def test_thirty_compressions_take_fifteen_to_eighteen_seconds() -> None:
    # 100-120 per minute: aha2025-bls (S2); the seconds are arithmetic.
    found = pace.seconds_for(count=30, slowest_per_minute=100, fastest_per_minute=120)
    assert (found.shortest, found.longest) == pytest.approx((15.0, 18.0))


def test_five_cycles_of_thirty_and_two_fit_about_two_minutes() -> None:
    # "About every 2 min (5 cycles of 30:2)", pauses under 10 s: aha2025-bls (S2). Arithmetic: 75 to 90 s of
    # compressions leave 6 to 9 s for each of the 5 pauses in 120 s, which is under the pause limit.
    found = pace.seconds_for(count=5 * 30, slowest_per_minute=100, fastest_per_minute=120)
    assert 6 <= (120 - found.longest) / 5 <= (120 - found.shortest) / 5 < 10


@given(st.floats(0.1, 600))
def test_interval_and_rate_undo_each_other(value: float) -> None:
    assert pace.interval_seconds(per_minute=pace.per_minute(interval_seconds=value)) == pytest.approx(value)


@given(st.integers(0, 500), st.integers(0, 500), st.floats(1, 200))
def test_counts_add_up(one: int, other: int, rate: float) -> None:
    def seconds(count: int) -> float:
        return pace.seconds_for(count=count, slowest_per_minute=rate, fastest_per_minute=rate).longest

    assert seconds(one + other) == pytest.approx(seconds(one) + seconds(other))


@pytest.mark.parametrize("bad", [0, -6, *NOT_NUMBERS])
def test_pace_refuses_what_is_no_pace(bad: float) -> None:
    with pytest.raises(ValueError, match="interval"):
        pace.per_minute(interval_seconds=bad)
    with pytest.raises(ValueError, match="rate"):
        pace.interval_seconds(per_minute=bad)


def test_seconds_for_refuses_a_range_upside_down_and_a_negative_count() -> None:
    with pytest.raises(ValueError, match="slowest"):
        pace.seconds_for(count=30, slowest_per_minute=120, fastest_per_minute=100)
    with pytest.raises(ValueError, match="count"):
        pace.seconds_for(count=-1, slowest_per_minute=100, fastest_per_minute=120)


# --- responsiveness -----------------------------------------------------------------------------------------


def test_every_combination_has_the_published_total_and_band() -> None:
    # E 1-4, V 1-5, M 1-6, total 3-15: teasdale1974 (S1 / S2). Bands 13-15, 9-12, 3-8: general use (M).
    bands: dict[str, set[int]] = {}
    for eye in range(1, 5):
        for verbal in range(1, 6):
            for motor in range(1, 7):
                found = responsiveness.responsiveness(eye=eye, verbal=verbal, motor=motor)
                assert found.total == eye + verbal + motor
                bands.setdefault(found.band, set()).add(found.total)
    assert bands == {
        "mild": set(range(13, 16)),
        "moderate": set(range(9, 13)),
        "severe": set(range(3, 9)),
    }


def test_bands_are_marked_as_from_memory() -> None:
    found = responsiveness.responsiveness(eye=4, verbal=5, motor=6)
    assert found.band_basis.checked == "memory"


@pytest.mark.parametrize(
    ("eye", "verbal", "motor", "named"),
    [(0, 5, 6, "eye"), (5, 5, 6, "eye"), (4, 6, 6, "verbal"), (4, 5, 7, "motor"), (4, 5, 0, "motor")],
)
def test_scores_out_of_range_are_refused_by_name(eye: int, verbal: int, motor: int, named: str) -> None:
    with pytest.raises(ValueError, match=f"the {named} score"):
        responsiveness.responsiveness(eye=eye, verbal=verbal, motor=motor)


@pytest.mark.parametrize("odd", [3.5, "4", None, True])
def test_a_score_that_is_no_whole_number_is_refused(odd: object) -> None:
    with pytest.raises(ValueError, match="the eye score"):
        responsiveness.responsiveness(eye=odd, verbal=5, motor=6)  # type: ignore[arg-type]


# --- sources and docstrings ------------------------------------------------------------------------------


def _public_functions(module: ModuleType) -> list[tuple[str, str]]:
    return [
        (f"{module.__name__}.{name}", inspect.getdoc(member) or "")
        for name, member in inspect.getmembers(module, inspect.isfunction)
        if member.__module__ == module.__name__ and not name.startswith("_")
    ]


FUNCTIONS = [function for module in MODULES for function in _public_functions(module)]


def test_all_public_functions_were_found() -> None:
    assert len(FUNCTIONS) == 11


@pytest.mark.parametrize(("name", "text"), FUNCTIONS, ids=[name.rsplit(".", 2)[-1] for name, _ in FUNCTIONS])
def test_each_public_function_says_range_errors_source_and_how_far_checked(name: str, text: str) -> None:
    for part in ("Range:", "Errors:", "Source:"):
        assert part in text, f"{name} does not say its {part[:-1].lower()}"
    after = text.split("Source:")[1]
    assert re.search(r"\b[a-z]+\d{4}(-[a-z]+)?\b|preformed-ett", after), f"{name} names no source id"
    assert re.search(r"\b(S1|S2|M)\b", after), f"{name} does not say how far it was checked"


def test_each_source_named_is_among_the_shipped_ones() -> None:
    bases = [member for module in MODULES for member in vars(module).values() if isinstance(member, Basis)]
    named = {source for basis in bases for source in basis.sources}
    named |= {source for rule in ("older", "newer") for source in getattr(WEIGHTS, rule).basis.sources}
    typed = yaml.safe_load((Path(__file__).parents[2] / "curriculum" / "sources.yaml").read_text(encoding="utf-8"))
    assert len(named) >= 12
    assert named <= {item["id"] for item in typed["references"]}
