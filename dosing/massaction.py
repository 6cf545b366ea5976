"""The constants of all reactions at a temperature, and the same between concentrations at an ionic strength.

{H+} stays an activity throughout, since pH is one; every other species is a concentration.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from dosing import equilibria as eq
from dosing.activity import Coefficients
from dosing.arrays import Array
from dosing.chlorine import RINGS, Rings


class Constants(NamedTuple):
    """Constants by reaction, arrays of shape (n,) or (1,)."""

    hydrogen: Array
    """{H+} = k [H+]."""
    hydroxide: Array
    """[OH-] = k / {H+}."""
    k1: Array
    """[HCO3-] = k [CO2] / {H+}."""
    k2: Array
    """[CO3--] = k [HCO3-] / {H+}."""
    gas: Array
    """pCO2 = k [CO2]."""
    calcite: Array
    """Saturation = k [Ca++] [CO3--]."""
    calcium_carbonate: Array
    calcium_bicarbonate: Array
    """[CaHCO3+] = k [Ca++] [HCO3-]; pairs alike."""
    calcium_hydroxide: Array
    """[CaOH+] = k [Ca++] / {H+}."""
    sodium_bicarbonate: Array
    calcium_sulfate: Array
    sodium_sulfate: Array
    bisulfate: Array
    """[HSO4-] = k [SO4--] {H+}."""
    boric: Array
    """[B(OH)4-] = k [B(OH)3] / {H+}; hypochlorous and hypobromous alike."""
    hypochlorous: Array
    hypobromous: Array
    rings: Rings


def constants_at(kelvin: Array) -> Constants:
    """Thermodynamic constants, at zero ionic strength, at an absolute temperature [K]."""
    logs = (
        eq.kw_phreeqc(kelvin),
        eq.k1_plummer_busenberg_1982(kelvin),
        eq.k2_plummer_busenberg_1982(kelvin),
        -eq.kh_phreeqc(kelvin),
        -eq.calcite_phreeqc_2024(kelvin),
        eq.caco3_pair_plummer_busenberg_1982(kelvin),
        eq.cahco3_pair_phreeqc_2024(kelvin) + eq.k2_plummer_busenberg_1982(kelvin),
        eq.caoh_pair_phreeqc(kelvin),
        eq.nahco3_pair_phreeqc_2024(kelvin),
        eq.caso4_pair_phreeqc(kelvin),
        eq.naso4_pair_phreeqc_2024(kelvin),
        eq.hso4_phreeqc(kelvin),
        eq.boric_phreeqc(kelvin),
        eq.hocl_morris_1966(kelvin),
        eq.hobr_nbs_1982(kelvin),
    )
    return Constants._make([np.ones(1), *(np.exp(eq.LN10 * log) for log in logs), _rings_at(kelvin)])


def _rings_at(kelvin: Array) -> Rings:
    """The rings' constants from one factor for each ionisation and one for each chlorination that warms."""
    proton = np.exp(eq.LN10 * eq.ring_proton_wahman_2018(kelvin))
    chlorine = np.exp(eq.LN10 * eq.chlorination_wahman_2019(kelvin))
    protons = (1.0, proton, proton * proton)
    chlorines = (1.0, chlorine, chlorine * chlorine, chlorine * chlorine * chlorine)
    return Rings(*(10.0**ring.log_k_25 * protons[ring.protons] * chlorines[ring.chlorines] for ring in RINGS.values()))


def between_concentrations(k: Constants, gamma: Coefficients) -> Constants:
    """The constants that hold between concentrations where these activity coefficients hold."""
    weak = gamma.neutral / gamma.single
    two = gamma.bicarbonate * gamma.bicarbonate
    carbonate = two * two
    calcium_carbonate = gamma.calcium * carbonate
    return Constants(
        hydrogen=k.hydrogen * gamma.hydrogen,
        hydroxide=k.hydroxide * gamma.water / gamma.hydroxide,
        k1=k.k1 * gamma.water * gamma.carbon_dioxide / gamma.bicarbonate,
        k2=k.k2 * gamma.bicarbonate / carbonate,
        gas=k.gas * gamma.carbon_dioxide,
        calcite=k.calcite * calcium_carbonate,
        calcium_carbonate=k.calcium_carbonate * calcium_carbonate / gamma.neutral,
        calcium_bicarbonate=k.calcium_bicarbonate * gamma.calcium * gamma.bicarbonate / gamma.calcium_bicarbonate,
        calcium_hydroxide=k.calcium_hydroxide * gamma.calcium * gamma.water / gamma.single,
        sodium_bicarbonate=k.sodium_bicarbonate * gamma.sodium * gamma.bicarbonate / (gamma.neutral * gamma.neutral),
        calcium_sulfate=k.calcium_sulfate * gamma.calcium * gamma.sulfate / gamma.neutral,
        sodium_sulfate=k.sodium_sulfate * gamma.sodium * gamma.sulfate / gamma.sodium_sulfate,
        bisulfate=k.bisulfate * gamma.sulfate / gamma.single,
        boric=k.boric * weak,
        hypochlorous=k.hypochlorous * weak,
        hypobromous=k.hypobromous * weak,
        rings=_rings(k.rings, gamma),
    )


def _rings(k: Rings, gamma: Coefficients) -> Rings:
    """Each ring forms from a neutral H3Cy and so many neutral HOCl, and gives off as much water."""
    square = gamma.single * gamma.single
    double = square * square
    triple = double * double * gamma.single
    chlorine = gamma.neutral / gamma.water
    chlorines = chlorine * chlorine
    return Rings(
        h2cy=k.h2cy * gamma.neutral / gamma.single,
        hcy=k.hcy * gamma.neutral / double,
        cy=k.cy * gamma.neutral / triple,
        h2clcy=k.h2clcy * chlorine,
        hclcy=k.hclcy * chlorine * gamma.neutral / gamma.single,
        clcy=k.clcy * chlorine * gamma.neutral / double,
        hcl2cy=k.hcl2cy * chlorines,
        cl2cy=k.cl2cy * chlorines * gamma.neutral / gamma.single,
        cl3cy=k.cl3cy * chlorines * chlorine,
    )
