"""Carbonate, calcium and sulfate shared between free ions and pairs."""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np

from dosing.arrays import Array
from dosing.massaction import Constants
from dosing.totals import Background, Totals

Known = Literal["ph", "dic", "pco2"]
TRACE = 1e-20
"""mol/kg that stand for nil, so that no share of nil is ever taken."""


class Free(NamedTuple):
    """Free ions [mol/kg]."""

    calcium: Array
    sodium: Array
    sulfate: Array


class Carbon(NamedTuple):
    """Carbonate species at a given acidity [mol/kg].

    `elsewhere` is alkalinity that neither carbonate nor a weak acid holds (CaOH+ less HSO4-), `alkalinity` that of
    carbonate; `slope` is the derivative of their sum by ln {H+} in the closed (or, for a known pressure, open) water.
    """

    free: Free
    carbonate: Array
    bicarbonate: Array
    carbon_dioxide: Array
    calcium_bicarbonate: Array
    dic: Array
    alkalinity: Array
    elsewhere: Array
    slope: Array


def share_carbonate(
    k: Constants, proton: Array, totals: Totals, strong: Background, last: Free, weak: Array, known: Known, value: Array
) -> Carbon:
    """Distribute carbon and calcium at a given {H+}, sodium and sulfate as free as in the `last` pass.

    `weak` is the alkalinity of the other weak acids; `value` is the DIC or the pressure of CO2 that is `known`, unused
    where that is the pH. Per mole of free CO3-- there are `ratio` of HCO3-, and calcium is paired in proportion, so the
    balance of carbon (or of alkalinity) is a quadratic in [CO3--].
    """
    ratio = proton / k.k2
    acid_ratio = ratio * proton / k.k1
    salt_ratio = k.sodium_bicarbonate * last.sodium * ratio
    bicarbonate_pairs = k.calcium_bicarbonate * ratio
    pairs = bicarbonate_pairs + k.calcium_carbonate
    hydrolysis, bisulfate = k.calcium_hydroxide / proton, k.bisulfate * proton
    crowd = 1.0 + hydrolysis + k.calcium_sulfate * last.sulfate

    if known == "pco2":
        carbonate = value / (k.gas * acid_ratio)
    else:
        if known == "ph":
            total = totals.alkalinity - weak - hydrolysis * last.calcium + bisulfate * last.sulfate
            total = np.maximum(total, TRACE)
            alone, paired = 2.0 + ratio + salt_ratio, pairs + k.calcium_carbonate
        else:
            total = value
            alone, paired = 1.0 + ratio + salt_ratio + acid_ratio, pairs
        linear = alone * crowd + totals.calcium * paired - total * pairs
        carbonate = 2.0 * total * crowd / (linear + np.sqrt(linear * linear + 4.0 * alone * pairs * total * crowd))

    calcium = totals.calcium / (crowd + pairs * carbonate)
    sodium = strong.sodium / (1.0 + k.sodium_bicarbonate * ratio * carbonate + k.sodium_sulfate * last.sulfate)
    sulfate = totals.sulfate / (1.0 + k.calcium_sulfate * calcium + k.sodium_sulfate * sodium + bisulfate)

    bicarbonate, acid = ratio * carbonate, acid_ratio * carbonate
    calcium_bicarbonate = bicarbonate_pairs * calcium * carbonate
    calcium_carbonate = k.calcium_carbonate * calcium * carbonate
    single = bicarbonate + calcium_bicarbonate + salt_ratio * carbonate
    double = carbonate + calcium_carbonate
    dic = acid + single + double

    # Along ln {H+} total calcium stays, and DIC (or CO2): from these follow d ln [CO3--] and d ln [Ca++].
    bound = calcium_bicarbonate + calcium_carbonate
    share = bound / totals.calcium
    if known == "pco2":
        d_carbonate = np.full(1, -2.0)
    else:
        d_carbonate = (calcium_bicarbonate * share - 2.0 * acid - single) / (dic - bound * share)
    d_calcium = -calcium_bicarbonate / totals.calcium - share * d_carbonate
    slope = single * (1.0 + d_carbonate) + calcium_bicarbonate * d_calcium
    slope = slope + 2.0 * (double * d_carbonate + calcium_carbonate * d_calcium)
    hydroxide, acidic = hydrolysis * calcium, bisulfate * sulfate
    return Carbon(
        free=Free(calcium, sodium, sulfate),
        carbonate=carbonate,
        bicarbonate=bicarbonate,
        carbon_dioxide=acid,
        calcium_bicarbonate=calcium_bicarbonate,
        dic=dic,
        alkalinity=single + 2.0 * double,
        elsewhere=hydroxide - acidic,
        slope=slope - hydroxide - acidic,
    )
