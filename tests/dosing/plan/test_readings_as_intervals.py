"""A reading is an interval, and so is what a person says of it."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter

from dosing import DEFAULT_SCALE, Interval, Reading, Said, Scale
from dosing.readings import NOISE, POSSIBLE


@pytest.mark.parametrize(
    ("key", "pad", "low", "high"),
    [("ta", 120, 100, 150), ("ta", 0, 0, 20), ("ta", 240, 210, math.inf), ("ph", 7.8, 7.5, 8.1), ("ph", 6.2, 0, 6.5),
     ("fc", 3, 2, 4), ("fc", 10, 7.5, math.inf), ("br", 6, 4, 8), ("ch", 25, 12.5, 37.5), ("cya", 30, 15, 40)],
)  # fmt: skip
def test_a_pad_reaches_half_way_to_its_neighbours_and_is_open_at_the_ends(key, pad, low, high):
    found = DEFAULT_SCALE.interval(key, pad)
    assert (found.low, found.high, found.likely) == (pytest.approx(low), pytest.approx(high), pad)


def test_a_value_between_two_pads_stays_what_it_is_a_quarter_of_the_gap_either_side():
    assert DEFAULT_SCALE.interval("fc", 4) == Interval(3.5, 4.5, 4)
    assert DEFAULT_SCALE.interval("ta", 200) == Interval(185, 215, 200)


def test_a_value_off_the_chart_gets_the_strips_own_noise():
    found = DEFAULT_SCALE.interval("ph", 8.8)
    assert (found.low, found.high, found.likely) == (pytest.approx(8.6), pytest.approx(9.0), 8.8)
    assert DEFAULT_SCALE.interval("borate", 50) == Interval(40, 60, 50)


@given(st.sampled_from(sorted(DEFAULT_SCALE.pads)), st.floats(0, 500))
def test_an_interval_holds_the_value_that_was_read(key, value):
    found = DEFAULT_SCALE.interval(key, value)
    assert found.low <= value <= found.high
    assert found.likely == value


@given(st.sampled_from(("fc", "br", "ph", "ta", "ch", "cya")), st.floats(4, 11))
def test_drops_say_less_than_a_meter_and_more_than_a_strip(key, value):
    wide = [
        Reading({key: Said.value(value)}, method).intervals(Scale("none", {})) for method in ("strip", "drops", "meter")
    ]
    widths = [found[key].high - found[key].low for found in wide]
    assert widths[0] >= widths[1] >= widths[2] > 0
    assert all(set(noise) == set(NOISE["strip"]) for noise in NOISE.values())


@pytest.mark.parametrize(
    ("text", "said"),
    [("7.4", Said("value", 7.4, 7.4)), ("7.2-7.8", Said("range", 7.2, 7.8)),
     ("7.2 \N{EN DASH} 7.8", Said("range", 7.2, 7.8)),
     ("<1", Said("below", None, 1.0)), ("> 10", Said("above", 10.0, None)), (" 80 ", Said("value", 80.0, 80.0))],
)  # fmt: skip
def test_what_a_person_says_is_read(text, said):
    assert Said.parse(text) == said


@pytest.mark.parametrize("text", ["", "seven", "7,4", "7.8-7.2", "-1", "<", "1e9", "nan", "7.4 ph", "1-2-3", "<<1"])
def test_what_is_no_reading_is_refused_in_one_sentence(text):
    with pytest.raises(ValueError, match=r"^[^\n]+$"):
        Said.parse(text)


def test_a_range_below_and_above_keep_their_open_ends():
    found = Reading({"ph": Said.parse("7.2-7.8"), "fc": Said.parse("<1"), "cya": Said.parse(">100")}).intervals()
    assert found["ph"] == Interval(7.2, 7.8)
    assert found["ph"].likely == pytest.approx(7.5)
    assert (found["fc"].low, found["fc"].high) == (0.0, 1.0)
    assert found["cya"].low == 100
    assert found["cya"].high == math.inf


@pytest.mark.parametrize("key", sorted(POSSIBLE))
def test_an_impossible_number_is_refused_and_says_what_would_be_possible(key):
    low, high = POSSIBLE[key]
    with pytest.raises(ValueError, match=f"between {low:g} and {high:g}"):
        Reading({key: Said.value(high * 1.5 + 1)})


def test_a_scale_rises_and_names_readings():
    with pytest.raises(ValueError, match="greater than the one before"):
        Scale("falling", {"ph": (7.8, 7.2)})
    with pytest.raises(ValueError, match="not a reading"):
        Scale("odd", {"phosphate": (0.0, 1.0)})


def test_two_intervals_meet_where_they_agree():
    assert Interval(60, 100, 80).meet(Interval(85, 150)) == Interval(85, 100, 85)
    assert Interval(0, 10).meet(Interval(20, 30)) is None


def test_an_interval_that_runs_backwards_is_refused():
    with pytest.raises(ValueError, match="low to high"):
        Interval(2, 1)
    with pytest.raises(ValueError, match="most likely"):
        Interval(1, 2, 3)


@given(st.dictionaries(st.sampled_from(("fc", "ph")), st.sampled_from(("7.4", "7-8", "<8", ">7")).map(Said.parse)))
def test_a_reading_survives_json(values):
    adapter = TypeAdapter(Reading)
    reading = Reading(values, "drops", 3.5, after_dose=True)
    assert adapter.validate_json(adapter.dump_json(reading)) == reading


_ENDS = st.floats(0.0, 1e5, allow_subnormal=False)


@given(
    st.one_of(
        _ENDS.map(Said.value),
        st.tuples(_ENDS, _ENDS).map(lambda ends: Said("range", min(ends), max(ends))),
        _ENDS.map(lambda end: Said("below", None, end)),
        _ENDS.map(lambda end: Said("above", end, None)),
    )
)
def test_what_was_said_is_read_back_from_its_text_as_it_was(said):
    assert Said.parse(said.text) == said


@pytest.mark.parametrize("said", [Said.value(-0.0), Said("range", -0.0, 1.0), Said("below", None, -0.0)])
def test_a_zero_that_was_written_with_a_minus_is_read_back_too(said: Said) -> None:
    assert Said.parse(said.text) == said


@pytest.mark.parametrize("text", ["7.4", "0", "120", "7.2-7.8", "<1", ">10", "0.5-3"])
def test_the_text_of_what_was_said_is_as_short_as_a_person_writes_it(text):
    assert Said.parse(text).text == text


@pytest.mark.parametrize("pads", [(7.0,), (6.2, 7.2, 6.8), (6.8, 6.8, 7.2), (8.4, 7.2)])
def test_the_blocks_of_a_chart_rise_from_each_to_the_next(pads):
    with pytest.raises(ValueError, match="greater than the one before"):
        Scale("odd", {"ph": pads})
