"""What the past says of a reading: carried forward, doubted, or stopped."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dosing import DEFAULT_SCALE, Addition, Reading, Refill, Said, Soak, plan
from dosing.ledger import Ledger
from tests.dosing.plan.waters import reading_of

TUB = 1200.0


def read(hours_ago, method="strip", **values):
    return Reading({key: Said.value(value) for key, value in values.items()}, method, hours_ago)


def planned(reading, *history, sanitizer="chlorine", **more):
    return plan(volume=TUB, sanitizer=sanitizer, reading=reading, history=history, **more)


def doubts(made):
    return {(doubt.code, doubt.reading) for doubt in made.doubts}


def test_a_reading_is_narrowed_by_the_one_before_it():
    alone = planned(reading_of(fc=4, ph=7.4, ta=80))
    after = planned(reading_of(fc=4, ph=7.4, ta=80), read(20, "drops", ta=95))
    assert (alone.water["ta"].low, alone.water["ta"].high) == (60, 100)
    assert after.water["ta"].low > 80
    assert after.water["ta"].high == 100


def test_a_known_dose_moves_what_the_old_reading_says():
    history = (read(20, "drops", ta=50), Addition({"sodium_bicarbonate": 60.0}, 19))
    carried = Ledger.of(history, TUB, DEFAULT_SCALE).carry("ta")
    assert carried.low < 50 + 29.8 < carried.high
    assert carried.likely == pytest.approx(79.8, abs=0.2)


def test_nothing_is_carried_over_a_whole_refill():
    history = (read(40, ta=240, cya=150), Refill(None, 20), read(2, ta=80))
    ledger = Ledger.of(history, TUB, DEFAULT_SCALE)
    assert ledger.carry("ta").high < 110
    assert ledger.carry("cya").high < 1


def test_a_part_refill_mixes_what_the_source_brings():
    source = read(10, "drops", ta=200, ch=300)
    ledger = Ledger.of((read(30, "drops", ta=100, ch=100), Refill(600, 10, source)), TUB, DEFAULT_SCALE)
    assert ledger.carry("ta").likely == pytest.approx(150, abs=5)
    assert ledger.carry("ch").likely == pytest.approx(200, abs=5)


def test_dichlor_books_its_cyanurate():
    history = (Refill(None, 24 * 30), *(Addition({"sodium_dichlor": 10.0}, 24.0 * day) for day in range(1, 15)))
    made = planned(reading_of(fc=1, ph=7.4, ta=80), *history)
    assert made.water["cya"].mid == pytest.approx(14 * 10 / TUB * 1000 * 0.5043, rel=0.05)
    assert [step.product for step in made.steps if step.key == "sanitizer"] == []
    assert made.steps[0].action == "drain"


def test_cyanurate_past_its_mark_changes_the_product():
    history = (Refill(None, 24 * 30), *(Addition({"sodium_dichlor": 10.0}, 24.0 * day) for day in range(1, 10)))
    made = planned(reading_of(fc=1, ph=7.4, ta=80), *history)
    assert [step.product for step in made.steps if step.key == "sanitizer"] == ["hypochlorite"]


def test_daily_dichlor_aims_at_more_alkalinity():
    history = (Refill(None, 24 * 9), Addition({"sodium_dichlor": 6.0}, 50), Addition({"sodium_dichlor": 6.0}, 26))
    with_dichlor = planned(reading_of(fc=4, ph=7.4, ta=30), *history)
    without = planned(reading_of(fc=4, ph=7.4, ta=30))
    assert with_dichlor.steps[0].why.numbers["aim"] == 100
    assert without.steps[0].why.numbers["aim"] == 80


@pytest.mark.parametrize("hours", [1, 6, 12])
def test_a_white_pad_after_a_big_dose_is_bleached_and_gets_no_dose(hours):
    made = planned(reading_of(fc=0, ph=7.4, ta=80), Addition({"sodium_dichlor": 60.0}, hours))
    assert ("bleached_pad", "fc") in doubts(made)
    assert made.steps == ()
    assert made.asks == ("diluted_test",)
    assert not made.escalate.needed


@pytest.mark.parametrize(("bathers", "believed"), [(1, False), (6, True)])
def test_a_white_pad_after_a_big_dose_is_believed_where_bathers_explain_it(bathers, believed):
    dosed, bathed = Addition({"sodium_dichlor": 60.0}, 12.0), Soak(bathers, 60.0, 12.5)
    made = planned(reading_of(fc=0, ph=7.4, ta=80), dosed, bathed)
    assert (("bleached_pad", "fc") not in doubts(made)) == believed
    assert bool(made.steps) == believed


def test_a_white_pad_after_a_small_dose_is_believed():
    made = planned(reading_of(fc=0, ph=7.4, ta=80), Addition({"sodium_dichlor": 6.0}, 8))
    assert not doubts(made)
    assert made.steps[0].key == "sanitizer"


def test_days_without_sanitizer_are_disinfected_and_one_missed_evening_is_only_topped_up():
    missed = planned(reading_of(fc=0, ph=7.4, ta=80), Addition({"sodium_dichlor": 6.0}, 20))
    days = planned(reading_of(fc=0, ph=7.4, ta=80), Addition({"sodium_dichlor": 6.0}, 24 * 6))
    assert missed.predicted["fc"].mid == pytest.approx(5, abs=0.1)
    assert days.predicted["fc"].mid > 9
    assert days.escalate.reasons == ("no_sanitizer",)


def test_the_same_pad_after_three_corrective_doses_stops_everything():
    history = []
    for hours in (60, 40, 20):
        history += [read(hours + 1, ph=8.4, ta=120, fc=3), Addition({"sodium_bisulfate": 20.0}, hours)]
    made = planned(reading_of(fc=3, ph=8.4, ta=120), *history)
    assert made.status == "withheld"
    assert ("no_response", "ph") in doubts(made) or ("no_response", "ta") in doubts(made)
    assert made.escalate.reasons == ("no_response",)
    assert made.steps == ()


@pytest.mark.parametrize("grams", [{"sodium_dichlor": 10.0}, {"sodium_hypochlorite": 6.0}])
def test_a_dose_every_week_is_a_routine_and_no_dose_without_effect(grams):
    history = []
    for weeks in (5, 4, 3, 2, 1):
        history += [read(168.0 * weeks, fc=1, ph=7.4, ta=80), Addition(grams, 168.0 * weeks - 0.5)]
    made = planned(reading_of(fc=1, ph=7.4, ta=80), *history)
    assert made.status == "plan"
    assert not [doubt for doubt in made.doubts if doubt.code == "no_response"]


def test_chlorine_is_no_corrective_dose_for_alkalinity():
    history = []
    for hours, fc in ((3, 0.5), (2, 1), (1, 1)):
        history += [read(hours, fc=fc, ph=7.8, ta=120), Addition({"sodium_dichlor": 10.0}, hours - 0.1)]
    made = planned(reading_of(fc=3, ph=7.4, ta=120), *history)
    assert not [doubt for doubt in made.doubts if doubt.code == "no_response"]


def test_two_corrective_doses_without_effect_do_not_stop():
    history = []
    for hours in (40, 20):
        history += [read(hours + 1, ph=8.4, ta=120, fc=3), Addition({"sodium_bisulfate": 20.0}, hours)]
    assert planned(reading_of(fc=3, ph=8.4, ta=120), *history).status == "plan"


def test_alkalinity_that_moves_without_a_dose_is_not_believed():
    made = planned(reading_of(fc=1, ph=7.4, ta=240), read(24, ph=7.4, ta=80))
    assert ("change_impossible", "ta") in doubts(made)
    assert {step.key for step in made.steps} == {"sanitizer", "retest"}
    assert "second_test" in made.asks


@pytest.mark.parametrize(("second", "believed"), [(100, True), (80, True), (180, True), (0, False)])
def test_of_three_readings_the_two_that_agree_are_believed(second, believed):
    history = (read(24, fc=4, ph=7.4, ta=90), read(1, fc=4, ph=7.4, ta=180))
    assert ("change_impossible", "ta") in doubts(planned(reading_of(fc=4, ph=7.4, ta=180), *history[:1]))
    made = planned(reading_of(fc=4, ph=7.4, ta=second), *history)
    assert (("change_impossible", "ta") not in doubts(made)) == believed


def test_chlorine_that_rises_by_more_than_went_in_is_not_believed():
    made = planned(reading_of(fc=10, ph=7.4, ta=80), read(24, fc=1))
    assert ("change_impossible", "fc") in doubts(made)


def test_ph_that_falls_without_acid_is_not_believed():
    made = planned(reading_of(fc=4, ph=6.2, ta=80), read(24, fc=4, ph=7.8, ta=80))
    assert ("change_impossible", "ph") in doubts(made)
    assert not [step for step in made.steps if step.grams]


def test_a_ph_above_rest_with_the_air_without_any_base_is_not_believed():
    made = planned(reading_of("drops", fc=4, ph=8.6, ta=40), read(48, "drops", ph=7.6, ta=42, fc=4))
    assert ("pair_impossible", "ph") in doubts(made)


def test_a_ph_and_alkalinity_that_would_fizz_like_soda_water_are_not_believed():
    made = planned(reading_of("drops", fc=4, ph=6.0, ta=300))
    assert ("pair_impossible", "ph") in doubts(made)


def test_strong_chlorine_falsifies_the_dyes_and_nothing_goes_in():
    made = planned(reading_of(fc=10, ph=8.4, ta=180))
    assert doubts(made) >= {("ph_dye_falsified", "ph"), ("ph_dye_falsified", "ta")}
    assert not [step for step in made.steps if step.grams]
    assert [step.action for step in made.steps] == ["wait", "retest"]


def test_bromine_read_on_a_chlorine_scale_is_multiplied():
    made = planned(reading_of(fc=2, ph=7.4, ta=80), sanitizer="bromine")
    assert made.water["br"].mid == pytest.approx(4.5, abs=0.05)
    assert made.status == "fine"


def test_chlorine_on_a_bromine_pad_is_divided():
    made = planned(reading_of(br=10, ph=7.4, ta=80))
    assert ("chlorine_on_bromine_scale", "br") in doubts(made)
    assert made.water["fc"].mid == pytest.approx(4.44, abs=0.05)


def test_a_bromine_tub_stays_one_until_it_is_refilled():
    bromide = Addition({"sodium_bromide": 40.0}, 24 * 30)
    made = planned(reading_of(fc=2, ph=7.4, ta=80), bromide)
    refilled = planned(reading_of(fc=2, ph=7.4, ta=80), bromide, Refill(None, 24 * 20))
    assert ("still_bromine", "fc") in doubts(made)
    assert made.status == "fine"
    assert not doubts(refilled)
    assert refilled.steps[0].key == "sanitizer"


def test_total_hardness_is_not_taken_for_calcium():
    made = planned(reading_of(fc=4, ph=7.4, ta=80, th=120))
    assert ("total_not_calcium_hardness", "th") in doubts(made)
    assert made.water["ch"].low < 120 * 0.75 <= made.water["ch"].high


def test_cyanurate_in_the_alkalinity_is_named():
    made = planned(reading_of(fc=4, ph=7.4, ta=80, cya=45))
    numbers = next(doubt.numbers for doubt in made.doubts if doubt.code == "cyanurate_in_alkalinity")
    assert numbers["carbonate_alkalinity"] == pytest.approx(80 - 0.35 * 45, abs=0.1)


def test_free_above_total_is_named_and_not_combined():
    made = planned(reading_of("drops", fc=5, tc=3, ph=7.4, ta=80))
    assert ("free_above_total", "tc") in doubts(made)


def test_something_poured_after_the_reading_asks_for_a_new_one():
    made = planned(read(5, fc=1, ph=7.4, ta=80), Addition({"sodium_dichlor": 8.0}, 2))
    assert made.status == "ask"
    assert made.asks == ("fresh_reading",)
    assert made.steps == ()


def test_bathers_after_the_reading_count():
    made = planned(read(5, fc=4, ph=7.4, ta=80), Soak(4, 45, 1))
    assert [step.key for step in made.steps] == ["sanitizer", "retest"]
    assert planned(read(5, fc=4, ph=7.4, ta=80), Soak(4, 45, 8)).status == "fine"


def test_the_newest_reading_of_the_history_stands_in_for_one_and_an_old_one_does_not():
    recent = plan(volume=TUB, sanitizer="chlorine", reading=None, history=(read(3, fc=4, ph=7.4, ta=80),))
    old = plan(volume=TUB, sanitizer="chlorine", reading=None, history=(read(30, fc=4, ph=7.4, ta=80),))
    assert recent.status == "fine"
    assert old.asks == ("fresh_reading",)
    assert plan(volume=TUB, sanitizer="chlorine", reading=None).asks == ("reading",)


def test_acid_that_went_in_today_counts_toward_the_three_steps_of_a_day():
    history = [Addition({"sodium_bisulfate": 20.0}, hours) for hours in (3, 6, 9)]
    made = planned(reading_of("drops", fc=4, ph=8.0, ta=170), *history)
    assert not [step for step in made.steps if "sodium_bisulfate" in step.substances]
    assert [step.action for step in made.steps] == ["wait", "retest"]
    assert made.later[0].substance == "sodium_bisulfate"


def test_acid_waits_where_chlorine_has_just_gone_in():
    made = planned(reading_of(fc=4, ph=8.2, ta=120), Addition({"sodium_dichlor": 4.0}, 0.1))
    assert made.steps[0].action == "wait"
    assert made.steps[0].wait_minutes >= 24


@pytest.mark.parametrize(("series", "raised"), [((7.0, 7.6, 7.0, 7.6), True), ((7.4, 7.4, 7.4, 7.4), False)])
def test_alkalinity_under_its_aim_is_raised_only_where_ph_bounces(series, raised):
    history = [read(24.0 * (4 - at), "drops", ph=ph) for at, ph in enumerate(series)]
    made = planned(reading_of("drops", fc=4, ph=7.3, ta=65), *history)
    assert bool([step for step in made.steps if step.key.startswith("alkalinity")]) is raised


def test_alkalinity_over_its_range_comes_down_where_ph_climbs():
    history = [read(24.0 * (4 - at), "drops", ph=ph) for at, ph in enumerate((7.2, 7.3, 7.4))]
    climbing = planned(reading_of("drops", fc=4, ph=7.6, ta=135), *history)
    steady = planned(reading_of("drops", fc=4, ph=7.5, ta=135))
    assert climbing.steps[0].why.code == "alkalinity_high"
    assert steady.status == "fine"


events = st.one_of(
    st.builds(Addition, st.dictionaries(st.sampled_from(("sodium_dichlor", "sodium_bisulfate", "sodium_bicarbonate",
              "potassium_monopersulfate", "sodium_bromide")), st.floats(0, 100), max_size=2), st.floats(0, 2000)),
    st.builds(Refill, st.none() | st.floats(10, 1200), st.floats(0, 2000)),
    st.builds(Soak, st.integers(0, 8), st.floats(0, 120), st.floats(0, 2000)),
    st.builds(read, st.floats(0, 2000), ph=st.sampled_from((6.8, 7.2, 7.8)), ta=st.sampled_from((40.0, 80.0, 180.0)),
              fc=st.sampled_from((0.0, 3.0, 5.0))),
)  # fmt: skip


@given(st.lists(events, max_size=8), st.sampled_from(("chlorine", "bromine")))
@settings(max_examples=60, deadline=None)
def test_any_past_in_any_order_gives_a_plan_and_the_same_one(history, sanitizer):
    reading = reading_of(fc=1, ph=7.8, ta=120)
    made = plan(volume=TUB, sanitizer=sanitizer, reading=reading, history=history)
    assert made.status in {"fine", "plan", "ask", "withheld"}
    stamps = [event.hours_ago for event in history]
    if len(stamps) == len(set(stamps)):
        assert plan(volume=TUB, sanitizer=sanitizer, reading=reading, history=history[::-1]) == made
