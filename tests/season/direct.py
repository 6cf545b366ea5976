"""A policy and a tub, without any conversation: an owner who does what the policy says, as owners do."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tests.season.books import Begun, Book, Dose, Noon
from tests.season.draw import EVENING, PERFECT, USUAL, Away, Case, Owner, Soak
from tests.season.policy import (
    Act,
    Aerate,
    Bathed,
    Better,
    Factory,
    Filled,
    Leaving,
    Moment,
    NewBottle,
    Pour,
    Poured,
    Profile,
    Refill,
    Test,
    Tested,
)
from tests.season.strip import Reader, as_reading
from tests.season.tub import JETS, OPEN, TrueTub

ROUNDS = 8
TEST_MINUTES = 10.0


@dataclass(frozen=True, slots=True)
class Manner:
    """How the season is played: with which owner, and whether a perfect meter is at hand."""

    owner: Owner = USUAL
    meter: bool = False


PLAIN, METER, BEST_OWNER, BOTH = Manner(), Manner(meter=True), Manner(PERFECT), Manner(PERFECT, meter=True)


def play(case: Case, factory: Factory, manner: Manner = PLAIN) -> Book:
    """One tub's season under a policy."""
    return Season(case, factory, manner).run()


class Season:
    """One tub, its owner and the policy that they follow."""

    def __init__(self, case: Case, factory: Factory, manner: Manner) -> None:
        self.case, self.owner = case, manner.owner
        method = "meter" if manner.meter else "strip"
        self.tub = TrueTub(case.make)
        self.reader = Reader(case.random(1), method, exact=manner.meter)  # type: ignore[arg-type]
        self.hands, self.whims = case.random(2), case.random(3)
        self.book = Book(case)
        profile = Profile(
            case.stated, case.kit, round(case.make.temperature), case.water, self.reader.method, case.soaks_per_week
        )
        self.policy = factory(profile)
        self.better_bottle, self.better_due = 0, np.inf

    def run(self) -> Book:
        """Live through the whole season."""
        self.policy.told(Filled(0.0))
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
            (away.start - 24.0 + EVENING - 0.01, lambda away=away: self._leave(away)) for away in self.case.aways
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
            value = {"ph": self.reader.careful_ph(self.tub.state)}
            self.book.better.append(self.tub.at)
            self.policy.told(Tested(self.tub.at, as_reading(value, "meter"), better=True))
        self._follow("evening")

    def _soak(self, soak: Soak) -> None:
        begun = self.tub.at
        self.book.begun.append(Begun(begun, self.tub.state, self.book.counts(begun)))
        self.tub.soak(soak.bathers, soak.minutes, soak.vigour)
        if soak.told:
            self.policy.told(Bathed(begun, soak.bathers, soak.minutes))
            self._follow("soaked")

    def _leave(self, away: Away) -> None:
        self.policy.told(Leaving(self.tub.at, away.end))

    def _follow(self, moment: Moment) -> None:
        for _ in range(ROUNDS):
            acts = self.policy.advise(self.tub.at, moment)
            if not acts or not all(self._do(act) for act in acts):
                return
            moment = "again"

    def _do(self, act: Act) -> bool:
        """Do it; False where the owner leaves everything for another day."""
        match act:
            case Test():
                return self._test()
            case Better():
                if self.better_due == np.inf and self.better_bottle < self.reader.bottle:
                    self.better_bottle = self.reader.bottle
                    self.better_due = self.tub.at + float(self.whims.integers(1, 5)) * 24.0 - 1.0
            case Pour():
                return self._pour(act)
            case Aerate(minutes):
                self.tub.until(self.tub.at + minutes / 60, JETS)
            case Refill():
                self.tub.refill()
                self.tub.until(self.tub.at + 3.0)
                self.book.refills.append(self.tub.at)
                self.policy.told(Filled(self.tub.at))
        return True

    def _test(self) -> bool:
        if self.whims.random() < self.owner.late:
            return False
        if self.reader.method == "strip" and self.reader.left == 0:
            self.reader.open_bottle()
            self.policy.told(NewBottle(self.tub.at))
        keys = ("fc", "ph", "ta", "ch", "cya") if self.reader.method == "meter" else ("fc", "ph", "ta")
        values = self.reader.test(self.tub.state, keys)
        self.book.tests.append(self.tub.at)
        self.policy.told(Tested(self.tub.at, as_reading(values, self.reader.method)))
        self.tub.until(self.tub.at + TEST_MINUTES / 60, OPEN)
        return True

    def _pour(self, act: Pour) -> bool:
        product = self.case.kit.named(act.product)
        assert product is not None, act
        assert act.grams > 0, act
        skipped = self.hands.random() < self.owner.skips
        grams = act.grams * float(np.exp(self.hands.normal(0.0, 1.0) * self.owner.error))
        if skipped:
            return False
        before, at = self.tub.state, self.tub.at
        self.tub.pour(product.split(grams))
        self.book.doses.append(Dose(at, act.product, grams, act.why == "balance", before, self.tub.state))
        self.policy.told(Poured(at, act.product, act.grams, product.split(act.grams), act.why))
        self.tub.until(self.tub.at + act.wait_minutes / 60, OPEN)
        return True
