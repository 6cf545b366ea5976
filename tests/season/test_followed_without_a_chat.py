"""Owners who follow the library without a chat, in a few tubs; `python -m tests.season.policy` has the large run.

The tubs are such as most are: no bathers who use up far more than the usual, no tap far above the range of alkalinity.
Each threshold is what was reached less two standard errors over these tubs: pH 95.1 +- 2.3, chlorine 90.8 +- 1.4, all
three 87.3 +- 3.3, soaks begun with 3 mg/L 92.3 +- 2.2, chlorine over 10 1.4 +- 0.8, tests 1.8 +- 0.2 a week; where none
missed, a little less than all.
"""

import pytest

from tests.season.books import Book, figures
from tests.season.careful import Careful
from tests.season.direct import play
from tests.season.draw import draw

TUBS, WEEKS = ((1, 1), (1, 2), (1, 5), (2, 11)), 6
"""Seed and number of each."""


@pytest.fixture(scope="module")
def followed() -> list[Book]:
    return [play(draw(number, seed, WEEKS), Careful) for seed, number in TUBS]


def test_each_number_and_all_of_them_are_in_range_on_most_days(followed: list[Book]) -> None:
    found = figures(followed)
    assert found["pH 7.2-7.8 (% of days)"].value > 90
    assert found["alkalinity 50-120, total or carbonate"].value > 98
    assert found["free chlorine 3-10"].value > 88
    assert found["all three"].value > 80


def test_who_gets_in_finds_sanitizer_and_seldom_too_much(followed: list[Book]) -> None:
    found = figures(followed)
    assert found["soaks begun with 1 mg/L (%)"].value > 98
    assert found["soaks begun with 3 mg/L (%)"].value > 87
    assert found["chlorine over 10"].value < 3


def test_it_asks_for_no_more_than_an_addition_and_a_third_a_day_and_two_tests_a_week(followed: list[Book]) -> None:
    found = figures(followed)
    assert found["additions a steady week"].value < 9.5
    assert found["tests a steady week"].value < 2.2


def test_no_dose_for_ph_or_alkalinity_leaves_its_bounds(followed: list[Book]) -> None:
    assert figures(followed)["doses past the bounds (% of balancing)"].value == 0
