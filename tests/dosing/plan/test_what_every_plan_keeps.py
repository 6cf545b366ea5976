"""What holds for every plan, whatever the reading."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from dosing import DEFAULT_KIT, SUBSTANCES, Limits, plan
from tests.dosing.plan.waters import METHOD, VOLUME, carried_out, corners, excesses, reading_of, readings, used_up

SLACK = np.array([0.02, 0.02, 0.5, 0.5, 0.02, 0.03])[:, None]
"""pH 0.02, alkalinity 0.5, chlorine 0.02, saturation index 0.03: less than any test of the water can tell."""
CAPS = {"sodium_bisulfate": 25.0, "sodium_bicarbonate": 200.0, "sodium_carbonate": 50.0, "calcium_chloride": 100.0}
OXIDANTS = {"sodium_dichlor", "sodium_hypochlorite", "potassium_monopersulfate"}
PURPOSE = st.sampled_from(("test", "startup", "shock"))
quick = settings(max_examples=60, deadline=None)


@given(readings(), VOLUME, PURPOSE)
@quick
def test_a_plan_leaves_no_corner_of_the_reading_beyond_the_bounds_or_farther_beyond_than_it_was(
    reading, volume, purpose
):
    """What chlorine lifts and takes back as it is used up counts by its end where nothing else keeps the water."""
    made = plan(volume=volume, sanitizer="chlorine", reading=reading, purpose=purpose)
    water = corners(reading)
    before = excesses(water)
    after = carried_out(made, volume, water)
    if after:
        worst = excesses(after[-1]) - before
        spent = excesses(used_up(after[-1], water)) - before
        nothing_keeps_it = reading.values["fc"].low < 3 and any(step.product == "hypochlorite" for step in made.steps)
        taken_back = (1, 3, 5) if nothing_keeps_it else (3,)
        worst[list(taken_back)] = spent[list(taken_back)]
        assert np.all(worst <= SLACK), f"{made.steps} {worst.max(axis=1)}"


@given(readings(), VOLUME, PURPOSE, st.sets(st.sampled_from([p.key for p in DEFAULT_KIT.products])))
@quick
def test_a_plan_without_a_product_never_names_it(reading, volume, purpose, without):
    made = plan(volume=volume, sanitizer="chlorine", reading=reading, purpose=purpose, without=without)
    assert not {step.product for step in made.steps} & without
    assert not {rest.product for rest in made.later} & without


@given(readings(), VOLUME, PURPOSE)
@quick
def test_no_step_holds_more_than_its_maximum(reading, volume, purpose):
    made = plan(volume=volume, sanitizer="chlorine", reading=reading, purpose=purpose)
    for step in made.steps:
        for name, most in CAPS.items():
            assert step.substances.get(name, 0.0) <= most * volume / 1000.0 + 1e-6


@given(readings(), VOLUME, PURPOSE)
@quick
def test_at_most_three_steps_of_acid_stand_between_two_readings(reading, volume, purpose):
    made = plan(volume=volume, sanitizer="chlorine", reading=reading, purpose=purpose)
    assert sum("sodium_bisulfate" in step.substances for step in made.steps) <= 3


@given(readings(), VOLUME, PURPOSE)
@quick
def test_acid_and_any_oxidant_are_half_an_hour_apart_and_acid_never_follows(reading, volume, purpose):
    made = plan(volume=volume, sanitizer="chlorine", reading=reading, purpose=purpose)
    clock, acid_at, oxidant_at = 0, None, None
    for step in made.steps:
        if "sodium_bisulfate" in step.substances:
            assert oxidant_at is None
            acid_at = clock
        if OXIDANTS & set(step.substances):
            assert acid_at is None or clock - acid_at >= 30
            oxidant_at = clock
        clock += step.wait_minutes


@given(readings(), VOLUME, PURPOSE)
@quick
def test_one_chlorine_at_most_goes_in(reading, volume, purpose):
    made = plan(volume=volume, sanitizer="chlorine", reading=reading, purpose=purpose)
    chlorines = {
        step.product for step in made.steps if {"sodium_dichlor", "sodium_hypochlorite"} & set(step.substances)
    }
    assert len(chlorines) <= 1


@given(readings(), VOLUME, PURPOSE)
@quick
def test_grams_and_substances_of_a_step_agree_with_the_products_label(reading, volume, purpose):
    made = plan(volume=volume, sanitizer="chlorine", reading=reading, purpose=purpose)
    for step in made.steps:
        if step.action != "add":
            assert step.grams is None
            assert step.substance is None
            continue
        product = DEFAULT_KIT.named(step.product)
        assert step.grams > 0
        assert step.substances == pytest.approx(product.split(step.grams), abs=2e-3)
        assert step.substance in SUBSTANCES
        for measure in step.measure:
            assert product.grams(measure.count, measure.name) <= step.grams + 1e-6


@given(readings(), st.integers(600, 1800).map(float), st.floats(1.0, 2.0), PURPOSE)
@quick
def test_more_volume_never_means_less_product(reading, volume, factor, purpose):
    small = plan(volume=volume, sanitizer="chlorine", reading=reading, purpose=purpose)
    large = plan(volume=volume * factor, sanitizer="chlorine", reading=reading, purpose=purpose)
    less = {step.key: step.grams for step in small.steps if step.grams}
    more = {step.key: step.grams for step in large.steps if step.grams}
    assert set(less) <= set(more)
    assert all(more[key] >= grams for key, grams in less.items())


@given(
    st.floats(3.0, 5.0), st.floats(7.2, 7.8), st.floats(50.0, 120.0), st.floats(75.0, 250.0), st.floats(0.0, 30.0),
    METHOD, VOLUME,
)  # fmt: skip
@quick
def test_the_plan_for_water_in_range_is_empty(fc, ph, ta, ch, cya, method, volume):
    made = plan(volume=volume, sanitizer="chlorine", reading=reading_of(method, fc=fc, ph=ph, ta=ta, ch=ch, cya=cya))
    index = made.water["saturation_index"]
    assume(index.high >= -0.29 and index.low <= 0.49)
    assert made.status == "fine"
    assert made.steps == ()
    assert made.later == ()


@given(readings(), VOLUME)
@quick
def test_alkalinity_in_its_range_is_never_raised_while_ph_is_fine(reading, volume):
    ta, ph = reading.values["ta"].low, reading.values["ph"].low
    made = plan(volume=volume, sanitizer="chlorine", reading=reading)
    if 50 <= ta <= 120 and 7.2 <= ph <= 7.8:
        assert not [step for step in made.steps if step.key.startswith("alkalinity")]


@given(readings(), VOLUME, PURPOSE)
@quick
def test_every_step_key_is_its_own_and_every_plan_that_adds_ends_in_a_retest(reading, volume, purpose):
    made = plan(volume=volume, sanitizer="chlorine", reading=reading, purpose=purpose)
    keys = [step.key for step in made.steps]
    assert len(keys) == len(set(keys))
    if made.steps:
        assert made.steps[-1].action == "retest"
        assert not made.bathing.allowed


@given(readings(), VOLUME)
@quick
def test_where_a_code_bars_cyanurate_none_is_recommended(reading, volume):
    made = plan(volume=volume, sanitizer="chlorine", reading=reading, limits=Limits(cyanurate_barred=True))
    assert not [step for step in made.steps if "sodium_dichlor" in step.substances]


@given(readings(), VOLUME, PURPOSE)
@quick
def test_low_most_likely_and_high_stand_in_their_order(reading, volume, purpose):
    made = plan(volume=volume, sanitizer="chlorine", reading=reading, purpose=purpose)
    for spreads in (made.water, made.predicted):
        for spread in spreads.values():
            assert spread.low <= spread.mid <= spread.high
