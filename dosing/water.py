"""The water of a hot tub: what it holds, and the equilibrium that it is in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from dosing.arrays import Array, Values, common_shape, flat, shaped, values
from dosing.carbonate import Known
from dosing.equilibria import LN10, ZERO_CELSIUS
from dosing.solver import solve
from dosing.substances import BORON, BR2, CACO3, CACO3_PER_EQUIVALENT, CL2, CYANURIC_ACID
from dosing.totals import Totals

MG_PER_MMOL = {
    "alkalinity": ("alkalinity", CACO3_PER_EQUIVALENT),
    "calcium_hardness": ("calcium", CACO3),
    "cyanuric_acid": ("cyanurate", CYANURIC_ACID),
    "borate": ("boron", BORON),
    "free_chlorine": ("chlorine", CL2),
    "bromine": ("bromine", BR2),
    "chloride": ("chloride", 1.0),
    "sulfate": ("sulfate", 1.0),
    "potassium": ("potassium", 1.0),
    "lithium": ("lithium", 1.0),
    "bromide": ("bromide", 1.0),
}
"""Fields of a water, each with its name among the totals and how much of the field's unit is a mmol/kg."""

BLOCK = 4096
"""Waters solved at a time: the arrays of a block stay in the processor's cache."""


_BOUNDS = {
    "ph": (0.0, 14.0, "(no unit)"),
    "alkalinity": (-5e3, 5e4, "in mg/L as CaCO3"),
    "calcium_hardness": (0.0, 1e5, "in mg/L as CaCO3"),
    "cyanuric_acid": (0.0, 1e5, "in mg/L"),
    "borate": (0.0, 1e5, "in mg/L as B"),
    "temperature": (0.0, 100.0, "in degC"),
    "tds": (0.0, 2e5, "in mg/L"),
    "free_chlorine": (0.0, 1e5, "in mg/L as Cl2"),
    "bromine": (0.0, 1e5, "in mg/L as Br2"),
    "combined_chlorine": (0.0, 1e5, "in mg/L as Cl2"),
    "chloride": (0.0, 1e5, "in mmol/kg"),
    "sulfate": (0.0, 1e5, "in mmol/kg"),
    "potassium": (0.0, 1e5, "in mmol/kg"),
    "lithium": (0.0, 1e5, "in mmol/kg"),
    "bromide": (0.0, 1e5, "in mmol/kg"),
}


@dataclass(frozen=True, slots=True, eq=False)
class Water:
    """A water, or an array of waters: every field is a float or an array, and they broadcast.

    Parameters
    ----------
    ph : [-]
    alkalinity : total alkalinity, what a titration to pH 4.5 finds: cyanurate and borate included [mg/L as CaCO3]
    calcium_hardness : calcium alone [mg/L as CaCO3]
    cyanuric_acid : total, chlorinated or not [mg/L]
    borate : [mg/L as B]
    temperature : [degC]
    tds : total dissolved solids [mg/L]; NaCl makes up what the rest leaves open
    free_chlorine : total of hypochlorous acid, hypochlorite and what cyanurate binds [mg/L as Cl2]
    bromine : [mg/L as Br2]
    combined_chlorine : taken as neutral and inert [mg/L as Cl2]
    chloride : [mmol/kg]; None: rebuilt from `tds`. Set it and `tds` is only carried along
    sulfate, potassium, lithium, bromide : what products brought [mmol/kg]

    Sodium is what electroneutrality asks for: alkalinity + Cl + Br + 2 SO4 - K - Li - 2 Ca.
    One litre counts as one kilogram of water. Built for 5 to 42 degC, TDS 100 to 4000, pH 6 to 9, alkalinity 0 to 400,
    hardness 0 to 800, cyanuric acid 0 to 300 and borate 0 to 100 mg/L as B.

    Raises ValueError, in a sentence, for what is not a number or lies outside any water.
    """

    ph: Values
    alkalinity: Values
    calcium_hardness: Values = 150.0
    cyanuric_acid: Values = 0.0
    borate: Values = 0.0
    temperature: Values = 38.0
    tds: Values = 400.0
    free_chlorine: Values = 0.0
    bromine: Values = 0.0
    combined_chlorine: Values = 0.0
    chloride: Values | None = None
    sulfate: Values = 0.0
    potassium: Values = 0.0
    lithium: Values = 0.0
    bromide: Values = 0.0

    def __post_init__(self) -> None:
        for name, (low, high, unit) in _BOUNDS.items():
            given = getattr(self, name)
            if given is not None:
                label = "pH" if name == "ph" else name.replace("_", " ")
                object.__setattr__(self, name, values(label, given, low=low, high=high, unit=unit))
        common_shape(getattr(self, name) for name in _BOUNDS)


