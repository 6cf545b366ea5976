"""The equilibrium of a closed or open water: one iteration for pH, ion pairs and ionic strength, over arrays.

Everything is in mol (or eq) per kg of water and in arrays of shape (n,) or (1,), which broadcast.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np

from dosing.activity import activity_coefficients, debye_hueckel
from dosing.arrays import Array
from dosing.chlorine import Shares, share_chlorine
from dosing.massaction import Constants, between_concentrations, constants_at

Known = Literal["ph", "dic", "pco2"]

TRACE = 1e-20
"""mol/kg that stand for nil, so that no share of nil is ever taken."""
BLOCK = 4096
"""Waters solved at a time: the arrays of a block stay in the processor's cache."""
PASSES = 100
STEP = 1e-7
"""A pass that moves ln {H+} and ln I by less than this is the last; each is some ten times nearer than the one before."""
LONGEST_STEP = 2.5
LARGEST_RATIO = 0.3
NEAR = 1e-9
"""How near ln [HOCl] comes within a pass, once the passes are near their end."""


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


def solve(totals: Totals, known: Known, value: Array, ln_proton: Array) -> Equilibrium:
    """Solve for the rest when pH, DIC [mol/kg] or the CO2 pressure [atm] is known. `ln_proton` is a first guess.

    Raises ArithmeticError when a water does not settle, which no water within the documented range does.
    """
    size = max(array.size for array in (*totals, value) if array is not None)
    if size <= BLOCK:
        return _solve_block(totals, known, value, ln_proton)
    parts = []
    for start in range(0, size, BLOCK):
        window = slice(start, start + BLOCK)
        block = Totals(*(None if array is None else _cut(array, window) for array in totals))
        parts.append(_solve_block(block, known, _cut(value, window), _cut(ln_proton, window)))
    return Equilibrium(*(np.concatenate(columns) for columns in zip(*parts, strict=True)))


def _cut(array: Array, window: slice) -> Array:
    return array if array.size == 1 else array[window]


