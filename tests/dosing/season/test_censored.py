"""Learning from intervals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dosing.season.censored import normal, seen


def one(*values: float) -> list[np.ndarray]:
    return [np.array([value]) for value in values]


@given(st.floats(-30.0, 30.0))
def test_the_normal_distribution_is_right_to_a_ten_millionth(z: float) -> None:
    assert float(normal(np.array([z]))[0]) == pytest.approx(0.5 * math.erfc(-z / math.sqrt(2.0)), abs=1e-7)


@given(
    st.floats(-5.0, 15.0), st.floats(0.01, 30.0), st.floats(0.0, 10.0), st.floats(0.1, 5.0), st.floats(0.05, 2.0),
    st.sampled_from(["closed", "below", "above"]),
)  # fmt: skip
def test_a_reading_moves_the_belief_toward_it_and_leaves_a_variance(
    mean: float, variance: float, low: float, width: float, blur: float, kind: str
) -> None:
    bottom = -math.inf if kind == "below" else low
    top = math.inf if kind == "above" else low + width
    what = seen(*one(mean, variance, bottom, top, blur), span=12.0)
    middle = {"below": top, "above": bottom}.get(kind, low + width / 2.0)
    shift = float(what.shift[0])
    if kind == "closed" or (kind == "below") == (mean > middle):
        assert shift * (middle - mean) >= -1e-9
    assert variance + variance**2 * float(what.curve[0]) > 0.0
    assert 0.0 < float(what.chance[0]) <= 1.0


def test_a_reading_near_the_belief_is_as_exact_inference_has_it() -> None:
    """A flat prior over a narrow interval with a sharp eye: the posterior is the interval's own mean and variance."""
    what = seen(*one(5.2, 100.0, 4.0, 7.0, 0.01), span=1e9)
    assert 5.2 + 100.0 * float(what.shift[0]) == pytest.approx(5.5, abs=0.02)
    assert 100.0 + 100.0**2 * float(what.curve[0]) == pytest.approx(9.0 / 12.0, rel=0.12)


def test_a_reading_from_another_world_is_shrugged_off() -> None:
    what = seen(*one(5.0, 0.25, 50.0, 60.0, 0.5), span=12.0)
    assert abs(0.25 * float(what.shift[0])) < 0.01
