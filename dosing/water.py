"""The water of a hot tub: what it holds, and what it becomes when something is added, spent, mixed, aired or heated."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from dosing.arrays import Array, Values, values
from dosing.equilibria import LN10, ZERO_CELSIUS
from dosing.solver import Known, Totals, solve
from dosing.substances import BORON, BR2, CACO3, CACO3_PER_EQUIVALENT, CL2, CYANURIC_ACID, SUBSTANCES, Brings, Substance

_BOUNDS = {
    "ph": (0.0, 14.0, "pH units"),
    "alkalinity": (-5e3, 5e4, "mg/L as CaCO3"),
    "calcium_hardness": (0.0, 1e5, "mg/L as CaCO3"),
    "cyanuric_acid": (0.0, 1e5, "mg/L"),
    "borate": (0.0, 1e5, "mg/L as B"),
    "temperature": (0.0, 100.0, "degC"),
    "tds": (0.0, 2e5, "mg/L"),
    "free_chlorine": (0.0, 1e5, "mg/L as Cl2"),
    "bromine": (0.0, 1e5, "mg/L as Br2"),
    "combined_chlorine": (0.0, 1e5, "mg/L as Cl2"),
    "chloride": (0.0, 1e5, "mmol/kg"),
    "sulfate": (0.0, 1e5, "mmol/kg"),
    "potassium": (0.0, 1e5, "mmol/kg"),
    "lithium": (0.0, 1e5, "mmol/kg"),
    "bromide": (0.0, 1e5, "mmol/kg"),
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
                label = name.replace("_", " ")
                object.__setattr__(self, name, values(label, given, low=low, high=high, unit=unit))
        try:
            np.broadcast_shapes(*(np.shape(getattr(self, name)) for name in _BOUNDS if getattr(self, name) is not None))
        except ValueError:
            raise ValueError("the arrays of one water have shapes that broadcast") from None


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
    `dosing.equilibria`. Where the alkalinity is too small for this pH, no carbonate is left: DIC is nil to 1e-17 mmol/kg
    and the saturation index far below -10.
    """
    return _solved(water, "ph", water.ph)


def from_carbon(water: Water, dic: ArrayLike) -> Speciation:
    """Speciate a closed water from its alkalinity and a DIC [mmol/kg] of its own; its pH is where the search begins.

    All may be arrays that broadcast: a whole plane of alkalinity and DIC is one call.
    """
    return _solved(water, "dic", values("DIC", dic, low=0.0, high=1e4, unit="mmol/kg"))


def add(water: Water, substance: str, mg_per_litre: ArrayLike) -> Water:
    """The water after a pure substance has dissolved, closed to the air and before any oxidant is used up.

    Two kinds act at once: monopersulfate, which the state does not hold, counts as spent; a reducer (thiosulfate,
    sulfite, ascorbic acid) takes the free chlorine, then the bromine, that it meets, and what is left of it stays inert.

    Parameters
    ----------
    substance : a key of `SUBSTANCES`
    mg_per_litre : of the pure substance [mg/L]

    Raises ValueError when the substance is unknown or more would be taken away than there is.
    """
    named = _named(substance)
    moles = values("a dose", mg_per_litre, low=-1e5, high=1e5, unit="mg/L") / named.molar_mass
    if named.reduces:
        reacted = np.minimum(moles, _oxidant(water) / named.reduces)
        chlorine, bromine = _oxidant_used(water, reacted * named.reduces)
        return _changed(water, [
            (moles - reacted, named.fresh),
            (reacted, named.spent._replace(chloride=named.spent.chloride - named.reduces)),
            (chlorine, Brings(chlorine=-1.0, chloride=1.0)),
            (bromine, Brings(bromine=-1.0, bromide=1.0)),
        ])  # fmt: skip
    if substance == "potassium_monopersulfate":
        return _changed(water, [(moles, named.spent)])
    return _changed(water, [(moles, named.fresh)])


def spend(water: Water, mg_per_litre: ArrayLike) -> Water:
    """The water after so much free chlorine [mg/L as Cl2] has been used up; closed to the air.

    In water that holds bromine the amount is mg/L as Br2, and free chlorine goes first: it makes new bromine of
    bromide. Each mole used leaves a halide ion and takes one equivalent of alkalinity.

    Raises ValueError when there is not so much.
    """
    amount = values("what is spent", mg_per_litre, low=0.0, high=1e5, unit="mg/L")
    moles = amount / np.where(np.asarray(water.bromine) > 0.0, BR2, CL2)
    there = _oxidant(water)
    if np.any(moles > there * (1.0 + 1e-9)):
        raise ValueError("less chlorine or bromine is spent than the water holds; this is more")
    chlorine, bromine = _oxidant_used(water, np.minimum(moles, there))
    return _changed(water, [
        (chlorine, Brings(alkalinity=-1.0, chlorine=-1.0, chloride=1.0)),
        (bromine, Brings(alkalinity=-1.0, bromine=-1.0, bromide=1.0)),
    ])  # fmt: skip


