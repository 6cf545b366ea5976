"""What the pure substances of the trade bring to the water.

Molar masses are sums of IUPAC 2021 atomic weights. The effects are stoichiometry: the reaction stands beside each.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import NamedTuple

CACO3_PER_EQUIVALENT = 50.0435
"""mg of alkalinity as CaCO3 in a milliequivalent (100.0869 / 2, rounded as in the reference tables)."""
CACO3 = 100.0869
CL2 = 70.906
BR2 = 159.808
CYANURIC_ACID = 129.074
BORON = 10.811
"""g/mol, as in the reference tables."""


class Brings(NamedTuple):
    """Moles (equivalents for alkalinity) in the water for each mole of a substance.

    Sodium is not listed: it is what electroneutrality asks for, alkalinity + Cl + Br + 2 SO4 - K - Li - 2 Ca.
    """

    alkalinity: float = 0.0
    dic: float = 0.0
    calcium: float = 0.0
    cyanurate: float = 0.0
    boron: float = 0.0
    chlorine: float = 0.0
    bromine: float = 0.0
    chloride: float = 0.0
    sulfate: float = 0.0
    potassium: float = 0.0
    lithium: float = 0.0
    bromide: float = 0.0


@dataclass(frozen=True, slots=True)
class Substance:
    """A pure substance: `fresh` as it dissolves, `spent` after its oxidant (or what it reduces) is used up."""

    name: str
    formula: str
    molar_mass: float
    """g/mol."""
    solids: float
    """Mass fraction that is dissolved solids; hydrate water is not."""
    fresh: Brings
    spent: Brings
    reduces: float
    """Moles of chlorine or bromine that a mole takes away."""
    source: str

    def _per_mg(self, moles: float, mass: float) -> float:
        return moles * mass / self.molar_mass

    @property
    def alkalinity(self) -> float:
        """mg/L as CaCO3 for each mg/L, fresh."""
        return self._per_mg(self.fresh.alkalinity, CACO3_PER_EQUIVALENT)

    @property
    def alkalinity_spent(self) -> float:
        """mg/L as CaCO3 for each mg/L, after the oxidant is used up."""
        return self._per_mg(self.spent.alkalinity, CACO3_PER_EQUIVALENT)

    @property
    def dic(self) -> float:
        """Dissolved inorganic carbon, mmol/kg for each mg/L."""
        return self._per_mg(self.fresh.dic, 1.0)

    @property
    def calcium_hardness(self) -> float:
        """mg/L as CaCO3 for each mg/L."""
        return self._per_mg(self.fresh.calcium, CACO3)

    @property
    def cyanuric_acid(self) -> float:
        """mg/L for each mg/L."""
        return self._per_mg(self.fresh.cyanurate, CYANURIC_ACID)

    @property
    def borate(self) -> float:
        """mg/L as B for each mg/L."""
        return self._per_mg(self.fresh.boron, BORON)

    @property
    def free_chlorine(self) -> float:
        """mg/L as Cl2 for each mg/L; what a reducer takes away in chlorine water is negative."""
        return self._per_mg(self.fresh.chlorine - self.reduces, CL2)

    @property
    def bromine(self) -> float:
        """mg/L as Br2 for each mg/L: HOBr as it dissolves, without what its HOCl makes from a bromide bank."""
        return self._per_mg(self.fresh.bromine, BR2)

    @property
    def bromine_yield(self) -> float:
        """mg/L as Br2 for each mg/L once its chlorine has made bromine of bromide, or chlorine has of its bromide."""
        if self.fresh.bromine:
            return self._per_mg(self.fresh.bromine + self.fresh.chlorine, BR2)
        return self._per_mg(self.fresh.bromide, BR2)

    @property
    def tds(self) -> float:
        """Dissolved solids, mg/L for each mg/L."""
        return self.solids


def _plain(name: str, formula: str, molar_mass: float, fresh: Brings, source: str, solids: float = 1.0) -> Substance:
    return Substance(name, formula, molar_mass, solids, fresh, fresh, 0.0, source)


def _oxidant(name: str, formula: str, molar_mass: float, fresh: Brings, source: str, solids: float = 1.0) -> Substance:
    """A source of HOCl or HOBr: each mole reduced leaves a halide ion and a hydrogen ion."""
    used = fresh.chlorine + fresh.bromine
    spent = fresh._replace(
        alkalinity=fresh.alkalinity - used,
        chlorine=0.0,
        bromine=0.0,
        chloride=fresh.chloride + fresh.chlorine,
        bromide=fresh.bromide + fresh.bromine,
    )
    return Substance(name, formula, molar_mass, solids, fresh, spent, 0.0, source)


_TABLE = (
    _plain("sodium_bicarbonate", "NaHCO3", 84.006, Brings(alkalinity=1, dic=1), "NaHCO3 -> Na+ + HCO3-"),
    _plain("sodium_carbonate", "Na2CO3", 105.988, Brings(alkalinity=2, dic=1), "Na2CO3 -> 2 Na+ + CO3--"),
    _plain("sodium_sesquicarbonate", "Na2CO3.NaHCO3.2H2O", 226.023, Brings(alkalinity=3, dic=2),
           "Na2CO3.NaHCO3.2H2O -> 3 Na+ + CO3-- + HCO3-", 0.8406),
    _plain("sodium_hydroxide", "NaOH", 39.997, Brings(alkalinity=1), "NaOH -> Na+ + OH-"),
    _plain("sodium_bisulfate", "NaHSO4", 120.054, Brings(alkalinity=-1, sulfate=1), "NaHSO4 -> Na+ + H+ + SO4--"),
    _plain("hydrochloric_acid", "HCl", 36.458, Brings(alkalinity=-1, chloride=1), "HCl -> H+ + Cl-"),
    _plain("sulfuric_acid", "H2SO4", 98.072, Brings(alkalinity=-2, sulfate=1), "H2SO4 -> 2 H+ + SO4--"),
    _oxidant("sodium_dichlor", "NaCl2C3N3O3.2H2O", 255.971, Brings(alkalinity=1, cyanurate=1, chlorine=2),
             "Cl2Cy- + 2 H2O -> H2Cy- + 2 HOCl", 0.8592),
    _oxidant("sodium_dichlor_anhydrous", "NaCl2C3N3O3", 219.941, Brings(alkalinity=1, cyanurate=1, chlorine=2),
             "Cl2Cy- + 2 H2O -> H2Cy- + 2 HOCl"),
    _oxidant("trichlor", "Cl3C3N3O3", 232.401, Brings(cyanurate=1, chlorine=3), "Cl3Cy + 3 H2O -> H3Cy + 3 HOCl"),
    _oxidant("sodium_hypochlorite", "NaOCl", 74.439, Brings(alkalinity=1, chlorine=1), "NaOCl -> Na+ + OCl-"),
    _oxidant("calcium_hypochlorite", "Ca(OCl)2", 142.976, Brings(alkalinity=2, calcium=1, chlorine=2),
             "Ca(OCl)2 -> Ca++ + 2 OCl-"),
    _oxidant("lithium_hypochlorite", "LiOCl", 58.389, Brings(alkalinity=1, chlorine=1, lithium=1),
             "LiOCl -> Li+ + OCl-"),
    Substance("potassium_monopersulfate", "2KHSO5.KHSO4.K2SO4", 614.737, 1.0,
              Brings(alkalinity=-1, chloride=2, sulfate=2, potassium=5),
              Brings(alkalinity=-3, sulfate=4, potassium=5), 0.0,
              "2KHSO5.KHSO4.K2SO4 -> 5 K+ + 4 SO4-- + 3 H+ + 2 [O]"),
    _oxidant("bcdmh", "C5H6BrClN2O2", 241.469, Brings(chlorine=1, bromine=1),
             "BCDMH + 2 H2O -> HOBr + HOCl + dimethylhydantoin, taken as inert"),
    _plain("sodium_bromide", "NaBr", 102.894, Brings(bromide=1), "NaBr -> Na+ + Br-; bromine only after oxidation"),
    _plain("calcium_chloride", "CaCl2", 110.978, Brings(calcium=1, chloride=2), "CaCl2 -> Ca++ + 2 Cl-"),
    _plain("calcium_chloride_dihydrate", "CaCl2.2H2O", 147.008, Brings(calcium=1, chloride=2),
           "CaCl2.2H2O -> Ca++ + 2 Cl-", 0.7549),
    _plain("borax_decahydrate", "Na2B4O7.10H2O", 381.363, Brings(alkalinity=2, boron=4),
           "Na2B4O7 + 7 H2O -> 2 Na+ + 2 B(OH)4- + 2 B(OH)3", 0.7691),
    _plain("borax_pentahydrate", "Na2B4O7.5H2O", 291.288, Brings(alkalinity=2, boron=4),
           "Na2B4O7 + 7 H2O -> 2 Na+ + 2 B(OH)4- + 2 B(OH)3", 1.0069),
    _plain("boric_acid", "H3BO3", 61.831, Brings(boron=1), "B(OH)3 dissolves whole"),
    _plain("cyanuric_acid", "C3H3N3O3", 129.075, Brings(cyanurate=1), "H3Cy dissolves whole"),
    Substance("sodium_thiosulfate", "Na2S2O3", 158.097, 1.0, Brings(sulfate=1),
              Brings(alkalinity=-6, sulfate=2, chloride=4), 4.0,
              "S2O3-- + 4 HOCl + H2O -> 2 SO4-- + 4 Cl- + 6 H+; to tetrathionate it takes an eighth of that"),
    Substance("sodium_sulfite", "Na2SO3", 126.037, 1.0, Brings(sulfate=1),
              Brings(alkalinity=-1, sulfate=1, chloride=1), 1.0, "SO3-- + HOCl -> SO4-- + Cl- + H+"),
    Substance("ascorbic_acid", "C6H8O6", 176.124, 1.0, Brings(alkalinity=-1, chloride=1),
              Brings(alkalinity=-1, chloride=1), 1.0,
              "C6H8O6 + HOCl -> C6H6O6 + H+ + Cl-; left over, it counts as an acid and its anion as chloride"),
    _plain("sodium_chloride", "NaCl", 58.443, Brings(chloride=1), "NaCl -> Na+ + Cl-"),
)  # fmt: skip

SUBSTANCES: Mapping[str, Substance] = MappingProxyType({substance.name: substance for substance in _TABLE})
"""The pure substances by canonical name."""
