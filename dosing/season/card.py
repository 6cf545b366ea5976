"""The personal card: the routine in grams of one product, in what the owner can measure, within what is allowed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from dosing.arrows import BROMINES, CHLORINES, STABILISED, effect
from dosing.products import QUARTER, Product
from dosing.season.tub import Tub

NoCard = Literal[
    "no_reading",  # nothing was ever read
    "test_overdue",  # the last test is too old
    "reading_not_fine",  # the last test found sanitizer out of range, and nothing has set it right since
    "no_product",  # the kit holds no sanitizer that may be used
    "volume_doubted",
]
CardCode = Literal["first", "as_before", "more", "less"]
_SAME = 0.1
_LEAST = 0.3
"""mg/L: a smaller dose is not worth a trip to the tub."""


@dataclass(frozen=True, slots=True)
class Card:
    """Grams of `product`, multiples of `step`. After each soak `each_soak` and `each_bather_hour` for each person and
    hour; after `idle_days` without any addition `idle`, for the first time in `first_idle_hours`. Never more than
    `most` at once, which brings `rises` mg/L. The card holds for `good_for_hours`; then a test is overdue.
    """

    product: str
    each_soak: float
    each_bather_hour: float
    idle_days: int
    idle: float
    first_idle_hours: float
    before_holiday: float
    after_holiday: float
    most: float
    rises: float
    good_for_hours: float
    step: float
    code: CardCode

    def after_soak(self, bathers: int, minutes: float) -> float:
        """Grams after so many people bathed so long."""
        return rounded(self.each_soak + self.each_bather_hour * bathers * minutes / 60.0, self.step, self.most)


def rounded(grams: float, step: float, most: float) -> float:
    """The nearest amount that can be measured, never above `most`."""
    steps = min(round(grams / step), math.floor(most / step + 1e-9))
    return round(max(0, steps) * step, 2)


def chosen(tub: Tub, cyanurate: float) -> Product | None:
    """The sanitizer of the routine: unstabilised where the kit has it, else dichlor while its cyanurate is allowed."""
    granules = [p for p in tub.kit.products if p.form != "tablet" and not p.buffer and not p.binder]
    own = [p for p in granules if p.main in BROMINES] if tub.sanitizer == "bromine" else []
    plain = [p for p in granules if p.main in CHLORINES and not set(p.substances) & STABILISED]
    stabilised = [p for p in granules if p.main in CHLORINES and set(p.substances) & STABILISED]
    if tub.limits.cyanurate_barred or cyanurate >= tub.limits.cyanurate_change:
        stabilised = []
    return next(iter([*own, *plain, *stabilised]), None)


def strength(tub: Tub, product: Product) -> float:
    """mg/L of sanitizer in this tub for a gram of product."""
    dose = effect(product.split(1.0)).per(tub.volume)
    return dose.as_bromine if tub.sanitizer == "bromine" else dose.chlorine


def step_of(product: Product) -> float:
    """Grams of the smallest amount that the owner can measure."""
    smallest = min((measure.millilitres for measure in product.measures), default=4.0)
    return QUARTER * smallest * product.density