def mix(first: Water, second: Water, fraction_of_second: ArrayLike) -> Water:
    """Two waters mixed by mass, closed to the air; their temperatures mix too."""
    share = values("the fraction of the second water", fraction_of_second, low=0.0, high=1.0, unit="as a fraction")
    one, other = speciate(first), speciate(second)
    first, second = replace(first, chloride=one.chloride), replace(second, chloride=other.chloride)
    names = [field.name for field in fields(Water)]
    blended = {name: _blend(getattr(first, name), getattr(second, name), share) for name in names}
    return _settled(replace(first, **blended), "dic", _blend(one.dic, other.dic, share))


def equilibrate(water: Water, pco2: ArrayLike) -> Water:
    """The water at a pressure of carbon dioxide [atm], alkalinity unchanged: jets and air drive it to about 420e-6."""
    pressure = values("the pressure of carbon dioxide", pco2, low=1e-12, high=10.0, unit="atm")
    return _settled(replace(water, chloride=speciate(water).chloride), "pco2", pressure)


def heat(water: Water, temperature: ArrayLike) -> Water:
    """The water at another temperature [degC], closed to the air."""
    cold = speciate(water)
    return _settled(replace(water, chloride=cold.chloride, temperature=temperature), "dic", cold.dic)


# What happens to the totals


def _named(substance: str) -> Substance:
    try:
        return SUBSTANCES[substance]
    except KeyError:
        raise ValueError(f"no substance is called {substance!r}; there are: {', '.join(sorted(SUBSTANCES))}") from None


def _blend(first: Values, second: Values, share: Values) -> Values:
    return first * (1.0 - share) + second * share


def _oxidant(water: Water) -> Values:
    """mmol/kg of chlorine and bromine together."""
    return water.free_chlorine / CL2 + water.bromine / BR2


def _oxidant_used(water: Water, moles: Values) -> tuple[Values, Values]:
    """So many mmol/kg of oxidant as chlorine and bromine, chlorine first."""
    chlorine = np.minimum(moles, water.free_chlorine / CL2)
    return chlorine, moles - chlorine


_MG_PER_MMOL = {
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


def _changed(water: Water, changes: list[tuple[Values, Brings]]) -> Water:
    """The closed water after so many mmol/kg of each change."""
    before = speciate(water)
    water = replace(water, chloride=before.chloride)

    def gained(total: str) -> Values:
        return sum((moles * getattr(brings, total) for moles, brings in changes), 0.0)

    after = {name: getattr(water, name) + gained(total) * unit for name, (total, unit) in _MG_PER_MMOL.items()}
    for name in ("free_chlorine", "bromine"):
        after[name] = np.maximum(after[name], 0.0)
    return _settled(replace(water, **after), "dic", before.dic + gained("dic"))


def _settled(water: Water, known: Known, value: Values) -> Water:
    """The water with the pH and the dissolved solids that follow from its totals."""
    state = _solved(water, known, value)
    return replace(water, ph=state.ph, tds=state.dissolved_solids)


# Between a water's units and the solver's mol/kg


def _solved(water: Water, known: Known, value: Values) -> Speciation:
    given = {total: getattr(water, name) for name, (total, _) in _MG_PER_MMOL.items()}
    shape = np.broadcast_shapes(np.shape(value), np.shape(water.ph), *(np.shape(v) for v in given.values() if v is not None),
                                np.shape(water.temperature), np.shape(water.tds))

    def flat(quantity: Values) -> Array:
        if np.size(quantity) == 1:
            return np.reshape(np.asarray(quantity, dtype=np.float64), 1)
        return np.broadcast_to(quantity, shape).reshape(-1)

    amounts = {total: None if given[total] is None else flat(given[total]) / (unit * 1e3)
               for total, unit in _MG_PER_MMOL.values()}
    totals = Totals(kelvin=flat(water.temperature) + ZERO_CELSIUS, solids=flat(water.tds) / 1e3, **amounts)
    scale = 1e-3 if known == "dic" else 1.0
    state = solve(totals, known, flat(value) * scale, -LN10 * flat(water.ph))

    def back(array: Array) -> Values:
        if shape == ():
            return float(array[0])
        return array.reshape(shape) if array.size > 1 else np.full(shape, array[0])

    return Speciation(
        ph=back(state.ln_proton / -LN10),
        dic=back(state.dic * 1e3),
        carbon_dioxide=back(state.carbon_dioxide * 1e3),
        carbonate_alkalinity=back(state.carbonate_alkalinity * 1e3 * CACO3_PER_EQUIVALENT),
        ionic_strength=back(state.ionic_strength),
        saturation_index=back(np.log10(state.saturation)),
        pco2=back(state.pco2),
        sodium=back(state.sodium * 1e3),
        chloride=back(state.chloride * 1e3),
        hocl=back(state.hocl * 1e3 * CL2),
        ocl=back(state.ocl * 1e3 * CL2),
        dissolved_solids=back(state.solids * 1e3),
    )
