"""What owners do without memory: the trade's rule of thumb, with and without a spoon after soaks, and a calculator
that takes every pad for the truth.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from dosing import Product, Water, add
from dosing.readings import DEFAULT_SCALE
from tests.season.policy import Act, Bathed, Fact, Filled, Moment, Pour, Profile, Refill, Test, Tested, Why

WEEK = 7 * 24.0
REFILL_DAYS = 90.0
SHOCK_GRAMS_PER_LITRE = 0.03


class Weekly:
    """Tests and oxidises once a week and refills every three months; what follows from a test is for those below."""

    def __init__(self, profile: Profile) -> None:
        self.profile = profile
        self.filled = self.tested = 0.0
        self.fresh = True
        self.todo: list[Act] = []

    def told(self, fact: Fact) -> None:
        match fact:
            case Filled(at):
                self.filled, self.fresh = at, True
            case Tested(at, reading):
                self.tested, self.fresh = at, False
                said = {key: float(value.low or 0.0) for key, value in reading.values.items()}
                self.todo = [*self.for_reading(said), self.shock()]
            case Bathed(_, bathers, minutes):
                self.todo += self.for_soak(bathers, minutes)
            case _:
                pass

    def advise(self, at: float, moment: Moment) -> Sequence[Act]:
        if self.todo:
            return [self.todo.pop(0)]
        if moment != "evening":
            return ()
        if at - self.filled > REFILL_DAYS * 24:
            return [Refill()]
        return [Test()] if self.fresh or at - self.tested > WEEK - 6 else ()

    def shock(self) -> Act:
        return Pour("monopersulfate", SHOCK_GRAMS_PER_LITRE * self.profile.volume, "shock")

    def for_reading(self, said: dict[str, float]) -> list[Act]:
        raise NotImplementedError

    def for_soak(self, bathers: int, minutes: float) -> list[Act]:
        return []

    @property
    def sanitizer(self) -> Product:
        product = self.profile.kit.named("dichlor") or self.profile.kit.named("hypochlorite")
        assert product
        return product


class Thumb(Weekly):
    """A cap for each block that a pad is off, a spoon of sanitizer at the weekly test: common practice."""

    def for_reading(self, said: dict[str, float]) -> list[Act]:
        alkalinity, ph = _blocks_off("ta", said["ta"], 80.0, 120.0), _blocks_off("ph", said["ph"], 7.2, 7.8)
        acts = [
            *self._caps("bicarbonate", -alkalinity, "balance"),
            *self._caps("bisulfate", alkalinity, "balance"),
            *self._caps("soda_ash", -ph, "balance"),
            *self._caps("bisulfate", ph, "balance"),
        ]
        return acts + self.spoon("routine")

    def spoon(self, why: Why) -> list[Act]:
        product = self.sanitizer
        spoons, measure = (1, "tablespoon") if product.key == "dichlor" else (3, "cap")
        return [Pour(product.key, product.grams(spoons, measure), why)]

    def _caps(self, key: str, count: int, why: Why) -> list[Act]:
        product = self.profile.kit.named(key)
        assert product
        return [Pour(key, product.grams(count, "cap"), why)] if count > 0 else []


class ThumbAndSpoon(Thumb):
    """The same, and a spoon of sanitizer after each soak."""

    def for_soak(self, bathers: int, minutes: float) -> list[Act]:
        return self.spoon("soak")


class Calculator(Weekly):
    """Stoichiometry from the printed numbers to the middle of each range, for the volume of the brochure, and the
    published 4 g of chlorine for an hour of one bather after each soak.
    """

    PH, ALKALINITY, CHLORINE, BATHER_HOUR = 7.5, 90.0, 5.0, 4.0

    def for_reading(self, said: dict[str, float]) -> list[Act]:
        acts: list[Act] = []
        water = Water(ph=min(9.0, max(6.0, said["ph"])), alkalinity=max(5.0, said["ta"]))
        raise_by = self.ALKALINITY - said["ta"]
        substance = "sodium_bicarbonate" if raise_by > 0 else "sodium_bisulfate"
        if abs(raise_by) > 5:
            per_mg = abs(float(add(water, substance, 10.0).alkalinity) - float(water.alkalinity)) / 10.0
            amount = abs(raise_by) / per_mg
            acts += self._pour(substance, amount, "balance")
            water = add(water, substance, amount)
        acts += self._to_ph(replace(water, ph=min(9.0, max(6.0, said["ph"]))))
        return acts + self._chlorine((self.CHLORINE - said["fc"]) * self.profile.volume / 1000, "routine")

    def _to_ph(self, water: Water) -> list[Act]:
        off = self.PH - float(water.ph)
        if abs(off) < 0.05:
            return []
        substance = "sodium_carbonate" if off > 0 else "sodium_bisulfate"
        low, high = 0.0, 100.0
        for _ in range(30):
            middle = (low + high) / 2
            short = (float(add(water, substance, middle).ph) - self.PH) * (1 if off > 0 else -1) < 0
            low, high = (middle, high) if short else (low, middle)
        return self._pour(substance, low, "balance")

    def for_soak(self, bathers: int, minutes: float) -> list[Act]:
        return self._chlorine(self.BATHER_HOUR * bathers * minutes / 60, "soak")

    def _chlorine(self, grams: float, why: Why) -> list[Act]:
        if grams <= 0:
            return []
        product = self.sanitizer
        substance = next(iter(product.substances))
        content = {"sodium_dichlor": 2 * 70.906 / 255.971, "sodium_hypochlorite": 70.906 / 74.439}[substance]
        return [Pour(product.key, grams / content / product.substances[substance], why)]

    def _pour(self, substance: str, mg_per_litre: float, why: Why) -> list[Act]:
        product = next(it for it in self.profile.kit.products if it.main == substance)
        grams = mg_per_litre * self.profile.volume / 1000 / product.substances[substance]
        return [Pour(product.key, grams, why)] if grams > 0.5 else []


def _blocks_off(key: str, value: float, low: float, high: float) -> int:
    """How many blocks a pad lies above (or, negative, below) a range."""
    pads = DEFAULT_SCALE.pads[key]
    if value > high:
        return sum(high < pad <= value for pad in pads)
    return -sum(value <= pad < low for pad in pads)
