"""The reactions of the water, their constants at a temperature, and the same as concentration constants."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from dosing import equilibria as eq
from dosing.activity import BASIS, CARBON_DIOXIDE, DAVIES, IONIC_STRENGTH, NEUTRAL, SODIUM_BICARBONATE, WATER
from dosing.arrays import Array, Values
from dosing.chlorine import RINGS


class Reaction(NamedTuple):
    """log K at a temperature [K], and how often each row of the activity basis enters the concentration constant.

    {H+} stays an activity throughout, every other species becomes a concentration.
    """

    log_k: Callable[[Values], Values]
    activity: dict[str, float]


def _unity(kelvin: Values) -> Values:
    return 0.0 * kelvin


def _cahco3(kelvin: Values) -> Values:
    return eq.cahco3_pair_phreeqc_2024(kelvin) + eq.k2_plummer_busenberg_1982(kelvin)


REACTIONS = {
    # [H+] = h {H+}; [OH-] = oh / {H+}
    "h": Reaction(_unity, {"H+": -1}),
    "oh": Reaction(eq.kw_phreeqc, {WATER: 1, "OH-": -1}),
    # [HCO3-] = k1 [CO2] / {H+}; [CO3--] = k2 [HCO3-] / {H+}
    "k1": Reaction(eq.k1_plummer_busenberg_1982, {IONIC_STRENGTH: CARBON_DIOXIDE, WATER: 1, "HCO3-": -1}),
    "k2": Reaction(eq.k2_plummer_busenberg_1982, {"HCO3-": 1, "CO3--": -1}),
    # pCO2 = gas [CO2]; saturation ratio = calcite [Ca++] [CO3--]
    "gas": Reaction(lambda kelvin: -eq.kh_phreeqc(kelvin), {IONIC_STRENGTH: CARBON_DIOXIDE}),
    "calcite": Reaction(lambda kelvin: -eq.calcite_phreeqc_2024(kelvin), {"Ca++": 1, "CO3--": 1}),
    # pairs, from their free ions
    "caco3": Reaction(eq.caco3_pair_plummer_busenberg_1982, {"Ca++": 1, "CO3--": 1, IONIC_STRENGTH: -NEUTRAL}),
    "cahco3": Reaction(_cahco3, {"Ca++": 1, "HCO3-": 1, "CaHCO3+": -1}),
    "caoh": Reaction(eq.caoh_pair_phreeqc, {"Ca++": 1, WATER: 1, DAVIES: -1}),
    "nahco3": Reaction(eq.nahco3_pair_phreeqc_2024, {"Na+": 1, "HCO3-": 1, IONIC_STRENGTH: -SODIUM_BICARBONATE}),
    "caso4": Reaction(eq.caso4_pair_phreeqc, {"Ca++": 1, "SO4--": 1, IONIC_STRENGTH: -NEUTRAL}),
    "naso4": Reaction(eq.naso4_pair_phreeqc_2024, {"Na+": 1, "SO4--": 1, "NaSO4-": -1}),
    "hso4": Reaction(eq.hso4_phreeqc, {"SO4--": 1, DAVIES: -1}),
    # weak acids: [base] = k [acid] / {H+}
    "boric": Reaction(eq.boric_phreeqc, {IONIC_STRENGTH: NEUTRAL, DAVIES: -1}),
    "hocl": Reaction(eq.hocl_morris_1966, {IONIC_STRENGTH: NEUTRAL, DAVIES: -1}),
    "hobr": Reaction(eq.hobr_nbs_1982, {IONIC_STRENGTH: NEUTRAL, DAVIES: -1}),
}


class Constants(NamedTuple):
    """Concentration constants, each an array of shape (n,), named as in REACTIONS; `rings` has a row per cyanurate."""

    h: Array
    oh: Array
    k1: Array
    k2: Array
    gas: Array
    calcite: Array
    caco3: Array
    cahco3: Array
    caoh: Array
    nahco3: Array
    caso4: Array
    naso4: Array
    hso4: Array
    boric: Array
    hocl: Array
    hobr: Array
    rings: Array


def _ring_activity(charge: int, chlorines: int) -> dict[str, float]:
    own = {IONIC_STRENGTH: -NEUTRAL} if charge == 0 else {DAVIES: -float(charge**2)}
    reactants = (1 + chlorines) * NEUTRAL
    return own | {IONIC_STRENGTH: own.get(IONIC_STRENGTH, 0.0) + reactants, WATER: -float(chlorines)}


_ROWS = [reaction.activity for reaction in REACTIONS.values()] + [
    _ring_activity(ring.charge, ring.chlorines) for ring in RINGS.values()
]
_EXPONENTS = np.array([[row.get(name, 0.0) for name in BASIS] for row in _ROWS])
_SIMPLE = len(REACTIONS)


def log_constants(kelvin: Array, *, rings: bool) -> Array:
    """Natural logarithms of the constants at zero ionic strength, a row each; those of the rings only when asked for."""
    rows = [reaction.log_k(kelvin) for reaction in REACTIONS.values()]
    if rings:
        rows += [
            eq.chlorination_obrien_1974(ring.log_k_25, ring.charge, ring.chlorines, kelvin) for ring in RINGS.values()
        ]
    logs: Array = np.array(rows)
    logs *= eq.LN10
    return logs


def concentration_constants(logs: Array, basis: Array) -> Constants:
    """The constants that hold between concentrations, from `log_constants` and the activity basis."""
    rows = np.exp(logs + _EXPONENTS[: len(logs)] @ basis)
    return Constants(*rows[:_SIMPLE], rings=rows[_SIMPLE:])
