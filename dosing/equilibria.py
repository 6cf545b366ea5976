"""Equilibrium constants of hot-tub water: one function for each constant and source, the name carries the source.

Each takes the absolute temperature in kelvin (a float or an array) and returns the decimal logarithm of the constant
at zero ionic strength, on the molal scale, for the reaction in its first line. Where a value could only be remembered
and not read again in its source, it is marked `from memory`.

`phreeqc.dat` is the database of PHREEQC 3 as released on 22 May 2024 (Parkhurst & Appelo 2013, USGS Techniques and
Methods 6-A43); where it holds an older author's fit unchanged, that author gives the function its name.
"""

from __future__ import annotations

import numpy as np

from dosing.arrays import Values

LN10 = 2.302585092994046
ZERO_CELSIUS = 273.15
REFERENCE_TEMPERATURE = 298.15
GAS_CONSTANT = 8.314462618e-3
"""kJ/(mol K), CODATA 2018."""
KCAL = 4.184
"""kJ in a thermochemical kilocalorie."""


def _log10(kelvin: Values) -> Values:
    return np.log(kelvin) / LN10  # twice as fast as numpy's own


def van_t_hoff(log_k_25: float, enthalpy: float, kelvin: Values) -> Values:
    """log K carried from 25 degC to another temperature with a constant reaction enthalpy [kJ/mol]."""
    return log_k_25 - enthalpy / (LN10 * GAS_CONSTANT) * (1.0 / kelvin - 1.0 / REFERENCE_TEMPERATURE)


# Water and carbonate


def kw_phreeqc(kelvin: Values) -> Values:
    """H2O = H+ + OH-: phreeqc.dat, there after Marshall & Franck 1981. -13.995 at 25 degC.

    >>> round(float(kw_phreeqc(298.15)), 3)
    -13.995
    """
    return (
        293.29227 + 0.1360833 * kelvin - 10576.913 / kelvin - 123.73158 * _log10(kelvin) - 6.996455e-5 * kelvin * kelvin
    )


def k1_plummer_busenberg_1982(kelvin: Values) -> Values:
    """CO2(aq) + H2O = H+ + HCO3-: Plummer & Busenberg 1982, Geochim. Cosmochim. Acta 46:1011, 0 to 90 degC.

    -6.352 at 25 degC.

    >>> round(float(k1_plummer_busenberg_1982(298.15)), 3)
    -6.352
    """
    return -356.3094 - 0.06091964 * kelvin + 21834.37 / kelvin + 126.8339 * _log10(kelvin) - 1684915.0 / kelvin**2


def k2_plummer_busenberg_1982(kelvin: Values) -> Values:
    """HCO3- = H+ + CO3--: Plummer & Busenberg 1982, Geochim. Cosmochim. Acta 46:1011, 0 to 90 degC.

    -10.329 at 25 degC.

    >>> round(float(k2_plummer_busenberg_1982(298.15)), 3)
    -10.329
    """
    return -107.8871 - 0.03252849 * kelvin + 5151.79 / kelvin + 38.92561 * _log10(kelvin) - 563713.9 / kelvin**2


def k2_larson_buswell_1942(kelvin: Values) -> Values:
    """HCO3- = H+ + CO3--: Larson & Buswell 1942, J. AWWA 34:1667, 0 to 80 degC; within 0.003 of the 1982 fit."""
    return -(2902.39 / kelvin + 0.02379 * kelvin - 6.498)


def kh_plummer_busenberg_1982(kelvin: Values) -> Values:
    """CO2(g) = CO2(aq), mol/(kg atm): Plummer & Busenberg 1982, 0 to 90 degC. -1.468 at 25 degC.

    >>> round(float(kh_plummer_busenberg_1982(298.15)), 3)
    -1.468
    """
    return 108.3865 + 0.01985076 * kelvin - 6919.53 / kelvin - 40.45154 * _log10(kelvin) + 669365.0 / kelvin**2


