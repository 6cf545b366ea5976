"""The plan as the JSON that tools rely on, and as a value that survives a journey."""

import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import TypeAdapter

import dosing
from dosing import Addition, Measure, Plan, Product, Reading, Refill, plan, plan_json
from tests.dosing.plan.waters import VOLUME, reading_of, readings

TOP = ["status", "steps", "later", "predicted", "water", "bathing", "escalate", "doubts", "asks", "assumed"]
STEP = {
    "key",
    "action",
    "product",
    "grams",
    "substances",
    "substance",
    "measure",
    "jets",
    "wait_minutes",
    "why",
    "cautions",
}
SPREADS = {"ph", "ta", "fc", "br", "ch", "cya", "saturation_index"}
quick = settings(max_examples=40, deadline=None)
purposes = st.sampled_from(("test", "startup", "shock"))


def numbers_of(value):
    if isinstance(value, dict):
        return [number for part in value.values() for number in numbers_of(part)]
    if isinstance(value, list):
        return [number for part in value for number in numbers_of(part)]
    return [value] if isinstance(value, (int, float)) and not isinstance(value, bool) else []


@given(readings(), st.none() | VOLUME, st.sampled_from((None, "chlorine", "bromine")), purposes)
@quick
def test_the_json_has_the_fields_of_the_contract_and_finite_numbers(reading, volume, sanitizer, purpose):
    made = plan_json(plan(volume=volume, sanitizer=sanitizer, reading=reading, purpose=purpose))
    assert list(made) == TOP
    assert made["status"] in {"fine", "plan", "ask", "withheld"}
    for step in made["steps"]:
        assert set(step) >= STEP
        assert set(step) - STEP <= {"litres", "minutes"}
        assert step["jets"] in {"on", "off"}
        assert set(step["why"]) == {"code", "numbers"}
        assert (step["substance"] is None) == (step["action"] != "add")
    for spreads in (made["water"], made["predicted"]):
        assert set(spreads) == SPREADS
        assert all(set(spread) == {"low", "mid", "high"} for spread in spreads.values())
    assert set(made["bathing"]) == {"allowed", "from_minutes", "reasons"}
    assert set(made["escalate"]) == {"needed", "class", "reasons"}
    assert made["escalate"]["class"] in {None, "danger", "water"}
    assert all(set(doubt) == {"reading", "code", "numbers"} for doubt in made["doubts"])
    assert all(set(rest) == {"product", "substance", "grams", "visits", "days"} for rest in made["later"])
    assert all(math.isfinite(number) for number in numbers_of(made))
    assert json.loads(json.dumps(made, allow_nan=False)) == made


@given(readings(), VOLUME, purposes)
@quick
def test_every_code_of_a_plan_is_listed(reading, volume, purpose):
    made = plan(volume=volume, sanitizer="chlorine", reading=reading, purpose=purpose)
    assert {step.why.code for step in made.steps} <= set(dosing.WHY_CODES)
    assert {code for step in made.steps for code in step.cautions} <= set(dosing.CAUTION_CODES)
    assert {doubt.code for doubt in made.doubts} <= set(dosing.DOUBT_CODES)
    assert set(made.bathing.reasons) <= set(dosing.BATHING_CODES)
    assert set(made.escalate.reasons) <= set(dosing.ESCALATE_CODES)
    assert set(made.asks) <= set(dosing.ASK_CODES)


@given(readings(), VOLUME, purposes)
@quick
def test_a_plan_survives_json_number_for_number(reading, volume, purpose):
    adapter = TypeAdapter(Plan)
    made = plan(volume=volume, sanitizer="chlorine", reading=reading, purpose=purpose)
    assert adapter.validate_json(adapter.dump_json(made)) == made


def test_a_plan_without_any_reading_holds_no_water():
    made = plan_json(plan(volume=1000, sanitizer="chlorine", reading=None))
    assert made["water"] == made["predicted"] == {}


def test_a_water_change_says_litres_and_what_the_new_fill_brings():
    source = Reading(reading_of("drops", ph=7.4, ta=60, ch=90).values, "drops")
    made = plan(
        volume=1000, sanitizer="chlorine", reading=reading_of("drops", fc=4, ph=7.4, ta=80, cya=60, ch=95),
        history=[Refill(None, 1440, source), *(Addition({"sodium_dichlor": 20.0}, 24.0 * day) for day in range(1, 7))],
    )  # fmt: skip
    drain = made.steps[0]
    assert drain.action == "drain"
    assert drain.why.code == "cyanurate_high"
    assert drain.litres == pytest.approx(750, abs=60)
    assert made.predicted["cya"].mid == pytest.approx(15, abs=3)
    assert made.predicted["ta"].mid == pytest.approx(65, abs=5)
    assert made.predicted["ch"].mid == pytest.approx(91, abs=8)
    assert "fill_ta" not in {it.key for it in made.assumed}


def test_hardness_that_scales_is_changed_for_softer_water_and_not_for_the_same():
    hard = reading_of("drops", fc=4, ph=7.4, ta=115, ch=600)
    soft_tap, hard_tap = (Refill(None, 24 * 60, reading_of("drops", ch=ch)) for ch in (60, 590))
    changed = plan(volume=1000, sanitizer="chlorine", reading=hard, history=[soft_tap])
    kept = plan(volume=1000, sanitizer="chlorine", reading=hard, history=[hard_tap])
    assert changed.steps[0].why.code == "hardness_high"
    assert not [step for step in kept.steps if step.action == "drain"]
    assert kept.escalate.reasons == ("source_too_hard",)


