"""A simulated tub and the hands of its owner, whoever says what to do: what really happens, and what is counted."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tests.season.books import Begun, Book, Dose, Noon
from tests.season.draw import EVENING, USUAL, Away, Case, Owner, Soak
from tests.season.strip import Reader
from tests.season.tub import JETS, OPEN, TrueTub

TEST_MINUTES = 10.0
FILL_HOURS = 3.0


@dataclass(frozen=True, slots=True)
class Manner:
    """How the season is played: with which owner, and whether a perfect meter is at hand."""

    owner: Owner = USUAL
    meter: bool = False


class Life:
    """One tub and its owner through a season. What they do of an evening and after a soak is for those below."""

    def __init__(self, case: Case, manner: Manner) -> None:
        self.case, self.owner = case, manner.owner
        method = "meter" if manner.meter else "strip"
        self.tub = TrueTub(case.make)
        self.reader = Reader(case.random(1), method, exact=manner.meter)  # type: ignore[arg-type]
        self.hands, self.whims = case.random(2), case.random(3)
        self.book = Book(case)
        self.better_bottle, self.better_due = 0, np.inf

    def begin(self) -> None:
        """The tub was filled just now."""
        raise NotImplementedError

    def evening(self) -> None:
        """Somebody is at home and looks after the tub."""
        raise NotImplementedError

    def bathed(self, soak: Soak) -> None:
        """They got out just now, and tell of it."""
        raise NotImplementedError

    def leaves(self, away: Away) -> None:
        """They leave tomorrow."""
        raise NotImplementedError

    def better(self, ph: float) -> None:
        """A pH was measured with care."""
        raise NotImplementedError

    def new_bottle(self) -> None:
        """A new bottle of strips was opened."""
        raise NotImplementedError

    def run(self) -> Book:
        """Live through the whole season."""
        self.begin()
        for at, happens in self._calendar():
            if at >= self.tub.at:
                self.tub.until(at)
            happens()
        return self.book

    def _calendar(self) -> list[tuple[float, Callable[[], None]]]:
        events: list[tuple[float, Callable[[], None]]] = []
        for day in range(self.case.weeks * 7):
            events.append((24.0 * day, self._noon))
            events.append((24.0 * day + (EVENING if day else 1.0), self._evening))
        events += [(soak.at, lambda soak=soak: self._soak(soak)) for soak in self.case.soaks]
        events += [
            (away.start - 24.0 + EVENING - 0.01, lambda away=away: self.leaves(away)) for away in self.case.aways
        ]
        return sorted(events, key=lambda event: event[0])

    def _noon(self) -> None:
        at = self.tub.at
        self.book.noons.append(Noon(at, self.tub.state, self.book.counts(at)))

    def _evening(self) -> None:
        if self.case.is_away(self.tub.at):
            return
        if self.tub.at >= self.better_due:
            self.better_due = np.inf
            self.book.better.append(self.tub.at)
            self.better(self.reader.careful_ph(self.tub.state))
        self.evening()

    def _soak(self, soak: Soak) -> None:
        begun = self.tub.at
        self.book.begun.append(Begun(begun, self.tub.state, self.book.counts(begun)))
        self.tub.soak(soak.bathers, soak.minutes, soak.vigour)
        if soak.told:
            self.bathed(soak)

    # -- what hands do

    def waits(self, minutes: float, cover: str = OPEN) -> None:
        """Time passes at the side of the tub."""
        self.tub.until(self.tub.at + minutes / 60.0, cover)

    def airs(self, minutes: float) -> None:
        """Jets with air."""
        self.waits(minutes, JETS)

    def asks_for_better(self) -> None:
        """A better pH will come within a few days, at most once a bottle."""
        if self.better_due == np.inf and self.better_bottle < self.reader.bottle:
            self.better_bottle = self.reader.bottle
            self.better_due = self.tub.at + float(self.whims.integers(1, 5)) * 24.0 - 1.0

    def is_late(self) -> bool:
        """Whether a test is put off to another evening."""
        return bool(self.whims.random() < self.owner.late)

    def reads(self, keys: tuple[str, ...]) -> dict[str, float]:
        """What they name for each key."""
        if self.reader.method == "strip" and self.reader.left == 0:
            self.reader.open_bottle()
            self.new_bottle()
        values = self.reader.test(self.tub.state, keys)
        self.book.tests.append(self.tub.at)
        return values

    def pours(self, product_key: str, grams: float, *, balance: bool) -> bool:
        """Pour so much, as well as hands can; False where they forget it."""
        product = self.case.kit.named(product_key)
        assert product is not None, product_key
        assert grams > 0, product_key
        skipped = self.hands.random() < self.owner.skips
        really = grams * float(np.exp(self.hands.normal(0.0, 1.0) * self.owner.error))
        if skipped:
            return False
        before, at = self.tub.state, self.tub.at
        self.tub.pour(product.split(really))
        self.book.doses.append(Dose(at, product_key, really, balance, before, self.tub.state))
        return True

    def refills(self) -> None:
        """Drain and fill with new water, and let it warm."""
        self.tub.refill()
        self.tub.until(self.tub.at + FILL_HOURS)
        self.book.refills.append(self.tub.at)