def kh_phreeqc(kelvin: Values) -> Values:
    """CO2(g) = CO2(aq), mol/(kg atm): phreeqc.dat. Within 0.0004 of the 1982 fit from 0 to 42 degC."""
    return 10.5624 - 2.3547e-2 * kelvin - 3972.8 / kelvin + 5.8746e5 / kelvin**2 + 1.9194e-5 * kelvin**2


# Calcium


def calcite_plummer_busenberg_1982(kelvin: Values) -> Values:
    """CaCO3 (calcite) = Ca++ + CO3--: Plummer & Busenberg 1982, 0 to 90 degC. -8.480 (+-0.020) at 25 degC.

    >>> round(float(calcite_plummer_busenberg_1982(298.15)), 3)
    -8.48
    """
    return -171.9065 - 0.077993 * kelvin + 2839.319 / kelvin + 71.595 * _log10(kelvin)


def calcite_phreeqc_2024(kelvin: Values) -> Values:
    """CaCO3 (calcite) = Ca++ + CO3--: phreeqc.dat of 2024, there after Ellis 1959 and Plummer & Busenberg 1982.

    -8.480 at 25 degC as in 1982, 0.03 lower at 38 degC.
    """
    return 17.118 - 0.046528 * kelvin - 3496.0 / kelvin


def aragonite_plummer_busenberg_1982(kelvin: Values) -> Values:
    """CaCO3 (aragonite) = Ca++ + CO3--: Plummer & Busenberg 1982, 0 to 90 degC. -8.336 (+-0.020) at 25 degC.

    >>> round(float(aragonite_plummer_busenberg_1982(298.15)), 3)
    -8.336
    """
    return -171.9773 - 0.077993 * kelvin + 2903.293 / kelvin + 71.595 * _log10(kelvin)


def caco3_pair_plummer_busenberg_1982(kelvin: Values) -> Values:
    """Ca++ + CO3-- = CaCO3(aq): Plummer & Busenberg 1982, 5 to 80 degC. 3.22 (+-0.14) at 25 degC."""
    return -1228.732 - 0.29944 * kelvin + 35512.75 / kelvin + 485.818 * _log10(kelvin)


def cahco3_pair_plummer_busenberg_1982(kelvin: Values) -> Values:
    """Ca++ + HCO3- = CaHCO3+: Plummer & Busenberg 1982, 0 to 90 degC. 1.11 (+-0.07) at 25 degC."""
    return 1209.120 + 0.31294 * kelvin - 34765.05 / kelvin - 478.782 * _log10(kelvin)


def cahco3_pair_phreeqc_2024(kelvin: Values) -> Values:
    """Ca++ + CO3-- + H+ = CaHCO3+: phreeqc.dat of 2024, a new fit: with K2 it is half a log unit below 1982's."""
    return -6.009 + 3.377e-2 * kelvin + 2044.0 / kelvin


def caoh_pair_phreeqc(kelvin: Values) -> Values:
    """Ca++ + H2O = CaOH+ + H+: phreeqc.dat, a single value, 25 degC."""
    return van_t_hoff(-12.78, 0.0, kelvin)


# Sodium and sulfate


def nahco3_pair_phreeqc_2024(kelvin: Values) -> Values:
    """Na+ + HCO3- = NaHCO3(aq): phreeqc.dat of 2024. -0.06 at 25 degC, 21 kJ/mol."""
    return van_t_hoff(-0.06, 21.0, kelvin)


def caso4_pair_phreeqc(kelvin: Values) -> Values:
    """Ca++ + SO4-- = CaSO4(aq): phreeqc.dat. 2.25 at 25 degC, 1.325 kcal/mol."""
    return van_t_hoff(2.25, 1.325 * KCAL, kelvin)


def naso4_pair_phreeqc_2024(kelvin: Values) -> Values:
    """Na+ + SO4-- = NaSO4-: phreeqc.dat of 2024, fitted to mirabilite and thenardite, 0 to 200 degC."""
    return 255.903 + 0.10057 * kelvin - 111.138 * _log10(kelvin) - 8.5983e5 / kelvin**2


