"""The equilibrium of a closed or open water: one iteration for pH, ion pairs and ionic strength, over arrays.

Everything is in mol (or eq) per kg of water and in arrays of shape (n,) or (1,), which broadcast.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np

from dosing.activity import activity_basis, debye_hueckel
from dosing.arrays import Array
from dosing.chlorine import Shares, share_chlorine
from dosing.equilibria import LN10
from dosing.massaction import Constants, concentration_constants, log_constants

Known = Literal["ph", "dic", "pco2"]

TRACE = 1e-20
"""mol/kg that stand for nil, so that no share of nil is ever taken."""
BLOCK = 4096
"""Waters solved at a time: the arrays of a block stay in the processor's cache."""
PASSES = 100
STEP = 1e-10
"""A pass that moves ln {H+}, and ln I, by less than this is the last."""
LONGEST_STEP = 2.5


class Totals(NamedTuple):
    """What is in the water, however it is bound. Chloride None: rebuilt from the dissolved solids [kg/kg]."""

    kelvin: Array
    alkalinity: Array
    calcium: Array
    cyanurate: Array
    boron: Array
    chlorine: Array
    bromine: Array
    sulfate: Array
    potassium: Array
    lithium: Array
    bromide: Array
    chloride: Array | None
    solids: Array | None


class Equilibrium(NamedTuple):
    """The solved water: concentrations [mol/kg], pressure [atm], natural logarithm of {H+}."""

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
    """Dissolved solids [g/kg]."""


class Masses(NamedTuple):
    """Grams per mole in the book-keeping of dissolved solids."""

    sodium: float = 22.98977
    calcium: float = 40.078
    chloride: float = 35.453
    bicarbonate: float = 61.0168
    cyanurate: float = 129.074
    boric_acid: float = 61.833
    sulfate: float = 96.06
    potassium: float = 39.0983
    lithium: float = 6.94
    bromide: float = 79.904


MASS = Masses()


def solve(totals: Totals, known: Known, value: Array, ln_proton: Array | None = None) -> Equilibrium:
    """Solve for the rest when pH, DIC [mol/kg] or the CO2 pressure [atm] is known. `ln_proton` is a first guess.

    Raises ArithmeticError when a water does not settle, which no water within the documented range does.
    """
    size = max(array.size for array in (*totals, value) if array is not None)
    if size <= BLOCK:
        return _solve_block(totals, known, value, ln_proton)
    parts = []
    for start in range(0, size, BLOCK):
        window = slice(start, start + BLOCK)
        block = Totals(*(_cut(array, window) for array in totals))
        first = None if ln_proton is None else _cut(ln_proton, window)
        parts.append(_solve_block(block, known, _cut(value, window), first))
    return Equilibrium(*(np.concatenate(columns) for columns in zip(*parts, strict=True)))


def _cut(array: Array | None, window: slice) -> Array | None:
    return array if array is None or array.size == 1 else array[window]


