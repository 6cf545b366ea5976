"""Sanitizer by system, purpose and what is at hand."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dosing import DEFAULT_KIT, Addition, Kit, Product, Reading, Said, plan
from tests.dosing.plan.waters import reading_of, total_grams


def planned(sanitizer="chlorine", kit=DEFAULT_KIT, purpose="test", without=(), history=(), **values):
    reading = reading_of(**values)
    return plan(
        volume=1000, sanitizer=sanitizer, reading=reading, kit=kit, purpose=purpose, without=without, history=history
    )


@given(st.sampled_from((0.0, 0.5, 1.0)), st.sampled_from(("test", "startup", "shock")))
@settings(max_examples=20, deadline=None)
def test_grams_are_what_the_rise_takes_by_stoichiometry(fc, purpose):
    made = planned(fc=fc, ph=7.4, ta=80, purpose=purpose)
    rise = made.predicted["fc"].mid - fc
    assert total_grams(made, "dichlor") == pytest.approx(rise / (0.55397 * 0.99), rel=0.03, abs=0.1)
    assert made.predicted["fc"].high <= 10.01


def test_without_dichlor_the_liquid_takes_its_place_and_without_both_it_is_asked_for():
    liquid = planned(fc=1, ph=7.4, ta=80, without=("dichlor",))
    neither = planned(fc=1, ph=7.4, ta=80, without=("dichlor", "hypochlorite"))
    assert total_grams(liquid, "hypochlorite") == pytest.approx(4 / (0.05 * 0.95246), rel=0.02)
    assert neither.asks == ("product_sanitizer",)
    assert neither.status == "ask"


def test_a_shock_without_any_chlorine_is_monopersulfate_by_its_usual_dose():
    made = planned(fc=4, ph=7.6, ta=110, purpose="shock", without=("dichlor", "hypochlorite"))
    assert total_grams(made, "monopersulfate") == pytest.approx(30 / 0.9, rel=0.02)
    assert "mps_reads_as_combined" in made.steps[0].cautions
    assert made.predicted["fc"].mid == 4


def test_monopersulfate_is_held_where_it_would_take_ph_too_low():
    made = planned(fc=4, ph=7.4, ta=80, purpose="shock", without=("dichlor", "hypochlorite"))
    assert 0 < total_grams(made, "monopersulfate") < 30
    assert "safe_part_only" in made.steps[0].cautions
    assert made.predicted["ph"].low >= 6.99


def test_a_shock_stops_at_ten_for_the_highest_corner():
    made = planned(fc=3, ph=7.4, ta=80, purpose="shock")
    assert made.predicted["fc"].high == pytest.approx(10, abs=0.05)


def test_combined_chlorine_is_oxidised_and_half_a_milligram_is_left_alone():
    assert planned(fc=4, cc=1, ph=7.4, ta=80).steps[0].why.code == "combined_chlorine"
    assert planned(fc=4, cc=0.5, ph=7.4, ta=80).status == "fine"


def test_bromine_is_freed_by_an_oxidiser_in_its_own_measure():
    made = planned("bromine", br=2, ph=7.4, ta=80)
    rise = made.predicted["br"].mid - 2
    assert rise == pytest.approx(3, abs=0.1)
    assert total_grams(made, "dichlor") == pytest.approx(rise / 2.2538 / (0.55397 * 0.99), rel=0.04)


def test_a_bromine_product_comes_before_any_chlorine():
    granules = Product("bromine_granules", {"bcdmh": 0.96}, 1.0)
    made = planned("bromine", kit=Kit((*DEFAULT_KIT.products, granules)), br=2, ph=7.4, ta=80)
    assert total_grams(made, "bromine_granules") == pytest.approx(3 / (1.3236 * 0.96), rel=0.04)


def test_tablets_are_never_a_corrective_dose():
    tablets = Product("tabs", {"trichlor": 0.98}, 1.8, form="tablet")
    made = planned(kit=Kit((tablets,)), fc=1, ph=7.4, ta=80)
    assert made.asks == ("product_sanitizer",)


def test_new_bromine_water_gets_its_reserve_first_and_only_once():
    salt = Product("bromide_salt", {"sodium_bromide": 1.0}, 1.2)
    kit = Kit((*DEFAULT_KIT.products, salt))
    new = planned("bromine", kit=kit, br=0, ph=7.4, ta=80, purpose="startup")
    booked = planned(
        "bromine", kit=kit, br=0, ph=7.4, ta=80, purpose="startup", history=[Addition({"sodium_bromide": 30.0}, 5)]
    )
    assert [step.key for step in new.steps] == ["bromide", "sanitizer", "retest"]
    assert new.steps[0].grams == 30
    assert [step.key for step in booked.steps] == ["sanitizer", "retest"]


def test_a_label_that_allows_less_is_obeyed():
    weak = Product("gentle", {"sodium_dichlor": 0.99}, 1.0, label_max_g_per_1000l=4.0)
    made = planned(kit=Kit((weak,)), fc=0.5, ph=7.4, ta=80)
    assert total_grams(made, "gentle") == 4.0


def test_an_increaser_that_is_a_blend_is_dosed_by_its_own_alkalinity():
    blend = Product("rise", {"sodium_bicarbonate": 0.8, "sodium_carbonate": 0.2}, 1.0)
    made = planned(kit=Kit((blend,)), fc=4, ph=7.2, ta=40)
    step = made.steps[0]
    assert step.product == "rise"
    assert step.substances == pytest.approx(
        {"sodium_bicarbonate": 0.8 * step.grams, "sodium_carbonate": 0.2 * step.grams}
    )
    rise = made.predicted["ta"].mid - 40
    assert step.grams == pytest.approx(rise / (0.8 * 0.59572 + 0.2 * 0.94433), rel=0.03)


def test_a_stronger_acid_is_capped_at_the_same_alkalinity_as_bisulfate():
    acid = Product("muriatic", {"hydrochloric_acid": 0.3145}, 1.16, form="liquid")
    made = planned(kit=Kit((acid,)), fc=4, ph=8.4, ta=240)
    assert made.steps
    for step in made.steps:
        if step.grams:
            assert step.substances["hydrochloric_acid"] / 36.458 <= 25.0 / 120.054 + 1e-6


@pytest.mark.parametrize(("sanitizer", "said"), [("chlorine", {"fc": 12}), ("bromine", {"br": 25})])
def test_sanitizer_far_above_its_band_is_waited_out(sanitizer, said):
    made = planned(sanitizer, **said)
    assert [step.action for step in made.steps] == ["wait", "retest"]
    assert not made.bathing.allowed


def test_sanitizer_a_little_above_its_band_needs_no_step():
    made = planned(fc=7, ph=7.4, ta=80)
    assert (made.status, made.bathing.reasons) == ("fine", ("fc_high",))


def test_acidic_water_gets_the_chlorine_that_lifts_ph_where_there_is_one():
    liquid = planned(fc=0, ph=6.2, ta=80, ch=0, cya=0)
    granules = planned(fc=0, ph=6.2, ta=80, ch=0, cya=0, without=("hypochlorite",))
    assert [step.product for step in liquid.steps if step.key == "sanitizer"] == ["hypochlorite"]
    assert [step.product for step in granules.steps if step.key == "sanitizer"] == ["dichlor"]


WEEK_AGO = Reading({"fc": Said.value(4), "ph": Said.value(7.4), "ta": Said.value(80)}, "drops", 168.0)


def doses(*hours):
    return [Addition({"sodium_dichlor": 4.0}, ago) for ago in hours]


@pytest.mark.parametrize(
    ("history", "fine"),
    [
        ([], True),
        ([WEEK_AGO], False),
        ([WEEK_AGO, *doses(160)], False),
        ([WEEK_AGO, *doses(94, 70, 46, 22)], True),
        ([WEEK_AGO, *doses(95, 72, 48, 25)], True),
        ([WEEK_AGO, *doses(94, 70, 46)], True),
        ([WEEK_AGO, *doses(166, 142, 118)], False),
        ([WEEK_AGO, *doses(150, 100, 50)], True),
        ([WEEK_AGO, *doses(130, 80, 30)], False),
        ([WEEK_AGO, *doses(72.2, 72.1, 72)], False),
        ([WEEK_AGO, *doses(2)], True),
    ],
    ids=["unknown tub", "weekly test", "one dose", "daily, due soon", "daily, due now", "daily, a day late", "given up",
         "every other day, due now", "every other day, due tomorrow", "one sitting", "the retest of a dose"],
)  # fmt: skip
def test_three_at_the_weekly_test_is_topped_up_unless_a_dose_is_near(history, fine):
    made = planned(fc=3, ph=7.4, ta=80, history=history)
    assert made.status == ("fine" if fine else "plan")
    if not fine:
        assert made.steps[0].why.code == "sanitizer_low"
        assert 2.5 < made.steps[0].why.numbers["forecast"] < 2.7
        assert made.predicted["fc"].mid == pytest.approx(5, abs=0.02)


@pytest.mark.parametrize(("fc", "fine"), [(3.2, False), (3.5, True), (4, True), (5, True)])
def test_what_is_still_three_tomorrow_is_left_alone(fc, fine):
    made = planned(fc=fc, ph=7.4, ta=80, method="drops", history=[WEEK_AGO])
    assert made.status == ("fine" if fine else "plan")


def test_a_plan_that_ends_in_a_retest_anyway_leaves_three_to_it():
    made = planned(fc=3, ph=8.4, ta=80, history=[WEEK_AGO])
    assert "sanitizer" not in [step.key for step in made.steps]


def test_bromine_at_four_is_fine():
    tested = Reading({"br": Said.value(5), "ph": Said.value(7.4), "ta": Said.value(80)}, "drops", 168.0)
    assert planned("bromine", br=4, ph=7.4, ta=80, history=[tested]).status == "fine"