def hso4_phreeqc(kelvin: Values) -> Values:
    """SO4-- + H+ = HSO4-: phreeqc.dat. 1.988 at 25 degC."""
    return -56.889 + 0.006473 * kelvin + 2307.9 / kelvin + 19.8858 * _log10(kelvin)


# Borate, hypochlorite, hypobromite


def boric_manov_1944(kelvin: Values) -> Values:
    """B(OH)3 + H2O = H+ + B(OH)4-: Manov, DeLollis & Acree 1944, J. Res. NBS 33:287, 0 to 60 degC. -9.235 at 25.

    >>> round(float(boric_manov_1944(298.15)), 3)
    -9.235
    """
    return -(2237.94 / kelvin + 0.016883 * kelvin - 3.305)


def boric_phreeqc(kelvin: Values) -> Values:
    """B(OH)3 + H2O = H+ + B(OH)4-: phreeqc.dat. -9.24 at 25 degC, 3.224 kcal/mol; within 0.03 of Manov at 5 to 42."""
    return van_t_hoff(-9.24, 3.224 * KCAL, kelvin)


def hocl_morris_1966(kelvin: Values) -> Values:
    """HOCl = H+ + OCl-: Morris 1966, J. Phys. Chem. 70:3798, 5 to 35 degC (formula from memory). -7.537 at 25 degC.

    >>> round(float(hocl_morris_1966(298.15)), 3)
    -7.537
    """
    return -(3000.00 / kelvin - 10.0686 + 0.0253 * kelvin)


def hobr_nbs_1982(kelvin: Values) -> Values:
    """HOBr = H+ + OBr-: -8.65 at 25 degC, 18.9 kJ/mol from the NBS tables of 1982 (enthalpy from memory).

    Troy & Margerum 1991 give 8.80 at an ionic strength of 0.5 (from memory): uncertain by 0.15.
    """
    return van_t_hoff(-8.65, 18.9, kelvin)


# Cyanurate and chlorine

HYDROLYSIS_ENTHALPY = 38.8
"""kJ/mol of an N-Cl hydrolysis: Wahman & Alexander 2019, Environ. Eng. Sci. 36:283, from pK7a = 2028/T - 2.15.

Measured at 5 to 35 degC for one of the steps, taken for all. The constants themselves are in `dosing.chlorine`."""
RING_PROTON_ENTHALPY = 33.4
"""kJ/mol of a ring proton's ionisation: Wahman 2018, Environ. Sci.: Water Res. Technol. 4:1522 (33.4 +- 1.7)."""


def cyanuric_acid_wahman_2018(kelvin: Values) -> Values:
    """H3Cy = H+ + H2Cy-: Wahman 2018, Environ. Sci.: Water Res. Technol. 4:1522, 5 to 35 degC. -6.966 at 25 degC.

    >>> round(float(cyanuric_acid_wahman_2018(298.15)), 3)
    -6.966
    """
    return -(1743.0 / kelvin + 1.12)


def dichlorocyanurate_hydrolysis_wahman_2019(kelvin: Values) -> Values:
    """Cl2Cy- + H2O = HClCy- + HOCl: Wahman & Alexander 2019, Environ. Eng. Sci. 36:283, 5 to 35 degC. -4.65 at 25."""
    return -(2028.0 / kelvin - 2.15)


def ring_proton_wahman_2018(kelvin: Values) -> Values:
    """By how much log K of a ring proton's ionisation exceeds its value at 25 degC: Wahman 2018, 33.4 kJ/mol."""
    return van_t_hoff(0.0, RING_PROTON_ENTHALPY, kelvin)


def chlorination_wahman_2019(kelvin: Values) -> Values:
    """By how much log K of a ring's chlorination by HOCl exceeds its value at 25 degC: -38.8 kJ/mol.

    The reverse of the one hydrolysis that Wahman & Alexander 2019 measured, 5 to 35 degC, taken for all. Past 35 degC
    this is extrapolation; freezing the constants at 25 degC instead gives about 1.7 times less HOCl at 38 degC.
    """
    return van_t_hoff(0.0, -HYDROLYSIS_ENTHALPY, kelvin)
