"""Which way alkalinity and pH go, by what is read and what is at hand."""

import numpy as np
import pytest

import dosing
from dosing import DEFAULT_KIT, Kit, Limits, Product, Refill, Soak, Water, plan
from tests.dosing.plan.waters import reading_of, total_grams

BLEND = Product("blend", {"sodium_bicarbonate": 0.7, "sodium_carbonate": 0.3}, 1.0)
ACID = Product("acid", {"sodium_bisulfate": 0.94}, 1.4)


def planned(kit=DEFAULT_KIT, without=(), history=(), method="strip", **values):
    reading = reading_of(method, **values) if values else None
    return plan(volume=1300, sanitizer="chlorine", reading=reading, kit=kit, without=without, history=history)


def kinds(made):
    return [step.substance or step.action for step in made.steps]


def test_high_alkalinity_at_a_ph_that_leaves_no_room_for_acid_gets_air_at_once():
    made = planned(fc=5, ph=7.2, ta=180)
    assert kinds(made) == ["aerate", "retest"]
    assert [rest.substance for rest in made.later] == ["sodium_bisulfate"]
    assert made.water["ph"].mid < made.predicted["ph"].mid <= 7.4


def test_acid_for_high_alkalinity_is_followed_by_air_that_makes_room_for_the_next():
    made = planned(fc=5, ph=7.4, ta=180)
    assert kinds(made) == ["sodium_bisulfate", "aerate", "retest"]
    assert 7.2 < made.predicted["ph"].mid <= 7.4


def test_air_stops_before_any_corner_would_scale():
    made = planned(fc=5, ph=6.8, ta=180, ch=120)
    assert kinds(made) == ["aerate", "retest"]
    assert made.predicted["saturation_index"].high <= 0.72


@pytest.mark.parametrize("ph", [7.2, 7.5, 7.8])
def test_a_blend_never_takes_the_likely_water_beyond_its_bound_while_the_acid_is_waited_for(ph):
    made = planned(Kit((BLEND, ACID)), fc=4, ph=ph, ta=40)
    base = next(step for step in made.steps if step.product == "blend")
    water = Water(ph, 40.0, cyanuric_acid=0.0, free_chlorine=4.0, tds=600.0)
    for name, grams in base.substances.items():
        water = dosing.add(water, name, grams / 1.3)
    assert water.ph <= 8.02
    acid = next(step for step in made.steps if step.product == "acid")
    assert acid.why.numbers["ph"] == pytest.approx(water.ph, abs=0.02)


def test_low_alkalinity_under_a_high_ph_gets_bicarbonate_in_full_and_then_acid():
    made = planned(fc=4, ph=8.4, ta=40)
    assert kinds(made) == ["sodium_bicarbonate", "sodium_bisulfate", "retest"]
    assert made.predicted["ta"].mid == pytest.approx(84, abs=1)
    assert 7.4 < made.predicted["ph"].mid <= 7.8
    assert [rest.substance for rest in made.later] == ["sodium_bisulfate"]


def test_soda_ash_never_stands_in_for_bicarbonate_with_acid_against_it():
    made = planned(without=("bicarbonate",), fc=4, ph=7.2, ta=40)
    assert "sodium_bisulfate" not in kinds(made)
    assert "product_alkalinity" in made.asks
    assert made.predicted["ph"].high <= 8.01


def test_a_dose_that_the_bounds_cut_to_crumbs_is_not_given():
    made = planned(without=("bisulfate",), fc=4, ph=8.4, ta=40)
    assert (made.status, made.steps, made.asks) == ("ask", (), ("product_acid",))


def test_hard_water_at_the_edge_of_its_alkalinity_is_changed_where_it_would_scale():
    made = planned(method="drops", fc=4, ph=7.5, ta=120, ch=500)
    assert made.steps[0].why.code == "hardness_high"
    assert made.steps[0].litres == 650


def test_free_above_total_is_tested_again_and_nobody_bathes_by_it():
    made = planned(method="drops", fc=4, tc=1, ph=7.4, ta=80)
    assert (made.status, made.asks) == ("ask", ("second_test",))
    assert made.bathing.reasons == ("reading_doubted",)


def test_what_bathers_used_since_the_test_is_off_the_water_too():
    tested = dosing.Reading(reading_of(fc=4, ph=7.4, ta=80).values, "drops", 5.0)
    made = planned(history=[Refill(None, 400.0), tested, Soak(3, 60, 3.0)])
    assert made.water["fc"].mid == 0
    assert made.water["fc"].high == pytest.approx(4.25)
    assert made.predicted["fc"].mid == pytest.approx(5, abs=0.02)
    assert made.predicted["fc"].high <= 10


@pytest.mark.parametrize("method", ["strip", "drops"])
def test_whatever_is_out_of_its_range_is_acted_on_or_asked_about(method):
    idle = []
    for ph, ta, ch in np.array(np.meshgrid((6.2, 6.8, 8.4), (10, 80, 240), (25, 250, 425))).reshape(3, -1).T:
        made = planned(method=method, fc=4, ph=float(ph), ta=float(ta), ch=float(ch))
        if not (made.asks or {"add", "aerate", "drain"} & {step.action for step in made.steps}):
            idle.append((ph, ta, ch))
    assert idle == []


def test_no_step_is_a_crumb_of_the_kit():
    for ph in (6.8, 7.2, 7.8, 8.4):
        for ta in (40, 80, 180):
            made = planned(fc=4, ph=ph, ta=ta)
            assert all(total_grams(made, step.product) >= 3 for step in made.steps if step.product)


def test_acid_that_would_leave_too_little_alkalinity_comes_after_bicarbonate_where_there_is_some():
    assert kinds(planned(method="drops", fc=4, ph=8.4, ta=55)) == ["sodium_bicarbonate", "sodium_bisulfate", "retest"]
    without = planned(method="drops", without=("bicarbonate",), fc=4, ph=8.4, ta=55)
    assert kinds(without) == ["sodium_bisulfate", "retest"]


@pytest.mark.parametrize(("ch", "steps"), [(256, ["sodium_bisulfate", "retest"]), (249, [])])
def test_hard_water_is_hard_by_its_most_likely_number(ch, steps):
    made = planned(method="drops", fc=4, ph=7.75, ta=118, ch=ch)
    assert made.water["saturation_index"].low < 0.5 < made.water["saturation_index"].mid
    assert kinds(made) == steps


@pytest.mark.parametrize("late", [{"ph": 7.85, "ta": 80}, {"ph": 7.5, "ta": 155}])
@pytest.mark.parametrize("ph_or_ta", ["bisulfate", None])
def test_no_calcium_goes_into_water_that_is_likely_to_cloud(late, ph_or_ta):
    made = planned(method="drops", without=(ph_or_ta,), fc=4, ch=50, **late)
    assert "calcium_chloride" not in kinds(made)
    assert "calcium_chloride" in {rest.substance for rest in made.later}


def test_ph_that_neither_air_nor_anything_at_hand_may_lift_is_asked_about():
    limits = Limits(ph_dosed=(6.8, 7.1))
    made = plan(volume=1300, sanitizer="chlorine", reading=reading_of("drops", fc=4, ph=7.0, ta=90), limits=limits,
                without=("soda_ash",))  # fmt: skip
    assert (made.status, made.asks) == ("ask", ("product_ph_up",))
