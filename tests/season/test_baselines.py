"""What the season shows of owners who have no help, in a few tubs; `python -m tests.season` has the large run."""

import pytest

from tests.season.baselines import Calculator, Thumb, ThumbAndSpoon
from tests.season.books import Book, figures
from tests.season.direct import BOTH, PLAIN, play
from tests.season.draw import draw
from tests.season.policy import Factory, Silent

WEEKS = 8


def season(factory: Factory, tubs: int = 4) -> list[Book]:
    return [play(draw(number, 11, WEEKS), factory, PLAIN) for number in range(tubs)]


def test_a_weekly_dose_alone_holds_chlorine_on_few_days() -> None:
    assert figures(season(Thumb))["free chlorine 3-10"].value < 20


def test_a_spoon_after_soaks_holds_it_longer_and_builds_up_cyanurate() -> None:
    weekly, after_soaks = figures(season(Thumb)), figures(season(ThumbAndSpoon))
    for better in ("free chlorine 3-10", "soaks begun with 1 mg/L (%)"):
        assert after_soaks[better].value > 1.5 * weekly[better].value


def test_a_calculator_that_believes_its_pads_goes_too_far() -> None:
    assert figures(season(Calculator, 2))["doses past their range (% of balancing)"].value > 5


def test_a_tub_that_nobody_looks_after_has_no_chlorine() -> None:
    books = season(lambda _profile: Silent(), 2)
    assert figures(books)["free chlorine 3-10"].value == 0
    assert not any(book.doses or book.tests for book in books)


def test_the_same_seed_gives_the_same_season() -> None:
    one, other = (play(draw(2, 11, 3), Calculator, PLAIN) for _ in range(2))
    assert one.noons == other.noons


@pytest.mark.parametrize("number", range(2))
def test_a_perfect_owner_pours_what_is_said_at_once(number: int) -> None:
    poured: list[float] = []

    class Heard(ThumbAndSpoon):
        def told(self, fact: object) -> None:
            super().told(fact)  # type: ignore[arg-type]
            if type(fact).__name__ == "Poured":
                poured.append(fact.grams)  # type: ignore[attr-defined]

    book = play(draw(number, 11, 6), Heard, BOTH)
    assert poured == pytest.approx([dose.grams for dose in book.doses])
