"""The equilibrium of a water: one iteration for pH, pairs and ionic strength, for one water or an array of them."""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np

from dosing.activity import DebyeHueckel, activity_coefficients, debye_hueckel
from dosing.arrays import Array
from dosing.carbonate import TRACE, Carbon, Free, Known, share_carbonate
from dosing.massaction import Constants, between_concentrations, constants_at
from dosing.totals import Background, Totals, background, dissolved_solids
from dosing.weakacids import WeakAcids, weak_acids

__all__ = ["Equilibrium", "Known", "Totals", "solve"]

PASSES = 100
STEP = 1e-7
"""A pass that moves ln {H+} and ln I by less is the last; each comes some ten times nearer than the one before."""
IONS = 5e-7
"""The same for ln I where the pH is known: a tenth of it, or less, reaches any other number."""
FEWEST = 3
"""Passes where the pH is known: ions take their share of pairs from the pass before, and lag behind ln I."""
LONGEST_STEP = 2.5
"""Of ln {H+} in a pass, for the first ten; then shorter."""
NEAR = 1e-8
"""How near ln [HOCl] has to come within a pass; before the last a hundredth of what the pass before moved is enough."""
LARGEST_RATIO = 0.3
USUAL = 0.8
"""Activity coefficient of an ion of one charge in a tub, near enough to begin with."""


class Equilibrium(NamedTuple):
    """The solved water: concentrations [mol/kg], pressure [atm], solids [g/kg]."""

    ln_proton: Array
    dic: Array
    carbon_dioxide: Array
    carbonate_alkalinity: Array
    ionic_strength: Array
    saturation: Array
    """Ion activity product of calcite over its solubility product."""
    pco2: Array
    sodium: Array
    chloride: Array
    hocl: Array
    ocl: Array
    solids: Array


def _at(kelvin: Array) -> tuple[Constants, DebyeHueckel]:
    """The constants of these temperatures; of a single one, whoever asks for it, they are computed once."""
    first = float(kelvin[0])
    return _at_one(first) if bool(np.all(kelvin == first)) else (constants_at(kelvin), debye_hueckel(kelvin))


@lru_cache(maxsize=64)
def _at_one(kelvin: float) -> tuple[Constants, DebyeHueckel]:
    alone = np.array([kelvin])
    return constants_at(alone), debye_hueckel(alone)


