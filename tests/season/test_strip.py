"""A strip is coarse and its bottle biased; a perfect meter says the truth."""

import numpy as np
import pytest

from dosing import DEFAULT_SCALE
from tests.season.strip import STRIPS, Reader
from tests.season.test_books import NEUTRAL


def test_a_strip_names_pads_of_its_chart_only() -> None:
    reader = Reader(np.random.default_rng(1), "strip")
    for _ in range(30):
        for key, value in reader.test(NEUTRAL).items():
            assert value in DEFAULT_SCALE.pads[key]


def test_the_bias_of_a_bottle_stays_until_the_next_bottle() -> None:
    reader = Reader(np.random.default_rng(2), "strip")
    first = reader.ph_bias
    for _ in range(STRIPS):
        reader.test(NEUTRAL)
    assert reader.ph_bias == first
    assert reader.left == 0
    reader.open_bottle()
    assert reader.ph_bias != first


def test_many_strips_mean_the_truth_and_one_may_be_a_pad_off() -> None:
    random = np.random.default_rng(3)
    read = []
    for _ in range(2000):
        reader = Reader(random, "strip")
        read.append(reader.test(NEUTRAL._replace(ph=7.5, alkalinity=100.0)))
    assert np.mean([it["ph"] for it in read]) == pytest.approx(7.5, abs=0.02)
    assert np.mean([it["ta"] for it in read]) == pytest.approx(100.0, abs=3.0)
    others = [it["ph"] for it in read if it["ph"] not in {7.2, 7.8}]
    assert 0 < len(others) < 0.1 * len(read)


def test_a_perfect_meter_says_the_truth() -> None:
    reader = Reader(np.random.default_rng(4), "meter", exact=True)
    assert reader.test(NEUTRAL._replace(ph=7.43), ("fc", "ph")) == {"fc": 5.0, "ph": 7.43}