class Speciation(NamedTuple):
    """What a water's equilibrium holds; floats, or arrays of the water's shape."""

    ph: Values
    dic: Values
    """Dissolved inorganic carbon [mmol/kg]."""
    carbon_dioxide: Values
    """CO2(aq) [mmol/kg]."""
    carbonate_alkalinity: Values
    """Total alkalinity less cyanurate, borate, hypochlorite, hypobromite, OH- and H+ [mg/L as CaCO3]."""
    ionic_strength: Values
    """[mol/kg]."""
    saturation_index: Values
    """Of calcite, log10 of the ion activity product over the solubility product."""
    pco2: Values
    """Partial pressure of CO2 that the water would be at rest with [atm]."""
    sodium: Values
    """[mmol/kg]."""
    chloride: Values
    """[mmol/kg]."""
    hocl: Values
    """Hypochlorous acid [mg/L as Cl2]."""
    ocl: Values
    """Hypochlorite [mg/L as Cl2]."""
    dissolved_solids: Values
    """Of every ion counted [mg/L]; more than the `tds` given where that is too little for the rest of the water."""


def speciate(water: Water) -> Speciation:
    """Speciate a water from its pH and alkalinity.

    Truesdell-Jones and Davies activities, the pairs CaHCO3+, CaCO3, CaOH+, NaHCO3, CaSO4, NaSO4- and HSO4-, all
    cyanurates with and without chlorine, borate, hypochlorite and hypobromite; constants and sources in
    `dosing.equilibria`. Where the alkalinity is too small for this pH no carbonate is left: DIC is nil to 1e-16
    mmol/kg and the saturation index below -10.

    Examples
    --------
    Calcite at rest with 10^-3.5 atm of CO2 at 25 degC has pH 8.28 and 0.49 mmol/kg of calcium (textbooks: 8.3, 0.5):

    >>> found = speciate(Water(8.28, 49.1, 49.1, temperature=25.0, tds=0.0))
    >>> abs(round(found.saturation_index, 2)), round(float(np.log10(found.pco2)), 2)
    (0.0, -3.5)
    """
    return solved(water, "ph", water.ph)


def from_carbon(water: Water, dic: ArrayLike) -> Speciation:
    """Speciate a closed water from its alkalinity and a DIC [mmol/kg] of its own; its pH is where the search begins.

    All may be arrays that broadcast: a whole plane of alkalinity and DIC is one call.

    Examples
    --------
    >>> water = Water(7.4, 100.0)
    >>> round(from_carbon(water, speciate(water).dic).ph, 6)
    7.4
    """
    return solved(water, "dic", values("DIC", dic, low=1e-6, high=1e4, unit="in mmol/kg"))


def solved(water: Water, known: Known, value: Values) -> Speciation:
    """Speciate a water whose pH, DIC [mmol/kg] or pressure of CO2 [atm] is `value`."""
    amounts = {name: amount for name in MG_PER_MMOL if (amount := getattr(water, name)) is not None}
    shape = common_shape((value, water.ph, water.temperature, water.tds, *amounts.values()))
    columns = [flat(one, shape) for one in (value, water.ph, water.temperature, water.tds, *amounts.values())]
    size = np.broadcast(*columns).size
    found = np.empty((len(Speciation._fields), size))
    for start in range(0, size, BLOCK):
        block = slice(start, start + BLOCK)
        given, ph, temperature, tds, *rest = (one if one.size == 1 else one[block] for one in columns)
        part = _solved(known, given, ph, temperature, tds, dict(zip(amounts, rest, strict=True)))
        for row, values_of_row in zip(found, part, strict=True):
            row[block] = values_of_row
    return Speciation._make(shaped(row, shape) for row in found)


def _solved(
    known: Known, value: Array, ph: Array, temperature: Array, tds: Array, amounts: dict[str, Array]
) -> tuple[Array, ...]:
    """A block of waters in the order of `Speciation`; arrays of shape (n,) or (1,)."""
    moles = {MG_PER_MMOL[name][0]: amount * (1e-3 / MG_PER_MMOL[name][1]) for name, amount in amounts.items()}
    totals = Totals(kelvin=temperature + ZERO_CELSIUS, solids=tds * 1e-3, **moles)
    state = solve(totals, known, value * 1e-3 if known == "dic" else value, -LN10 * ph)
    return (
        state.ln_proton / -LN10,
        state.dic * 1e3,
        state.carbon_dioxide * 1e3,
        state.carbonate_alkalinity * (1e3 * CACO3_PER_EQUIVALENT),
        state.ionic_strength,
        np.log(state.saturation) / LN10,
        state.pco2,
        state.sodium * 1e3,
        state.chloride * 1e3,
        state.hocl * (1e3 * CL2),
        state.ocl * (1e3 * CL2),
        state.solids * 1e3,
    )
