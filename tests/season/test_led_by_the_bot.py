"""Owners who do what the bot's messages say, in a few tubs; `python -m tests.season` has the large run."""

import pytest

from tests.season.books import Book, figures
from tests.season.draw import draw
from tests.season.life import Manner
from tests.season.owner import play

TUBS, WEEKS = (1, 6), 4


@pytest.fixture(scope="module")
def led() -> list[Book]:
    return [play(draw(number, 1, WEEKS), Manner()) for number in TUBS]


def test_every_question_of_the_bot_is_one_that_an_owner_can_answer(led: list[Book]) -> None:
    assert [note for book in led for note in book.notes] == []


def test_an_owner_who_follows_the_bot_tests_doses_and_keeps_ph_and_alkalinity(led: list[Book]) -> None:
    found = figures(led)
    assert all(len(book.tests) >= WEEKS for book in led)
    assert all(len(book.doses) >= WEEKS for book in led)
    assert found["pH 7.2-7.8 (% of days)"].value > 35
    assert found["soaks begun with 1 mg/L (%)"].value > 40
    assert found["alkalinity 50-120, total or carbonate"].value > 80
    assert found["chlorine over 10"].value < 5


def test_the_bot_leaves_people_in_peace(led: list[Book]) -> None:
    for book in led:
        assert len(book.unprompted) <= 6 * WEEKS


def test_no_dose_of_the_bot_carries_water_past_what_is_allowed(led: list[Book]) -> None:
    assert figures(led)["doses past the bounds (% of balancing)"].value < 5
