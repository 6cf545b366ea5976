"""What cannot be planned is said in one sentence that names what would be right."""

import math

import numpy as np
import pytest

from dosing import Product, Proposed, Soak, Water, add, foresee, plan
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


@pytest.mark.parametrize("number", [-1.0, math.nan, math.inf])
def test_what_is_proposed_or_bathed_is_a_number_from_nought_up(number):
    for make in (
        lambda: Proposed("a", "dichlor", number),
        lambda: Soak(1, number, 2.0),
        lambda: Soak(number, math.nan, 2.0),
    ):
        with pytest.raises(ValueError, match="0 or more"):
            make()


@pytest.mark.parametrize(("given", "says"), [({"volume": math.nan}, "litres"), ({"sanitizer": "ozone"}, "bromine")])
def test_a_proposal_for_what_is_no_tub_is_answered_in_a_sentence(given, says):
    with pytest.raises(ValueError, match=says):
        foresee(
            [Proposed("a", "dichlor", 5.0)], **{"volume": 1300.0, "sanitizer": "chlorine", "reading": READING, **given}
        )


@pytest.mark.parametrize("volume", [-5.0, 0.0, 1e-9, 99.0, 4001.0])
def test_a_proposal_for_no_hot_tub_s_volume_is_not_computed(volume):
    made = foresee([Proposed("a", "dichlor", 5.0)], volume=volume, sanitizer="chlorine", reading=READING)
    assert [(it.code, it.grave) for it in made.objections] == [("volume_missing", True)]
    assert made.plan.steps == ()
