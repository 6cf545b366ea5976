import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.talk.lengths import length


@pytest.mark.parametrize(
    ("said", "units", "centimetres"),
    [
        ("2.10 m", "metric", 210),
        ("2,1", "metric", 210),
        ("210", "metric", 210),
        ("1 m 80", "metric", 180),
        ("two metres", "metric", 200),
        ("84 in", "us", 213.36),
        ('84"', "us", 213.36),
        ("7", "us", 213.36),
        ("36", "us", 91.44),
        ("7 ft 2", "us", 218.44),
        ("7'2\"", "us", 218.44),
        ("90 cm", "us", 90),
        ("6.5 feet", "metric", 198.12),
    ],
)
def test_a_length_is_read_in_any_unit(said, units, centimetres):
    assert length(said, units) == pytest.approx(centimetres)


@pytest.mark.parametrize("said", ["", "wide", "0", "40 m"])
def test_what_is_no_length_of_a_tub_is_none(said):
    assert length(said) is None


@given(st.text(max_size=40), st.sampled_from(["metric", "us"]))
def test_no_text_raises(said, units):
    found = length(said, units)
    assert found is None or 0 < found <= 1000