def _solve_block(totals: Totals, known: Known, value: Array, ln_proton: Array) -> Equilibrium:
    thermodynamic, debye = constants_at(totals.kelvin), debye_hueckel(totals.kelvin)
    rings = bool(np.any(totals.cyanurate > 0.0))
    totals = totals._replace(
        calcium=totals.calcium + TRACE, cyanurate=totals.cyanurate + TRACE, chlorine=totals.chlorine + TRACE
    )
    bicarbonate = np.maximum(totals.alkalinity, 0.0)
    background = _background(totals, bicarbonate)
    free = _Free(totals.calcium, background.sodium, totals.sulfate)
    solutes = background.sodium + background.chloride + bicarbonate + totals.calcium
    strength = 0.5 * (solutes + 3.0 * totals.calcium)
    hocl: Array | None = None
    proton = np.exp(ln_proton)
    moved = 1.0
    before: tuple[Array, Array] | None = None

    for count in range(PASSES):
        k = between_concentrations(thermodynamic, activity_coefficients(strength, debye, solutes))
        weak = _weak_acids(k, proton, totals, hocl, rings=rings, near=min(max(moved * 1e-2, NEAR), 1e-2))
        background = _background(totals, np.maximum(totals.alkalinity - weak.alkalinity, 0.0))
        carbon = _carbonate(k, proton, totals, background, free, weak, known, value)
        hocl, free = weak.hocl, carbon.free
        solutes = background.sodium + background.chloride + carbon.dic + totals.calcium + totals.boron
        solutes = solutes + totals.cyanurate + totals.sulfate + totals.potassium
        ions = _ionic_strength(k, proton, totals, background, weak, carbon)
        moved = max(weak.moved, float(np.max(np.abs(ions / strength - 1.0))))
        strength, before = _ahead(strength, ions, before if known == "ph" else None), (strength, ions)
        if known != "ph":
            longest = LONGEST_STEP / (1 + count // 10)
            step = np.clip(-carbon.excess / carbon.slope, -longest, longest)
            ln_proton = ln_proton + step
            proton = np.exp(ln_proton)
            moved = max(moved, float(np.max(np.abs(step))))
        if moved < STEP:
            return _result(ln_proton, k, totals, carbon, strength, background, weak)
    raise ArithmeticError("the equilibrium of this water was not found; its composition lies far outside a hot tub's")


def _ahead(value: Array, mapped: Array, before: tuple[Array, Array] | None) -> Array:
    """Where a contracting map leads, from two of its steps: the sum of the geometric series (Aitken, Wegstein)."""
    if before is None:
        return mapped
    run = value - before[0]
    ratio = np.clip((mapped - before[1]) * run / (run * run + TRACE * TRACE), -LARGEST_RATIO, LARGEST_RATIO)
    return mapped + (mapped - value) * ratio / (1.0 - ratio)


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
    hocl: Array
    ocl: Array
    moved: float


def _weak_acids(k: Constants, proton: Array, totals: Totals, hocl: Array | None, *, rings: bool, near: float) -> _Weak:
    inverse = 1.0 / proton
    hydroxide, hydrogen = k.hydroxide * inverse, proton / k.hydrogen
    borate, borate_slope = _acid(k.boric * inverse, totals.boron)
    hypobromite, hypobromite_slope = _acid(k.hypobromous * inverse, totals.bromine)
    if rings:
        shares = share_chlorine(proton, k.hypochlorous, k.rings, totals.cyanurate, totals.chlorine, hocl, near)
    else:
        ocl, ocl_slope = _acid(k.hypochlorous * inverse, totals.chlorine)
        shares = Shares(totals.chlorine - ocl, ocl, ocl, ocl_slope, ocl, 0.0)
    singly = borate + hypobromite + hydroxide
    return _Weak(
        alkalinity=shares.alkalinity + singly - hydrogen,
        slope=shares.slope + borate_slope + hypobromite_slope - hydroxide - hydrogen,
        charge_squared=shares.charge_squared + singly + hydrogen,
        hocl=shares.hocl,
        ocl=shares.ocl,
        moved=shares.moved,
    )


def _acid(ionised: Array, total: Array) -> tuple[Array, Array]:
    """Base of a weak acid from the ratio base : acid, and its derivative by ln {H+}."""
    base = total * ionised / (1.0 + ionised)
    return base, -base / (1.0 + ionised)


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
    sodium_pairs = k.sodium_bicarbonate * last.sodium * ratio
    acidic_pairs = k.calcium_bicarbonate * ratio
    pairs = acidic_pairs + k.calcium_carbonate
    hydrolysed = k.calcium_hydroxide / proton
    crowd = 1.0 + hydrolysed + k.calcium_sulfate * last.sulfate
    bisulfate = k.bisulfate * proton
    elsewhere = weak.alkalinity + hydrolysed * last.calcium - bisulfate * last.sulfate

    if known == "pco2":
        carbonate = value / (k.gas * acid_ratio)
    else:
        if known == "ph":
            total = np.maximum(totals.alkalinity - elsewhere, TRACE)
            alone, each_pair = 2.0 + ratio + sodium_pairs, pairs + k.calcium_carbonate
        else:
            total = value
            alone, each_pair = 1.0 + ratio + sodium_pairs + acid_ratio, pairs
        linear = alone * crowd + totals.calcium * each_pair - total * pairs
        carbonate = 2.0 * total * crowd / (linear + np.sqrt(linear * linear + 4.0 * alone * pairs * total * crowd))

    calcium = totals.calcium / (crowd + pairs * carbonate)
    sodium = background.sodium / (1.0 + k.sodium_bicarbonate * ratio * carbonate + k.sodium_sulfate * last.sulfate)
    sulfate = totals.sulfate / (1.0 + k.calcium_sulfate * calcium + k.sodium_sulfate * sodium + bisulfate)

    bicarbonate, acid = ratio * carbonate, acid_ratio * carbonate
    mono, neutral, salt = acidic_pairs * calcium * carbonate, k.calcium_carbonate * calcium * carbonate, sodium_pairs * carbonate
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
    sodium_sulfate = k.sodium_sulfate * free.sodium * free.sulfate
    single = free.sodium + sodium_sulfate + background.chloride + carbon.bicarbonate + carbon.calcium_bicarbonate
    single = single + totals.potassium + totals.lithium + totals.bromide + free.calcium * k.calcium_hydroxide / proton
    double = free.calcium + carbon.carbonate + free.sulfate
    strength: Array = 0.5 * (single + 4.0 * double + weak.charge_squared + k.bisulfate * proton * free.sulfate)
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
