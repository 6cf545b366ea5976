"""What becomes of a water when something is added, spent, mixed, aired or heated."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
from numpy.typing import ArrayLike

from dosing.arrays import Values, values
from dosing.carbonate import Known
from dosing.substances import BR2, CL2, SUBSTANCES, Brings, Substance
from dosing.water import MG_PER_MMOL, Water, solved, speciate

ROUNDING = 1e-9
"""An amount that falls below nil by less is nil."""


def add(water: Water, substance: str, mg_per_litre: ArrayLike) -> Water:
    """The water after a pure substance has dissolved, closed to the air and before any oxidant is used up.

    Two kinds act at once: monopersulfate, which the state does not hold, counts as spent; a reducer (thiosulfate,
    sulfite, ascorbic acid) takes the free chlorine, then the bromine, that it meets; what is left of it stays inert.

    Parameters
    ----------
    substance : a key of `SUBSTANCES`
    mg_per_litre : of the pure substance [mg/L]

    Raises ValueError when the substance is unknown or more would be taken away than there is.

    Examples
    --------
    1.4 lb of bicarbonate in 10,000 US gallons raise alkalinity by 10 mg/L (operator's handbook, from memory):

    >>> tub = Water(7.5, 90.0)
    >>> round(add(tub, "sodium_bicarbonate", 1.4 * 453592 / 37854.12).alkalinity, 1)
    100.0

    Cyanurate and borate hold acid back (PHREEQC 3.8.6: 6.885, 6.938 and 6.999 after 30 mg/L of 31.45 % acid):

    >>> waters = Water(7.5, 90.0, cyanuric_acid=np.array([0, 50, 0]), borate=np.array([0, 0, 50]), tds=900)
    >>> [round(float(ph), 3) for ph in add(waters, "hydrochloric_acid", 30 * 0.3145).ph]
    [6.885, 6.938, 6.999]
    """
    named = _named(substance)
    moles = values("a dose", mg_per_litre, low=-1e5, high=1e5, unit="in mg/L") / named.molar_mass
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

    Examples
    --------
    A milligram of chlorine used up takes 0.706 mg of alkalinity, 50.04 / 70.91:

    >>> round(spend(Water(7.5, 90.0, free_chlorine=5.0), 1.0).alkalinity, 3)
    89.294
    """
    amount = values("what is spent", mg_per_litre, low=0.0, high=1e5, unit="in mg/L")
    moles = amount / np.where(np.asarray(water.bromine) > 0.0, BR2, CL2)
    there = _oxidant(water)
    if np.any(moles > there * (1.0 + 1e-9)):
        raise ValueError("no more chlorine or bromine than the water holds can be spent")
    chlorine, bromine = _oxidant_used(water, np.minimum(moles, there))
    return _changed(water, [
        (chlorine, Brings(alkalinity=-1.0, chlorine=-1.0, chloride=1.0)),
        (bromine, Brings(alkalinity=-1.0, bromine=-1.0, bromide=1.0)),
    ])  # fmt: skip


def mix(first: Water, second: Water, fraction_of_second: ArrayLike) -> Water:
    """Two waters mixed by mass, closed to the air; their temperatures mix too.

    Examples
    --------
    >>> mixed = mix(Water(7.8, 200.0, 300.0), Water(7.0, 40.0, 60.0), 0.25)
    >>> round(mixed.alkalinity, 6), round(mixed.calcium_hardness, 6), round(mixed.ph, 2)
    (160.0, 240.0, 7.72)
    """
    share = values("the fraction of the second water", fraction_of_second, low=0.0, high=1.0, unit="as a fraction")
    one, other = speciate(first), speciate(second)
    first, second = replace(first, chloride=one.chloride), replace(second, chloride=other.chloride)
    names = [field.name for field in fields(Water)]
    blended = {name: _blend(getattr(first, name), getattr(second, name), share) for name in names}
    return _settled(replace(first, **blended), "dic", _blend(one.dic, other.dic, share))


def equilibrate(water: Water, pco2: ArrayLike) -> Water:
    """The water at a pressure of carbon dioxide [atm], alkalinity unchanged: jets and air drive it to about 420e-6.

    Examples
    --------
    Where pH ends at 38 degC with outdoor air, alkalinity 40, 80 and 120 (PHREEQC 3.8.6: 8.11, 8.40, 8.56):

    >>> [round(equilibrate(Water(7.2, alkalinity, tds=600), 420e-6).ph, 2) for alkalinity in (40, 80, 120)]
    [8.11, 8.4, 8.56]
    """
    pressure = values("the pressure of carbon dioxide", pco2, low=1e-12, high=10.0, unit="in atm")
    return _settled(replace(water, chloride=speciate(water).chloride), "pco2", pressure)


def heat(water: Water, temperature: ArrayLike) -> Water:
    """The water at another temperature [degC], closed to the air.

    Examples
    --------
    Warming lowers pH and, for all that, raises the saturation index (PHREEQC 3.8.6: by -0.172 and 0.181):

    >>> cold = Water(7.91, 56.9, 104.0, borate=5.8, temperature=15.0, tds=540.4)
    >>> warm = heat(cold, 38.0)
    >>> round(warm.ph - cold.ph, 3), round(speciate(warm).saturation_index - speciate(cold).saturation_index, 3)
    (-0.172, 0.181)
    """
    celsius = values("temperature", temperature, low=0.0, high=100.0, unit="in degC")
    cold = speciate(water)
    return _settled(replace(water, chloride=cold.chloride, temperature=celsius), "dic", cold.dic)


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


def _changed(water: Water, changes: list[tuple[Values, Brings]]) -> Water:
    """The closed water after so many mmol/kg of each change."""
    before = speciate(water)
    water = replace(water, chloride=before.chloride)

    def gained(total: str) -> Values:
        return sum((moles * getattr(brings, total) for moles, brings in changes), 0.0)

    after = {name: _sum(getattr(water, name), gained(total) * unit) for name, (total, unit) in MG_PER_MMOL.items()}
    dic = _sum(before.dic, gained("dic"))
    if np.any(np.asarray(dic) < 0.0):
        raise ValueError("no more carbonate than the water holds can be taken away")
    return _settled(replace(water, **after), "dic", dic)


def _sum(before: Values, gained: Values) -> Values:
    after = before + gained
    return np.where((after < 0.0) & (before >= 0.0) & (after > -ROUNDING), 0.0, after)


def _settled(water: Water, known: Known, value: Values) -> Water:
    """The water with the pH and the dissolved solids that follow from its totals."""
    state = solved(water, known, value)
    return replace(water, ph=state.ph, tds=state.dissolved_solids)
