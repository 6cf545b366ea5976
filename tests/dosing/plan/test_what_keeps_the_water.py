"""Sanitizer never waits for pH; the saturation index counts where each reading is fine; bromine has a reserve."""

import pytest

from dosing import DEFAULT_KIT, Addition, Kit, Product, Reading, Refill, Soak, plan
from tests.dosing.plan.waters import reading_of, total_grams

NO_DICHLOR = ("dichlor",)
ONLY_LIQUID = tuple(p.key for p in DEFAULT_KIT.products if p.key != "hypochlorite")
SALT = Product("bromide_salt", {"sodium_bromide": 1.0}, 1.2)


def planned(method="strip", sanitizer="chlorine", **given):
    options = {key: given.pop(key) for key in ("kit", "without", "history", "purpose") if key in given}
    return plan(volume=1000, sanitizer=sanitizer, reading=reading_of(method, **given), **options)


@pytest.mark.parametrize("ph", [7.8, 8.4])
@pytest.mark.parametrize("fc", [0, 1])
@pytest.mark.parametrize("without", [NO_DICHLOR, ONLY_LIQUID])
def test_liquid_chlorine_alone_keeps_the_water_in_the_same_visit(ph, fc, without):
    made = planned(fc=fc, ph=ph, ta=80, ch=150, without=without)
    assert made.predicted["fc"].mid >= 3
    assert made.predicted["fc"].high <= 10


def test_acid_makes_room_for_a_chlorine_that_lifts_ph_where_there_is_acid():
    made = planned(fc=1, ph=7.8, ta=80, ch=150, without=NO_DICHLOR)
    assert [step.product for step in made.steps] == ["bisulfate", "hypochlorite", None]
    assert made.predicted["ph"].high <= 8.11


def test_without_acid_the_lift_that_chlorine_takes_back_as_it_is_used_up_does_not_count():
    made = planned(fc=0, ph=8.4, ta=80, ch=150, without=ONLY_LIQUID)
    assert made.predicted["fc"].mid == pytest.approx(5, abs=0.05)
    assert made.steps[0].why.numbers["aim"] == 5
    assert "product_acid" in made.asks


def test_sanitizer_that_is_there_waits_for_room_all_the_same():
    made = planned(fc=4, ph=8.4, ta=80, ch=150, without=ONLY_LIQUID, purpose="shock")
    assert made.predicted["ph"].high <= 9.01


@pytest.mark.parametrize("method", ["drops", "meter"])
def test_soft_and_acidic_corners_of_the_fine_ranges_together_are_corrosive_and_alkalinity_stays(method):
    made = planned(method, fc=4, ph=7.3, ta=50, ch=80)
    assert made.water["saturation_index"].high < -0.3
    assert {step.product for step in made.steps} <= {None, "calcium_chloride"}
    assert "aerate" in {step.action for step in made.steps}
    assert made.predicted["saturation_index"].mid > made.water["saturation_index"].mid


def test_air_then_hardness_follow_where_alkalinity_is_at_its_aim():
    air = planned("drops", fc=4, ph=7.2, ta=80, ch=80)
    calcium = planned("drops", fc=4, ph=7.4, ta=80, ch=76, tds=3000)
    assert [step.action for step in air.steps] == ["aerate", "retest"]
    assert air.predicted["saturation_index"].mid > air.water["saturation_index"].mid
    assert [(step.product, step.why.code) for step in calcium.steps][:1] == [("calcium_chloride", "saturation_low")]


def test_fine_readings_that_scale_together_get_acid_by_half():
    made = planned("meter", fc=4, ph=7.8, ta=120, ch=245)
    assert (made.steps[0].product, made.steps[0].why.code) == ("bisulfate", "saturation_high")
    assert made.predicted["saturation_index"].mid < 0.5


def test_an_index_that_some_of_the_reading_has_in_range_changes_nothing():
    assert planned("strip", fc=4, ph=7.2, ta=80, ch=80).status == "fine"
    assert planned("drops", fc=4, ph=7.8, ta=120, ch=200).status == "fine"


def test_an_index_that_rests_on_a_hardness_nobody_read_changes_nothing():
    assert planned("meter", fc=4, ph=7.2, ta=50).status == "fine"


def test_cold_fill_water_is_judged_at_the_temperature_it_will_be_bathed_in():
    cold = planned("meter", fc=4, ph=7.5, ta=80, ch=120, temp=10)
    assert cold.water["saturation_index"].high < -0.3
    assert cold.status == "fine"


@pytest.mark.parametrize("purpose", ["startup", "test"])
def test_bromine_without_any_bromide_asks_for_it_and_keeps_the_water_meanwhile(purpose):
    made = planned(sanitizer="bromine", br=0, ph=7.4, ta=80, ch=150, purpose=purpose)
    assert made.asks == ("product_bromide",)
    assert total_grams(made, "dichlor") > 0


def test_a_donor_brings_its_own_bromide_and_a_booked_reserve_is_not_asked_for():
    donor = Kit((*DEFAULT_KIT.products, Product("granules", {"bcdmh": 0.96}, 1.0)))
    assert planned(sanitizer="bromine", br=0, ph=7.4, ta=80, kit=donor).asks == ()
    booked = [Addition({"sodium_bromide": 20.0}, 50.0)]
    assert planned(sanitizer="bromine", br=0, ph=7.4, ta=80, history=booked).asks == ()


def test_the_first_days_of_a_fill_get_the_reserve_although_some_bromine_is_read():
    kit = Kit((*DEFAULT_KIT.products, SALT))
    new = planned(sanitizer="bromine", br=1, ph=7.4, ta=80, kit=kit, history=[Refill(None, 60.0)])
    old = planned(sanitizer="bromine", br=1, ph=7.4, ta=80, kit=kit, history=[Refill(None, 800.0)])
    assert [step.product for step in new.steps] == ["bromide_salt", "dichlor", None]
    assert [step.product for step in old.steps] == ["dichlor", None]


def test_water_that_only_an_estimate_calls_empty_raises_no_flag_and_gets_no_shock():
    tested = Reading(reading_of(fc=3, ph=7.4, ta=80).values, "drops", 5.0)
    made = plan(volume=1000, sanitizer="chlorine", reading=tested, history=[Refill(None, 400.0), Soak(4, 60, 3.0)])
    assert made.water["fc"].mid == 0
    assert made.escalate.reasons == ()
    assert made.steps[0].why.code == "sanitizer_low"


def test_alkalinity_that_is_not_believed_leaves_ph_known():
    history = [Reading(reading_of(fc=4, ph=7.4, ta=160).values, "drops", 90.0)]
    made = planned("drops", fc=4, ph=7.4, ta=60, history=history)
    assert [(doubt.code, doubt.reading) for doubt in made.doubts] == [("change_impossible", "ta")]
    assert made.bathing.reasons == ("reading_doubted",)
