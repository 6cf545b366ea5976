"""What is counted, and how sure a figure is."""

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.season.books import Book, Dose, Figure, Share, all_three, beyond
from tests.season.draw import Away, draw
from tests.season.water import State

NEUTRAL = State(7.5, 80.0, 80.0, 5.0, 0.0, 100.0, 0.1, 0.01, 1.7, 0.01, 0.0)


def dose(before: State, after: State) -> Dose:
    return Dose(0.0, "bisulfate", 10.0, True, before, after)


@pytest.mark.parametrize(
    ("before", "after", "past"),
    [
        ({"ph": 7.6}, {"ph": 7.3}, False),
        ({"ph": 7.6}, {"ph": 7.1}, True),
        ({"ph": 7.1}, {"ph": 7.0}, False),
        ({"ph": 7.6}, {"ph": 7.9}, True),
        ({"ph": 6.9}, {"ph": 7.9}, True),
        ({"ph": 8.1}, {"ph": 7.9}, False),
        ({"alkalinity": 60.0}, {"alkalinity": 45.0}, True),
        ({"alkalinity": 45.0}, {"alkalinity": 121.0}, True),
        ({"alkalinity": 200.0}, {"alkalinity": 190.0}, False),
    ],
)
def test_a_dose_goes_too_far_where_it_passes_the_other_end(before: dict, after: dict, past: bool) -> None:
    moved = dose(NEUTRAL._replace(**before), NEUTRAL._replace(**after))
    assert beyond(moved, (7.2, 7.8), (50.0, 120.0)) is past


@pytest.mark.parametrize(
    ("total", "carbonate", "good"), [(90, 90, True), (130, 115, True), (60, 45, True), (130, 125, False)]
)
def test_a_day_counts_whether_total_or_carbonate_alkalinity_is_in_range(
    total: float, carbonate: float, good: bool
) -> None:
    assert all_three(NEUTRAL._replace(alkalinity=total, carbonate_alkalinity=carbonate)) is good


def test_the_first_days_of_a_fill_holidays_and_the_day_after_are_not_counted() -> None:
    book = Book(replace(draw(1, 1, 26), aways=(Away(480.0, 720.0),)))
    book.refills.append(1000.0)
    assert [book.counts(at) for at in (95.0, 97.0, 481.0, 743.0, 745.0, 1001.0, 1095.0, 1097.0)] == [
        False, True, False, False, True, False, False, True,
    ]  # fmt: skip


def test_a_standard_error_is_what_repetition_shows() -> None:
    random = np.random.default_rng(5)

    def sample() -> Figure:
        days = random.integers(20, 180, 40)
        chance = random.beta(8, 2, 40)
        return Figure.of(Share(float(random.binomial(n, p)), float(n)) for n, p in zip(days, chance, strict=True))

    many = [sample() for _ in range(400)]
    assert np.std([figure.value for figure in many]) == pytest.approx(np.mean([it.error for it in many]), rel=0.15)


def test_nothing_counted_is_no_figure() -> None:
    assert math.isnan(Figure.of([Share(0, 0)]).value)