def test_solids_are_counted_over_the_fill():
    fill = Refill(None, 24 * 60, reading_of("meter", tds=400))
    old = plan(
        volume=1000, sanitizer="chlorine", reading=reading_of("meter", fc=4, ph=7.4, ta=80, tds=2000), history=[fill]
    )
    young = plan(
        volume=1000, sanitizer="chlorine", reading=reading_of("meter", fc=4, ph=7.4, ta=80, tds=1800), history=[fill]
    )
    assert old.steps[0].why.code == "solids_high"
    assert young.status == "fine"


def test_binder_goes_first_and_buffer_last_with_jets_off_at_start_up():
    binder = Product("metal_stop", {}, 1.1, (Measure("cap", 20.0),), label_dose_g_per_1000l=50.0, binder=True)
    buffer = Product(
        "ph_hold", {"sodium_bicarbonate": 0.3}, 1.0, label_dose_g_per_1000l=30.0, buffer=True, phosphate=True
    )
    kit = dosing.Kit((*dosing.DEFAULT_KIT.products, buffer, binder))
    soft = reading_of(fc=0, ph=6.8, ta=20, ch=50)
    made = plan(volume=1000, sanitizer="chlorine", reading=soft, kit=kit, purpose="startup")
    added = [step for step in made.steps if step.action == "add"]
    assert [added[0].product, added[-1].product] == ["metal_stop", "ph_hold"]
    assert added[0].grams == 50
    assert added[-1].jets == "off"
    hard = plan(
        volume=1000, sanitizer="chlorine", reading=reading_of(fc=0, ph=7.4, ta=90, ch=250), kit=kit, purpose="startup"
    )
    assert "ph_hold" not in {step.product for step in hard.steps}


def test_steps_stand_in_the_order_of_the_trade():
    made = plan(volume=1000, sanitizer="chlorine", reading=reading_of(fc=0, ph=8.4, ta=20, ch=25), purpose="startup")
    products = [step.product for step in made.steps if step.action == "add"]
    order = ["bicarbonate", "bisulfate", "calcium_chloride", "dichlor"]
    assert products == sorted(products, key=order.index)
    assert {"bicarbonate", "bisulfate", "dichlor"} <= set(products)


def test_the_last_wait_covers_what_every_product_needs_before_a_reading():
    made = plan(volume=1000, sanitizer="chlorine", reading=reading_of("drops", fc=1, ph=7.4, ta=80, ch=40))
    waits = {step.product: step.wait_minutes for step in made.steps if step.action == "add"}
    assert waits["calcium_chloride"] >= 30
    assert waits["calcium_chloride"] + waits["dichlor"] >= 120
    assert waits["dichlor"] >= 30


def test_half_of_the_acid_goes_in_and_the_other_half_waits_for_a_new_reading():
    made = plan(volume=1000, sanitizer="chlorine", reading=reading_of("drops", fc=4, ph=8.2, ta=120))
    half, retest = made.steps
    assert "half_dose" in half.cautions
    assert retest.action == "retest"
    assert [rest.grams for rest in made.later] == [pytest.approx(half.grams, abs=0.5)]
    second = plan(volume=1000, sanitizer="chlorine", reading=reading_of("drops", fc=4, ph=7.75, ta=114))
    assert second.status == "fine"


@pytest.mark.parametrize("beyond", [{"ta": 500}, {"ch": 1200}])
def test_water_beyond_what_chemistry_mends_is_for_a_person(beyond):
    made = plan(
        volume=1000, sanitizer="chlorine", reading=reading_of("drops", **{"fc": 1, "ph": 7.8, "ta": 120, **beyond})
    )
    assert (made.status, made.escalate.reasons, made.steps) == ("withheld", ("beyond_chemistry",), ())


def test_a_change_with_unknown_fill_water_asks_for_a_test_of_it():
    made = plan(volume=1000, sanitizer="chlorine", reading=reading_of(fc=4, ph=7.4, ta=80, cya=100))
    assert made.steps[0].action == "drain"
    assert made.asks == ("source_water",)
    assert {"fill_ph", "fill_ta", "fill_ch"} <= {it.key for it in made.assumed}


def test_a_pool_is_refused_kindly():
    made = plan(volume=50_000, sanitizer="chlorine", reading=reading_of(fc=1, ph=7.8, ta=100))
    assert (made.status, made.escalate.reasons, made.bathing.allowed) == ("withheld", ("not_a_hot_tub",), False)


@pytest.mark.parametrize(("salts", "alkalinity_per_g"), [({}, 0.5), ({"sodium_bicarbonate": 0.84}, 0.0)])
def test_what_a_buffer_brings_by_its_label_is_in_the_forecast_of_a_start_up(salts, alkalinity_per_g):
    buffer = Product("ph_hold", salts, 1.0, label_dose_g_per_1000l=60.0, buffer=True, alkalinity_per_g=alkalinity_per_g)
    kits = (dosing.Kit((*dosing.DEFAULT_KIT.products, buffer)), dosing.DEFAULT_KIT)
    water = reading_of(fc=4, ph=7.4, ta=80, ch=150)
    held, plain = (plan(volume=1300, sanitizer="chlorine", reading=water, kit=kit, purpose="startup") for kit in kits)
    assert held.predicted["ta"].mid - plain.predicted["ta"].mid == pytest.approx(30.0, abs=1.0)