def _solve_block(totals: Totals, known: Known, value: Array, ln_proton: Array | None) -> Equilibrium:
    rings = bool(np.any(totals.cyanurate > 0.0))
    logs = log_constants(totals.kelvin, rings=rings)
    coefficients = debye_hueckel(totals.kelvin)
    present = totals._replace(
        calcium=totals.calcium + TRACE, cyanurate=totals.cyanurate + TRACE, chlorine=totals.chlorine + TRACE
    )
    bicarbonate = np.maximum(present.alkalinity, 0.0)
    background = _background(present, bicarbonate)
    strength = 0.5 * (background.sodium + background.chloride + bicarbonate + 4.0 * present.calcium)
    solutes = 2.0 * strength
    if known == "ph":
        ln_proton = -LN10 * value
    elif ln_proton is None:
        ln_proton = np.full(strength.shape, -7.5 * LN10)
    free = _Free(present.calcium, background.sodium, present.sulfate)
    hocl: Array | None = None

    for count in range(PASSES):
        constants = concentration_constants(logs, activity_basis(strength, coefficients, solutes))
        proton = np.exp(ln_proton)
        weak = _weak_acids(constants, proton, present, hocl)
        hocl = weak.hocl
        carbon = _carbonate(constants, proton, present, background, free, weak, known, value)
        free = carbon.free
        background = _background(present, carbon.alkalinity)
        ions = _ionic_strength(constants, proton, present, background, weak, carbon)
        solutes = background.sodium + background.chloride + present.calcium + carbon.dic + present.sulfate
        solutes = solutes + present.cyanurate + present.boron + present.potassium + present.lithium + present.bromide
        moved = np.max(np.abs(ions / strength - 1.0))
        strength = ions
        if known != "ph":
            longest = LONGEST_STEP / (1 + count // 10)
            step = np.clip(-carbon.excess / carbon.slope, -longest, longest)
            ln_proton = ln_proton + step
            moved = np.maximum(moved, np.max(np.abs(step)))
        if moved < STEP:
            break
    else:
        raise ArithmeticError("the equilibrium of this water was not found; its composition lies far outside a hot tub's")
    return _result(ln_proton, constants, present, carbon, strength, background, weak)


class _Free(NamedTuple):
    """Free ions, as of the last pass."""

    calcium: Array
    sodium: Array
    sulfate: Array


class _Background(NamedTuple):
    """Total sodium and chloride."""

    sodium: Array
    chloride: Array


def _background(totals: Totals, carbonate_alkalinity: Array) -> _Background:
    """Sodium and chloride: electroneutral with the other strong ions, NaCl topped up until the dissolved solids are met.

    Where the solids are too few for the other ions, the least chloride that leaves sodium at nil or above.
    """
    others = totals.alkalinity + totals.bromide - totals.potassium - totals.lithium
    others = others + 2.0 * (totals.sulfate - totals.calcium)
    chloride = totals.chloride
    if chloride is None:
        without = dissolved_solids(totals, _Background(others, 0.0 * others), carbonate_alkalinity)
        wanted = 0.0 if totals.solids is None else totals.solids
        topping = (wanted - without) / (MASS.sodium + MASS.chloride)
        chloride = np.maximum(topping, np.maximum(-others, 0.0))
    return _Background(np.maximum(others + chloride, 0.0), chloride)


def dissolved_solids(totals: Totals, background: _Background, carbonate_alkalinity: Array) -> Array:
    """Dissolved solids [g/kg] by book-keeping: every ion, carbonate alkalinity as bicarbonate, acids undissociated."""
    solids: Array = (
        MASS.sodium * background.sodium
        + MASS.chloride * background.chloride
        + MASS.bicarbonate * carbonate_alkalinity
        + MASS.calcium * totals.calcium
        + MASS.cyanurate * totals.cyanurate
        + MASS.boric_acid * totals.boron
        + MASS.sulfate * totals.sulfate
        + MASS.potassium * totals.potassium
        + MASS.lithium * totals.lithium
        + MASS.bromide * totals.bromide
    )
    return solids


class _Weak(NamedTuple):
    """What the acids other than carbonic hold: alkalinity, its derivative by ln {H+}, charge squared."""

    alkalinity: Array
    slope: Array
    charge_squared: Array
    borate: Array
    hocl: Array
    ocl: Array


def _weak_acids(constants: Constants, proton: Array, totals: Totals, hocl: Array | None) -> _Weak:
    inverse = 1.0 / proton
    ionised = constants.boric * inverse
    borate = totals.boron * ionised / (1.0 + ionised)
    borate_slope = -borate / (1.0 + ionised)
    bromous = constants.hobr * inverse
    hypobromite = totals.bromine * bromous / (1.0 + bromous)
    hydroxide = constants.oh * inverse
    hydrogen = constants.h * proton
    if len(constants.rings):
        shares = share_chlorine(proton, constants.hocl, constants.rings, totals.cyanurate, totals.chlorine, hocl)
    else:
        chlorous = constants.hocl * inverse
        acid = totals.chlorine / (1.0 + chlorous)
        ocl = acid * chlorous
        shares = Shares(acid, ocl, ocl, -ocl / (1.0 + chlorous), ocl)
    alkalinity = shares.alkalinity + borate + hypobromite + hydroxide - hydrogen
    slope = shares.slope + borate_slope - hypobromite / (1.0 + bromous) - hydroxide - hydrogen
    charge_squared = shares.charge_squared + borate + hypobromite + hydroxide + hydrogen
    return _Weak(alkalinity, slope, charge_squared, borate, shares.hocl, shares.ocl)


class _Carbon(NamedTuple):
    """Carbonate and the pairs of one pass; `excess` is the alkalinity found above the one that is known."""

    free: _Free
    carbonate: Array
    bicarbonate: Array
    carbon_dioxide: Array
    calcium_bicarbonate: Array
    calcium_carbonate: Array
    sodium_bicarbonate: Array
    dic: Array
    alkalinity: Array
    excess: Array
    slope: Array


def _carbonate(
    k: Constants, proton: Array, totals: Totals, background: _Background, last: _Free, weak: _Weak, known: Known,
    value: Array,
) -> _Carbon:
    """Distribute carbon and calcium at a given acidity, sodium and sulfate as free as in the last pass.

    Per mole of free CO3-- there are `ratio` of HCO3-. Calcium paired is calcium free times a multiple of [CO3--], so the
    carbon balance is a quadratic in [CO3--].
    """
    ratio = proton / k.k2
    acid_ratio = ratio * proton / k.k1
    sodium_pairs = k.nahco3 * last.sodium * ratio
    acidic_pairs = k.cahco3 * ratio
    pairs = acidic_pairs + k.caco3
    hydrolysed = k.caoh / proton
    crowd = 1.0 + hydrolysed + k.caso4 * last.sulfate
    bisulfate = k.hso4 * proton
    elsewhere = weak.alkalinity + hydrolysed * last.calcium - bisulfate * last.sulfate

    if known == "pco2":
        carbonate = value / (k.gas * acid_ratio)
    else:
        if known == "ph":
            total = np.maximum(totals.alkalinity - elsewhere, TRACE)
            alone, each_pair = 2.0 + ratio + sodium_pairs, pairs + k.caco3
        else:
            total = value
            alone, each_pair = 1.0 + ratio + sodium_pairs + acid_ratio, pairs
        linear = alone * crowd + totals.calcium * each_pair - total * pairs
        carbonate = 2.0 * total * crowd / (linear + np.sqrt(linear * linear + 4.0 * alone * pairs * total * crowd))

    calcium = totals.calcium / (crowd + pairs * carbonate)
    sodium = background.sodium / (1.0 + k.nahco3 * ratio * carbonate + k.naso4 * last.sulfate)
    sulfate = totals.sulfate / (1.0 + k.caso4 * calcium + k.naso4 * sodium + bisulfate)

    bicarbonate, acid = ratio * carbonate, acid_ratio * carbonate
    mono, neutral, salt = acidic_pairs * calcium * carbonate, k.caco3 * calcium * carbonate, sodium_pairs * carbonate
    single = bicarbonate + mono + salt
    paired = mono + neutral
    dic = acid + single + carbonate + neutral
    alkalinity = single + 2.0 * (carbonate + neutral)

    # Along ln {H+}: CO3-- moves so that DIC (or CO2) stays, free calcium so that total calcium stays.
    if known == "pco2":
        d_carbonate = -2.0 + 0.0 * carbonate
    else:
        d_carbonate = (mono * paired / totals.calcium - 2.0 * acid - single) / (dic - paired * paired / totals.calcium)
    d_calcium = -(mono + paired * d_carbonate) / totals.calcium
    slope = single * (1.0 + d_carbonate) + mono * d_calcium
    slope = slope + 2.0 * (carbonate * d_carbonate + neutral * (d_carbonate + d_calcium))
    return _Carbon(
        _Free(calcium, sodium, sulfate), carbonate, bicarbonate, acid, mono, neutral, salt, dic, alkalinity,
        alkalinity + elsewhere - totals.alkalinity,
        slope + weak.slope - hydrolysed * last.calcium - bisulfate * last.sulfate,
    )  # fmt: skip


def _ionic_strength(
    k: Constants, proton: Array, totals: Totals, background: _Background, weak: _Weak, carbon: _Carbon
) -> Array:
    free = carbon.free
    sodium_sulfate = k.naso4 * free.sodium * free.sulfate
    single = free.sodium + sodium_sulfate + background.chloride + carbon.bicarbonate + carbon.calcium_bicarbonate
    single = single + totals.potassium + totals.lithium + totals.bromide + free.calcium * k.caoh / proton
    double = free.calcium + carbon.carbonate + free.sulfate
    strength: Array = 0.5 * (single + 4.0 * double + weak.charge_squared + k.hso4 * proton * free.sulfate)
    return strength


def _result(
    ln_proton: Array,
    k: Constants,
    totals: Totals,
    carbon: _Carbon,
    strength: Array,
    background: _Background,
    weak: _Weak,
) -> Equilibrium:
    return Equilibrium(
        ln_proton=ln_proton,
        dic=carbon.dic,
        carbon_dioxide=carbon.carbon_dioxide,
        carbonate_alkalinity=carbon.alkalinity,
        ionic_strength=strength,
        saturation=k.calcite * carbon.free.calcium * carbon.carbonate,
        pco2=k.gas * carbon.carbon_dioxide,
        sodium=background.sodium,
        chloride=background.chloride,
        hocl=weak.hocl,
        ocl=weak.ocl,
        solids=dissolved_solids(totals, background, carbon.alkalinity),
    )
