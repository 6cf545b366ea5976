"""Products as their labels describe them, and the kit that an owner has at hand."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from dosing.substances import SUBSTANCES

Form = Literal["granules", "liquid", "tablet"]

TEASPOON_ML = 5.0
TABLESPOON_ML = 15.0
QUARTER = 0.25


@dataclass(frozen=True, slots=True)
class Measure:
    """What a product is measured with, level full, in millilitres."""

    name: str
    millilitres: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.millilitres) and self.millilitres > 0):
            raise ValueError(f"the measure {self.name!r} holds a number of millilitres above 0")


SPOONS = (Measure("tablespoon", TABLESPOON_ML), Measure("teaspoon", TEASPOON_ML))


@dataclass(frozen=True, slots=True)
class Product:
    """A product by its label: mass fraction of each pure substance, bulk density (kg/L), measures and maxima.

    `label_max_g_per_1000l` bounds one dose; `label_dose_g_per_1000l` is the dose that a label fixes by volume alone
    (metal binders, buffers). `alkalinity_per_g` is what a gram of substances outside the table (phosphates) brings
    to a titration, in mg as CaCO3. `binder` marks a metal binder, `buffer` a pH buffer that goes in last.
    """

    key: str
    substances: Mapping[str, float]
    density: float
    measures: tuple[Measure, ...] = ()
    form: Form = "granules"
    label_max_g_per_1000l: float | None = None
    label_dose_g_per_1000l: float | None = None
    predissolve: bool = False
    buffer: bool = False
    binder: bool = False
    phosphate: bool = False
    alkalinity_per_g: float = 0.0
    price: float = 1.0
    """Relative cost of a kilogram; only the comparison between products matters."""
    pack_g: float | None = None
    """Grams in one pack, as it is sold."""

    def __post_init__(self) -> None:
        if not self.key:
            raise ValueError("a product has a key")
        unknown = [name for name in self.substances if name not in SUBSTANCES]
        if unknown:
            raise ValueError(f"{unknown[0]!r} is not a known substance; these are: {', '.join(SUBSTANCES)}")
        fractions = self.substances.values()
        if any(not 0 < fraction <= 1 for fraction in fractions) or sum(fractions) > 1 + 1e-9:
            raise ValueError(f"the mass fractions of {self.key!r} lie above 0 and sum to at most 1")
        if not (math.isfinite(self.density) and self.density > 0):
            raise ValueError(f"the density of {self.key!r} is a number of kg/L above 0")
        for maximum in (self.label_max_g_per_1000l, self.label_dose_g_per_1000l):
            if maximum is not None and not (math.isfinite(maximum) and maximum > 0):
                raise ValueError(f"the label of {self.key!r} allows a number of grams per 1,000 L above 0")
        if self.pack_g is not None and not (math.isfinite(self.pack_g) and self.pack_g > 0):
            raise ValueError(f"a pack of {self.key!r} holds a number of grams above 0")

    @property
    def main(self) -> str | None:
        """The substance that this product is bought for: the one with the greatest share; None for a binder."""
        return max(self.substances, key=lambda name: self.substances[name], default=None)

    def split(self, grams: float) -> dict[str, float]:
        """Grams of each pure substance in so many grams of product. Raises ValueError for no amount."""
        _amount(grams, "grams")
        return {name: grams * fraction for name, fraction in self.substances.items()}

    def grams(self, count: float, measure: str) -> float:
        """Grams of product in so many level measures. Raises ValueError for a measure that it does not have."""
        _amount(count, "measures")
        for candidate in self.measures:
            if candidate.name == measure:
                return count * candidate.millilitres * self.density
        raise ValueError(f"{self.key!r} has no measure {measure!r}; it has: {', '.join(m.name for m in self.measures)}")

    def measured(self, grams: float) -> list[tuple[float, str]]:
        """The dose in each of its measures, in whole quarters and never more than asked for.

        A measure that is far too large (less than a quarter) or far too small (more than twenty) is left out. Raises
        ValueError for no amount.
        """
        _amount(grams, "grams")
        out = []
        for measure in self.measures:
            exact = grams / (measure.millilitres * self.density)
            quarters = math.floor(exact / QUARTER + 1e-9) * QUARTER
            if QUARTER <= quarters <= 20:
                out.append((quarters, measure.name))
        return out


def _amount(number: float, of: str) -> None:
    if not (math.isfinite(number) and number >= 0):
        raise ValueError(f"an amount is a number of {of}, 0 or more; not {number:g}")


@dataclass(frozen=True, slots=True)
class Kit:
    """The products at hand, each under its own key."""

    products: tuple[Product, ...] = field(default=())

    def __post_init__(self) -> None:
        keys = [product.key for product in self.products]
        if len(keys) != len(set(keys)):
            raise ValueError("two products of a kit share a key")

    def without(self, *keys: str) -> Kit:
        """This kit less some products, named by product key or by a substance that they hold."""
        return Kit(tuple(p for p in self.products if p.key not in keys and not set(keys) & set(p.substances)))

    def named(self, key: str) -> Product | None:
        """The product with this key, if the kit holds it."""
        return next((product for product in self.products if product.key == key), None)

    def holding(self, names: Collection[str]) -> tuple[Product, ...]:
        """The products whose main substance is one of these."""
        return tuple(p for p in self.products if p.main in names)


def _pure(key: str, substance: str, fraction: float, density: float, *, cap: float, price: float) -> Product:
    measures = (Measure("cap", cap), *SPOONS)
    return Product(key, {substance: fraction}, density, measures, price=price)


# Strengths are those that the trade sells most; densities and cap volumes are common practice, and a dealer's to set.
DEFAULT_KIT = Kit(
    (
        _pure("bicarbonate", "sodium_bicarbonate", 1.0, 1.0, cap=60.0, price=1.0),
        _pure("soda_ash", "sodium_carbonate", 1.0, 1.05, cap=30.0, price=1.2),
        _pure("bisulfate", "sodium_bisulfate", 0.93, 1.4, cap=30.0, price=1.5),
        _pure("dichlor", "sodium_dichlor", 0.99, 0.95, cap=10.0, price=5.0),
        replace(_pure("hypochlorite", "sodium_hypochlorite", 0.05, 1.08, cap=40.0, price=1.0), form="liquid"),
        _pure("monopersulfate", "potassium_monopersulfate", 0.90, 1.2, cap=30.0, price=6.0),
        _pure("calcium_chloride", "calcium_chloride", 0.77, 0.85, cap=60.0, price=1.2),
    )
)
