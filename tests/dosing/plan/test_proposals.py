"""What a person proposes: the water after it, and what speaks against it."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dosing import (
    DEFAULT_KIT,
    Addition,
    Kit,
    Limits,
    Objection,
    Product,
    Proposal,
    Proposed,
    Reading,
    Said,
    converted,
    foresee,
    plan,
    proposed_in,
)
from tests.dosing.plan.waters import reading_of


def water(hours_ago=1.0, **values):
    return Reading({key: Said.parse(value) for key, value in values.items()}, hours_ago=hours_ago)


SOUR = water(fc="3", ph="7.8", ta="120", ch="120")


def proposal(*doses: tuple[str, float], reading=SOUR, volume=1000.0, kit=DEFAULT_KIT, **more) -> Proposal:
    steps = [Proposed(f"s{number}", product, grams) for number, (product, grams) in enumerate(doses, 1)]
    return foresee(steps, volume=volume, sanitizer="chlorine", reading=reading, kit=kit, **more)


def against(made: Proposal) -> dict[str, Objection]:
    return {objection.code: objection for objection in made.objections}


# -- the water


@settings(max_examples=40, deadline=None)
@given(st.floats(6.8, 8.2), st.floats(30, 200), st.floats(0, 6), st.floats(300, 2500))
def test_a_computed_plan_proposed_as_it_is_has_the_water_and_the_waits_that_it_predicts(ph, ta, fc, volume):
    reading = reading_of(ph=ph, ta=ta, fc=fc)
    made = plan(volume=volume, sanitizer="chlorine", reading=reading)
    if made.status != "plan" or any(step.action == "drain" for step in made.steps):
        return
    same = foresee(proposed_in(made), volume=volume, sanitizer="chlorine", reading=reading)
    assert not same.grave
    added = [(step.key, step.grams, step.jets) for step in made.steps if step.action == "add"]
    assert [(step.key, step.grams, step.jets) for step in same.plan.steps if step.action == "add"] == added
    for key in ("ph", "ta", "fc"):
        if key in made.predicted:
            assert same.plan.predicted[key].mid == pytest.approx(made.predicted[key].mid, abs=0.15, rel=0.05)


def test_more_acid_means_less_ph_and_less_alkalinity():
    little, much = proposal(("bisulfate", 10.0)).plan.predicted, proposal(("bisulfate", 25.0)).plan.predicted
    assert much["ph"].mid < little["ph"].mid
    assert much["ta"].mid < little["ta"].mid
    assert little["ph"].low <= little["ph"].mid <= little["ph"].high


def test_the_order_is_kept_and_between_acid_and_chlorine_lies_half_an_hour():
    made = proposal(("dichlor", 3.0), ("bisulfate", 10.0))
    steps = [step for step in made.plan.steps if step.action == "add"]
    assert [step.product for step in steps] == ["dichlor", "bisulfate"]
    assert steps[0].wait_minutes >= 30
    assert made.plan.steps[-1].action == "retest"
    assert made.objections == ()


def test_a_step_that_a_person_thought_of_says_so():
    assert {step.why.code for step in proposal(("bisulfate", 10.0)).plan.steps} == {"prescribed", "check_result"}


def test_nothing_proposed_is_no_plan_of_doses():
    assert proposal().plan.steps == ()


# -- what speaks against it


def test_beyond_the_label_is_grave_and_just_within_is_not():
    labelled = replace(DEFAULT_KIT.named("dichlor"), label_max_g_per_1000l=5.0)
    kit = Kit((labelled,))
    assert against(proposal(("dichlor", 5.0), kit=kit)) == {}
    found = against(proposal(("dichlor", 5.2), kit=kit))["beyond_label"]
    assert found.grave
    assert found.numbers == {"grams": 5.2, "most": 5.0}
    assert found.step == "s1"


@pytest.mark.parametrize(
    ("product", "most"),
    [("bisulfate", 25 / 0.93), ("bicarbonate", 200.0), ("soda_ash", 50.0), ("calcium_chloride", 100 / 0.77)],
)
def test_beyond_the_rule_for_one_step_is_said_and_far_beyond_is_grave(product, most):
    for volume in (800.0, 1600.0):
        within = proposal((product, most * volume / 1000 * 0.99), volume=volume)
        beyond = proposal((product, most * volume / 1000 * 1.05), volume=volume)
        mistyped = proposal((product, most * volume / 1000 * 6), volume=volume)
        assert "beyond_step" not in against(within)
        assert not against(beyond)["beyond_step"].grave
        assert against(mistyped)["far_beyond"].grave


def test_a_mistyped_dose_of_chlorine_is_grave():
    found = against(proposal(("dichlor", 250.0), volume=1200.0))["sanitizer_far_out"]
    assert found.grave
    assert found.numbers["high"] == pytest.approx(115, abs=6)


def test_chlorine_past_its_bound_is_said():
    found = against(proposal(("dichlor", 25.0)))["sanitizer_out"]
    assert not found.grave
    assert found.numbers["high"] > 10


def test_two_chlorines_are_grave():
    assert against(proposal(("dichlor", 2.0), ("hypochlorite", 20.0)))["two_chlorines"].grave
    assert against(proposal(("dichlor", 2.0), ("dichlor", 2.0))) == {}


def test_acid_with_chlorine_is_grave_only_where_no_wait_lies_between():
    doses = ("bisulfate", 10.0), ("dichlor", 2.0)
    assert against(proposal(*doses, at_once=True))["acid_with_chlorine"].grave
    assert against(proposal(*doses)) == {}


@pytest.mark.parametrize(
    ("missing", "code"),
    [
        ({"volume": None}, "volume_missing"),
        ({"reading": None}, "reading_missing"),
        ({"reading": replace(SOUR, hours_ago=25.0)}, "reading_missing"),
    ],
)
def test_without_volume_or_fresh_reading_there_are_no_steps(missing, code):
    made = proposal(("bisulfate", 10.0), **missing)
    assert against(made)[code].grave
    assert made.plan.steps == ()


def test_without_a_sanitizer_there_are_no_steps():
    made = foresee([Proposed("a", "bisulfate", 5.0)], volume=1000.0, sanitizer=None, reading=SOUR)
    assert against(made)["sanitizer_missing"].grave
    assert made.plan.steps == ()


def test_a_product_whose_strength_nobody_knows_is_grave():
    unknown = Kit((Product("mystery", {}, 1.0),))
    made = proposal(("mystery", 5.0), kit=unknown)
    assert against(made)["strength_missing"].grave
    assert made.plan.steps == ()


def test_a_product_that_the_kit_lacks_is_refused_with_what_it_holds():
    with pytest.raises(ValueError, match="is not in the kit; it holds bicarbonate"):
        proposal(("moon_dust", 5.0))


def test_stabilised_chlorine_is_grave_where_it_is_barred():
    made = proposal(("dichlor", 2.0), limits=Limits(cyanurate_barred=True))
    assert against(made)["cyanurate_barred"].grave


def test_the_fourth_acid_of_a_day_is_said():
    before = [Addition({"sodium_bisulfate": 10.0}, hours_ago=hours) for hours in (20.0, 15.0, 10.0)]
    found = against(proposal(("bisulfate", 5.0), history=before))["acid_too_often"]
    assert not found.grave
    assert found.numbers == {"count": 4.0, "most": 3.0}


def test_water_driven_out_of_its_bounds_is_said_and_what_was_out_before_is_not():
    low = water(fc="3", ph="7.2", ta="80", ch="120")
    assert "ph_out" in against(proposal(("bisulfate", 26.0), reading=low))
    high = water(fc="3", ph="8.4", ta="180", ch="120")
    assert against(proposal(("bisulfate", 10.0), reading=high)) == {}


# -- another product


def test_another_product_of_the_same_kind_does_the_same():
    dichlor, liquid, soda, acid = (
        DEFAULT_KIT.named(key) for key in ("dichlor", "hypochlorite", "soda_ash", "bisulfate")
    )
    grams = converted(10.0, dichlor, liquid)
    assert grams == pytest.approx(10.0 * 0.99 / 255.971 / (0.05 / 2 / 74.442), rel=0.01)
    assert converted(grams, liquid, dichlor) == pytest.approx(10.0)
    assert converted(10.0, soda, acid) is None
    assert converted(10.0, dichlor, acid) is None


# -- the numbers that an objection names, and whose bounds they are


def test_the_third_acid_of_a_day_is_still_within_the_rule():
    before = [Addition({"sodium_bisulfate": 10.0}, hours_ago=hours) for hours in (20.0, 15.0)]
    assert against(proposal(("bisulfate", 5.0), history=before)) == {}


@pytest.mark.parametrize(("grams", "code"), [(40.0, "beyond_step"), (200.0, "far_beyond")])
def test_beyond_the_rule_names_the_most_for_this_tub(grams, code):
    most = 25 / 0.93 * 1.25
    assert against(proposal(("bisulfate", grams), volume=1250.0))[code].numbers == {
        "grams": grams, "most": pytest.approx(most, abs=0.05),
    }  # fmt: skip


def test_sanitizer_is_far_out_by_the_most_likely_water_and_beyond_its_bound_by_the_highest():
    a_gram = 0.99 * 0.55397
    within, beyond = (proposal(("dichlor", (fc - 3) / a_gram)) for fc in (49.9, 50.1))
    assert "sanitizer_far_out" not in against(within)
    assert against(within)["sanitizer_out"].numbers == {"high": pytest.approx(49.9 + 1, abs=0.1), "most": 10}
    assert against(beyond)["sanitizer_far_out"].numbers == {"high": 50, "most": 10}


def test_in_a_bromine_tub_every_oxidant_frees_bromine():
    made = foresee([Proposed("a", "dichlor", 3.0)], volume=1000.0, sanitizer="bromine", reading=water(br="2", ph="7.4"))
    assert made.plan.predicted["br"].mid == pytest.approx(2 + 3 * 0.99 * 0.55397 * 159.808 / 70.906, abs=0.02)
    assert made.plan.predicted["fc"].mid == 0


@pytest.mark.parametrize(
    ("product", "caution", "jets"),
    [("bicarbonate", "powder_into_water", 10), ("bisulfate", "acid_air_controls_closed", 10),
     ("calcium_chloride", "clouds_if_ph_high", 30), ("dichlor", "never_with_acid", 10),
     ("monopersulfate", "mps_reads_as_combined", 15)],
)  # fmt: skip
def test_a_product_is_handled_as_what_it_is(product, caution, jets):
    step = proposal((product, 5.0)).plan.steps[0]
    assert caution in step.cautions
    assert step.minutes == jets


def test_two_halves_of_acid_are_half_an_hour_apart():
    assert proposal(("bisulfate", 5.0), ("bisulfate", 5.0)).plan.steps[0].wait_minutes == 30


def test_air_of_a_computed_plan_keeps_its_minutes_and_waits_are_no_part_of_it():
    made = plan(volume=1000.0, sanitizer="chlorine", reading=reading_of(fc=5, ph=7.4, ta=180))
    assert [step.action for step in made.steps] == ["add", "aerate", "retest"]
    acid, air = proposed_in(made)
    assert (acid.grams, acid.minutes) == (made.steps[0].grams, 0)
    assert (air.grams, air.minutes) == (0, made.steps[1].minutes)


def test_a_buffer_is_not_foreseen_to_lift_ph_and_salts_that_are_none_do():
    salts = {"substances": {"sodium_bicarbonate": 0.1}, "density": 1.0, "alkalinity_per_g": 0.5}
    buffer, plain = Product("buffer", buffer=True, **salts), Product("plain", **salts)
    as_read = proposal(("bicarbonate", 12.0)).plan.predicted
    held, lifted = (proposal((it.key, 120.0), kit=Kit((it,))).plan.predicted for it in (buffer, plain))
    assert held["ph"].mid == pytest.approx(as_read["ph"].mid, abs=0.011)
    assert lifted["ta"].mid == pytest.approx(held["ta"].mid + 60, abs=0.2)
    assert lifted["ph"].mid > held["ph"].mid + 0.3


def test_water_that_is_below_its_bounds_may_be_brought_up_by_steps():
    sour = water(fc="3", ph="6.8", ta="60", ch="120")
    assert against(proposal(("bicarbonate", 10.0), reading=sour)) == {}
    assert "ph_out" in against(proposal(("bisulfate", 20.0), reading=sour))


def test_acid_waits_for_chlorine_though_something_else_goes_in_between():
    between = proposal(("bisulfate", 5.0), ("calcium_chloride", 20.0), ("dichlor", 2.0)).plan.steps
    without = proposal(("bisulfate", 5.0), ("calcium_chloride", 20.0)).plan.steps
    assert (between[0].wait_minutes, without[0].wait_minutes) == (30, 15)
