"""What cannot be planned is said in one sentence that names what would be right."""

import math

import numpy as np
import pytest

from dosing import Product, Water, add, plan
from tests.dosing.plan.waters import reading_of

READING = reading_of(fc=4, ph=7.4, ta=80)


@pytest.mark.parametrize(
    ("given", "says"),
    [({"volume": math.nan}, "litres"), ({"volume": "1300"}, "litres"), ({"sanitizer": "ozone"}, "bromine"),
     ({"temperature": math.inf}, "degC"), ({"purpose": "party"}, "startup")],
)  # fmt: skip
def test_a_request_that_is_none_is_answered_in_a_sentence(given, says):
    with pytest.raises(ValueError, match=says):
        plan(**{"volume": 1300.0, "sanitizer": "chlorine", "reading": READING, **given})


def test_a_product_of_something_unknown_names_what_is_known():
    with pytest.raises(ValueError, match="sodium_bicarbonate"):
        Product("mystery", {"magic": 0.5}, 1.0)


@pytest.mark.parametrize("dose", [-500.0, np.array([1.0, -500.0])])
def test_no_more_carbonate_is_taken_away_than_there_is(dose):
    with pytest.raises(ValueError, match="than the water holds"):
        add(Water(7.4, 80.0), "sodium_bicarbonate", dose)
