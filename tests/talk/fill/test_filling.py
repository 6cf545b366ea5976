import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.schedule.filling import fill_minutes, filled_volume, flow_rate, heat_up_hours, volume_of

size = st.floats(1, 1e4)
part = st.floats(0.01, 0.9)


def test_a_ten_litre_bucket_in_half_a_minute_is_twenty_litres_a_minute():
    assert flow_rate(10, 30) == pytest.approx(20)
    assert fill_minutes(1300, 20) == pytest.approx(65)


def test_heating_a_tonne_by_26_degrees_takes_thirty_kilowatt_hours():
    assert heat_up_hours(1000, 1.0, 12, 38, loss_share=0) == pytest.approx(30.1, abs=0.1)


def test_a_plug_in_tub_takes_about_a_day_and_a_hard_wired_one_a_working_day():
    assert 20 < heat_up_hours(1000, 1.5, 12, 38) < 28
    assert 9 < heat_up_hours(1300, 4.0, 12, 38) < 14


def test_water_that_is_warm_already_needs_no_heating():
    assert heat_up_hours(1300, 3, 38, 37) == 0


def test_a_round_tub_two_metres_wide_and_75_cm_deep_holds_about_two_thousand_litres_less_its_seats():
    assert volume_of("round", 200, 200, 75, "open").likely == pytest.approx(2356, abs=1)
    assert volume_of("round", 200, 200, 75).likely == pytest.approx(1885, abs=1)


@given(volume=size, bucket=size, seconds=size)
def test_filling_for_as_long_as_computed_gives_the_volume(volume, bucket, seconds):
    rate = flow_rate(bucket, seconds)
    assert filled_volume(rate, fill_minutes(volume, rate)) == pytest.approx(volume)


@given(volume=size, kw=st.floats(0.5, 30), start=st.floats(0, 40), warmer=st.floats(0, 40), loss=part)
def test_heating_is_never_negative_grows_with_the_rise_and_shrinks_with_power(volume, kw, start, warmer, loss):
    hours = heat_up_hours(volume, kw, start, start + warmer, loss_share=loss)
    assert hours >= 0
    assert heat_up_hours(volume, 2 * kw, start, start + warmer, loss_share=loss) == pytest.approx(hours / 2)
    assert heat_up_hours(volume, kw, start, start + warmer + 1, loss_share=loss) > hours
    assert heat_up_hours(volume, kw, start, start + warmer, loss_share=0) <= hours


@given(
    shape=st.sampled_from(["round", "oval", "rectangular"]),
    inside=st.sampled_from(["seats", "open"]),
    length=size,
    width=size,
    depth=size,
)
def test_an_estimate_is_ordered_and_never_more_than_the_box_around_the_tub(shape, inside, length, width, depth):
    found = volume_of(shape, length, width, depth, inside)
    assert 0 < found.low <= found.likely <= found.high <= length * width * depth / 1000 * (1 + 1e-12)
    assert volume_of(shape, width, length, depth, inside).likely == pytest.approx(found.likely)


@pytest.mark.parametrize("wrong", [0, -1, math.nan, math.inf])
def test_what_cannot_be_is_refused_in_one_sentence(wrong):
    for call in (
        lambda: flow_rate(wrong, 10),
        lambda: flow_rate(10, wrong),
        lambda: fill_minutes(wrong, 10),
        lambda: heat_up_hours(1000, wrong, 10, 38),
        lambda: volume_of("round", wrong, 100, 100),
    ):
        with pytest.raises(ValueError, match="is a number above 0"):
            call()
    with pytest.raises(ValueError, match="share lost"):
        heat_up_hours(1000, 1, 10, 38, loss_share=1)
    with pytest.raises(ValueError, match="degrees"):
        heat_up_hours(1000, 1, math.nan, 38)
