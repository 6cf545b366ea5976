"""What a product's substances do to the water, summed: the arrows of the plane of alkalinity and DIC, and all else."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from dosing.substances import BORON, BR2, CACO3, CACO3_PER_EQUIVALENT, CL2, CYANURIC_ACID, SUBSTANCES, Brings

BICARBONATES = frozenset({"sodium_bicarbonate", "sodium_sesquicarbonate"})
CARBONATES = frozenset({"sodium_carbonate", "sodium_hydroxide"})
ALKALIES = BICARBONATES | CARBONATES
ACIDS = frozenset({"sodium_bisulfate", "hydrochloric_acid", "sulfuric_acid"})
STABILISED = frozenset({"sodium_dichlor", "sodium_dichlor_anhydrous", "trichlor"})
CHLORINES = STABILISED | {"sodium_hypochlorite", "calcium_hypochlorite", "lithium_hypochlorite"}
BROMINES = frozenset({"bcdmh"})
BROMIDES = ("sodium_bromide", "bcdmh")
OXIDISER = "potassium_monopersulfate"
CYANURATE_SOURCES = STABILISED | {"cyanuric_acid"}

NOTHING = Brings()


@dataclass(frozen=True, slots=True)
class Effect:
    """mmol/kg that a dose in mg/L brings (or mmol for a dose in mg): `fresh` as it dissolves, `spent` once used up.

    Monopersulfate counts as spent from the start: its oxygen is no part of the state. Reducers count by what they
    take. `solids` in mg/L.
    """

    fresh: Brings = NOTHING
    spent: Brings = NOTHING
    solids: float = 0.0
    oxygen: float = 0.0
    """mmol of active oxygen (each stands for a mole of chlorine)."""

    @property
    def alkalinity(self) -> float:
        """mg/L as CaCO3, fresh."""
        return self.fresh.alkalinity * CACO3_PER_EQUIVALENT

    @property
    def alkalinity_spent(self) -> float:
        """mg/L as CaCO3 once the oxidant is used up."""
        return self.spent.alkalinity * CACO3_PER_EQUIVALENT

    @property
    def dic(self) -> float:
        """mmol/L."""
        return self.fresh.dic

    @property
    def hardness(self) -> float:
        """mg/L as CaCO3."""
        return self.fresh.calcium * CACO3

    @property
    def cyanurate(self) -> float:
        """mg/L."""
        return self.fresh.cyanurate * CYANURIC_ACID

    @property
    def borate(self) -> float:
        """mg/L as B."""
        return self.fresh.boron * BORON

    @property
    def chlorine(self) -> float:
        """mg/L as Cl2, without what makes bromine of a donor's own bromide."""
        return 0.0 if self.fresh.bromine else self.fresh.chlorine * CL2

    @property
    def bromine(self) -> float:
        """mg/L as Br2, a donor's chlorine counted as the bromine that it makes."""
        return (self.fresh.bromine + self.fresh.chlorine) * BR2 if self.fresh.bromine else 0.0

    @property
    def as_bromine(self) -> float:
        """mg/L as Br2 in water with a bromide reserve: every oxidant frees its own amount."""
        return (self.fresh.bromine + self.fresh.chlorine + self.oxygen) * BR2

    @property
    def sanitizes(self) -> bool:
        """Whether it brings chlorine or bromine."""
        return self.fresh.chlorine > 0 or self.fresh.bromine > 0

    def of(self, key: str) -> float:
        """The fresh effect on a reading key."""
        return {"ta": self.alkalinity, "ch": self.hardness, "cya": self.cyanurate, "borate": self.borate}[key]

    def spent_of(self, key: str) -> float:
        """The effect on a reading key once the oxidant is used up."""
        return self.alkalinity_spent if key == "ta" else self.of(key)

    def times(self, factor: float) -> Effect:
        """The same dose so many times."""
        fresh, spent = (Brings(*(part * factor for part in brings)) for brings in (self.fresh, self.spent))
        return Effect(fresh, spent, self.solids * factor, self.oxygen * factor)

    def plus(self, other: Effect) -> Effect:
        """Both doses."""
        fresh = Brings(*(a + b for a, b in zip(self.fresh, other.fresh, strict=True)))
        spent = Brings(*(a + b for a, b in zip(self.spent, other.spent, strict=True)))
        return Effect(fresh, spent, self.solids + other.solids, self.oxygen + other.oxygen)

    def used_up(self) -> Effect:
        """The same dose once its oxidant is used up."""
        return Effect(self.spent, self.spent, self.solids, 0.0)

    def per(self, litres: float) -> Effect:
        """What grams do in so many litres, when this effect is that of grams."""
        return self.times(1000.0 / litres)

    def with_alkalinity(self, more: float) -> Effect:
        """The same with so much more alkalinity (mg/L) from salts outside the table."""
        equivalents = more / CACO3_PER_EQUIVALENT
        fresh = self.fresh._replace(alkalinity=self.fresh.alkalinity + equivalents)
        return Effect(
            fresh, self.spent._replace(alkalinity=self.spent.alkalinity + equivalents), self.solids, self.oxygen
        )


def effect(substances: Mapping[str, float]) -> Effect:
    """What these amounts (mg/L, or g/1,000 L) of pure substances do. Raises ValueError for an unknown name."""
    total = Effect()
    for name, amount in substances.items():
        substance = SUBSTANCES.get(name)
        if substance is None:
            raise ValueError(f"{name!r} is not a known substance; these are: {', '.join(SUBSTANCES)}")
        oxygen = 2.0 if name == OXIDISER else 0.0
        fresh = substance.spent if name == OXIDISER else substance.fresh
        if substance.reduces:
            fresh = substance.spent._replace(chlorine=-substance.reduces)
        one = Effect(fresh, substance.spent, substance.solids * substance.molar_mass, oxygen)
        total = total.plus(one.times(amount / substance.molar_mass))
    return total