def solve(totals: Totals, known: Known, value: Array, ln_proton: Array, near: float = STEP) -> Equilibrium:
    """Solve for the rest where the pH, the DIC [mol/kg] or the pressure of CO2 [atm] is `known`.

    `ln_proton` is the pH where that is known (and `value` unused), else where the search begins. Shapes (n,) or (1,);
    so many as stay in the processor's cache are solved fastest. `near` is how little a last pass may move ln {H+} and
    ln I. Raises ArithmeticError for a water that does not settle; none that a hot tub could hold is one.
    """
    thermodynamic, debye = _at(totals.kelvin)
    rings = bool(np.any(totals.cyanurate > 0.0))
    totals = totals._replace(
        calcium=totals.calcium + TRACE, cyanurate=totals.cyanurate + TRACE, chlorine=totals.chlorine + TRACE
    )
    proton = np.exp(ln_proton)
    strong, strength, solutes = _start(thermodynamic, totals, proton)
    free = Free(totals.calcium, strong.sodium, totals.sulfate)
    hocl: Array | None = None
    before: tuple[Array, Array] | None = None
    moved = 1.0

    for count in range(PASSES):
        k = between_concentrations(thermodynamic, activity_coefficients(strength, debye, solutes))
        weak = weak_acids(k, proton, totals, hocl, rings=rings, near=max(0.01 * moved, NEAR))
        strong = background(totals, np.maximum(totals.alkalinity - weak.alkalinity, 0.0))
        carbon = share_carbonate(k, proton, totals, strong, free, weak.alkalinity, known, value)
        hocl, free = weak.hocl, carbon.free
        solutes = strong.sodium + strong.chloride + carbon.dic + totals.calcium + totals.boron
        solutes = solutes + totals.cyanurate + totals.sulfate + totals.potassium
        ions = _ionic_strength(k, proton, totals, strong, weak, carbon)
        moved = max(weak.moved, float(np.max(np.abs(ions / strength - 1.0))))
        if known == "ph":
            strength, before = _ahead(strength, ions, before), (strength, ions)
            enough = max(near, IONS) if count >= FEWEST - 1 else 0.0
        else:
            strength = ions
            excess = carbon.alkalinity + weak.alkalinity + carbon.elsewhere - totals.alkalinity
            longest = LONGEST_STEP / (1 + count // 10)
            step = np.clip(-excess / (carbon.slope + weak.slope), -longest, longest)
            ln_proton = ln_proton + step
            proton = np.exp(ln_proton)
            moved, enough = max(moved, float(np.max(np.abs(step)))), near
        if moved < enough:
            return _result(ln_proton, k, totals, carbon, strength, strong, weak)
    raise ArithmeticError("the equilibrium of this water was not found: it is too far from any that a hot tub holds")


def _start(k: Constants, totals: Totals, proton: Array) -> tuple[Background, Array, Array]:
    """Strong ions, ionic strength and solutes to begin with: without pairs, activities as in a usual tub."""
    base = USUAL * proton
    weak = totals.boron / (1.0 + base / k.boric) + totals.cyanurate / (1.0 + base / k.rings.h2cy)
    carbonate = np.maximum(totals.alkalinity - weak, 0.0)
    strong = background(totals, carbonate)
    solutes = strong.sodium + strong.chloride + carbonate + weak + totals.calcium
    strength = 0.5 * (solutes + 3.0 * totals.calcium + carbonate / (1.0 + USUAL**7 * proton / k.k2))
    return strong, strength, solutes


def _ahead(value: Array, mapped: Array, before: tuple[Array, Array] | None) -> Array:
    """Where a contracting map leads, from two of its steps: the sum of the geometric series (Aitken, Wegstein)."""
    if before is None:
        return mapped
    run = value - before[0]
    ratio = np.clip((mapped - before[1]) * run / (run * run + TRACE * TRACE), -LARGEST_RATIO, LARGEST_RATIO)
    ahead: Array = mapped + (mapped - value) * ratio / (1.0 - ratio)
    return ahead


def _ionic_strength(
    k: Constants, proton: Array, totals: Totals, strong: Background, weak: WeakAcids, carbon: Carbon
) -> Array:
    free = carbon.free
    single = free.sodium + strong.chloride + carbon.bicarbonate + carbon.calcium_bicarbonate
    single = single + totals.potassium + totals.lithium + totals.bromide
    single = single + k.sodium_sulfate * free.sodium * free.sulfate
    single = single + k.calcium_hydroxide * free.calcium / proton + k.bisulfate * proton * free.sulfate
    double = free.calcium + carbon.carbonate + free.sulfate
    strength: Array = 0.5 * (single + 4.0 * double + weak.charge_squared)
    return strength


def _result(
    ln_proton: Array,
    k: Constants,
    totals: Totals,
    carbon: Carbon,
    strength: Array,
    strong: Background,
    weak: WeakAcids,
) -> Equilibrium:
    titrated = totals.alkalinity - weak.alkalinity
    return Equilibrium(
        ln_proton=ln_proton,
        dic=carbon.dic,
        carbon_dioxide=carbon.carbon_dioxide,
        carbonate_alkalinity=titrated,
        ionic_strength=strength,
        saturation=k.calcite * carbon.free.calcium * carbon.carbonate,
        pco2=k.gas * carbon.carbon_dioxide,
        sodium=strong.sodium,
        chloride=strong.chloride,
        hocl=weak.hocl,
        ocl=weak.ocl,
        solids=dissolved_solids(totals, strong, np.maximum(titrated, 0.0)),
    )
