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


def test_an_owner_who_follows_the_bot_keeps_the_water_in_range(led: list[Book]) -> None:
    """What was reached less two standard errors, of days or soaks where two tubs have none between them: pH, alkalinity
    and soaks 100 %, chlorine 90 +- 6 % of the days.
    """
    found = figures(led)
    assert found["pH 7.2-7.8 (% of days)"].value > 93
    assert found["alkalinity 50-120, total or carbonate"].value > 95
    assert found["free chlorine 3-10"].value > 86
    assert found["soaks begun with 1 mg/L (%)"].value > 90
    assert found["soaks begun with 3 mg/L (%)"].value > 85
    assert found["all three"].value > 77
    assert found["chlorine over 10"].value < 2


def test_no_tub_goes_silent(led: list[Book]) -> None:
    for book in led:
        assert book.longest_without(book.tests) < 10
        assert book.longest_without(dose.at for dose in book.doses) < 4


def test_the_bot_leaves_people_in_peace(led: list[Book]) -> None:
    """Five messages a week that nobody asked for, and two more for the tests of fresh water's first week."""
    for book in led:
        assert len(book.unprompted) <= 5 * WEEKS + 2
        assert len(book.tests) <= 2 * WEEKS + 6


def test_no_dose_of_the_bot_carries_water_past_what_is_allowed(led: list[Book]) -> None:
    assert figures(led)["doses past the bounds (% of balancing)"].value < 2
