"""Activity coefficients: Truesdell-Jones where ion sizes are known, Davies elsewhere, as in PHREEQC.

Truesdell & Jones 1974, J. Res. USGS 2:233; Davies 1962, Ion Association (0.3 form).
Ion sizes are those of phreeqc.dat of 22 May 2024.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from dosing.arrays import Array, Values
from dosing.equilibria import LN10, ZERO_CELSIUS

BAR_PER_ATMOSPHERE = 1.01325


class Ion(NamedTuple):
    """Charge, ion size a [angstrom] and salting-out coefficient b [kg/mol] of the Truesdell-Jones equation."""

    charge: int
    size: float
    salting: float


TRUESDELL_JONES = {
    "H+": Ion(1, 9.0, 0.0),
    "OH-": Ion(1, 3.5, 0.0),
    "HCO3-": Ion(1, 5.4, 0.0),
    "CO3--": Ion(2, 5.4, 0.0),
    "Ca++": Ion(2, 5.0, 0.165),
    "CaHCO3+": Ion(1, 6.0, 0.0),
    "Na+": Ion(1, 4.08, 0.082),
    "SO4--": Ion(2, 5.0, -0.04),
    "NaSO4-": Ion(1, 5.5, 0.0),
}
DAVIES = "Davies"
"""Basis row: the Davies equation for a charge of one; other charges are its multiples by charge squared."""
IONIC_STRENGTH = "I"
"""Basis row: ln(10) I, so that a neutral species with log gamma = b I has b of it."""
WATER = "H2O"
"""Basis row: the logarithm of the activity of water."""
BASIS = (*TRUESDELL_JONES, DAVIES, IONIC_STRENGTH, WATER)
NEUTRAL = 0.1
"""log gamma / I of a neutral species without a coefficient of its own."""
CARBON_DIOXIDE = 0.066
"""log gamma / I of CO2(aq): phreeqc.dat, after Rumpf et al. 1994, J. Solution Chem. 23:431."""
SODIUM_BICARBONATE = 0.2
"""log gamma / I of NaHCO3(aq): phreeqc.dat of 2024."""

_CHARGE_SQUARED = np.array([[ion.charge**2] for ion in TRUESDELL_JONES.values()], dtype=np.float64)
_SIZE = np.array([[ion.size] for ion in TRUESDELL_JONES.values()])
_SALTING = np.array([[ion.salting] for ion in TRUESDELL_JONES.values()])


def density_kell_1975(celsius: Values) -> Values:
    """Density of water [kg/L]: Kell 1975, J. Chem. Eng. Data 20:97 (from memory). 0.997045 at 25 degC."""
    t = celsius
    numerator = 999.83952 + t * (
        16.945176 + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - t * 280.54253e-12)))
    )
    return numerator / (1.0 + 16.879850e-3 * t) / 1000.0


def permittivity_bradley_pitzer_1979(kelvin: Values) -> Values:
    """Relative permittivity of water at 1 atm: Bradley & Pitzer 1979, J. Phys. Chem. 83:1599. 78.38 at 25 degC."""
    at_1000_bar = 342.79 * np.exp(kelvin * (-5.0866e-3 + 9.4690e-7 * kelvin))
    c = -2.0525 + 3115.9 / (kelvin - 182.89)
    b = -8032.5 + 4.2142e6 / kelvin + 2.1417 * kelvin
    return at_1000_bar + c * np.log((b + BAR_PER_ATMOSPHERE) / (b + 1000.0))


class DebyeHueckel(NamedTuple):
    """The two coefficients of the Debye-Hueckel equation at a temperature: A [(kg/mol)^0.5], B [.../angstrom]."""

    a: Values
    b: Values


def debye_hueckel(kelvin: Values) -> DebyeHueckel:
    """Debye-Hueckel coefficients of water at 1 atm: A is 0.510 and B 0.3285 at 25 degC."""
    density = density_kell_1975(kelvin - ZERO_CELSIUS)
    product = permittivity_bradley_pitzer_1979(kelvin) * kelvin
    return DebyeHueckel(1.82483e6 * np.sqrt(density / product**3), 50.2916 * np.sqrt(density / product))


def activity_basis(strength: Array, coefficients: DebyeHueckel, solutes: Array) -> Array:
    """Natural logarithms of the activity coefficients, one row for each entry of BASIS.

    Inputs have the shape (n,): ionic strength [mol/kg] and the sum of all solutes [mol/kg], which lowers the activity
    of water by Raoult's law as PHREEQC does (1 - 0.017 times the sum).
    """
    root = np.sqrt(strength)
    limiting = -LN10 * coefficients.a * root
    scaled = LN10 * strength
    basis: Array = np.empty((len(BASIS), strength.size))
    known = basis[: len(TRUESDELL_JONES)]
    np.divide(_CHARGE_SQUARED * limiting, 1.0 + _SIZE * (coefficients.b * root), out=known)
    known += _SALTING * scaled
    basis[-3] = limiting / (1.0 + root) + 0.3 * coefficients.a * scaled
    basis[-2] = scaled
    basis[-1] = np.log1p(-0.017 * solutes)
    return basis
