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
RAOULT = 0.017
"""By how much a mol/kg of solutes lowers the activity of water, as PHREEQC has it."""


class Ion(NamedTuple):
    """Charge, ion size a [angstrom] and salting-out coefficient b [kg/mol] of the Truesdell-Jones equation."""

    charge: int
    size: float
    salting: float


TRUESDELL_JONES = {
    "hydrogen": Ion(1, 9.0, 0.0),
    "hydroxide": Ion(1, 3.5, 0.0),
    "bicarbonate": Ion(1, 5.4, 0.0),
    "calcium_bicarbonate": Ion(1, 6.0, 0.0),
    "sodium_sulfate": Ion(1, 5.5, 0.0),
    "calcium": Ion(2, 5.0, 0.165),
    "sodium": Ion(1, 4.08, 0.082),
    "sulfate": Ion(2, 5.0, -0.04),
}
SALTING_OUT = {"neutral": 0.1, "carbon_dioxide": 0.066}
"""log gamma / I of species without charge: CO2(aq) after Rumpf et al. 1994, J. Solution Chem. 23:431, in phreeqc.dat;
0.1 is PHREEQC's rule for all others but NaHCO3(aq), which has 0.2 in phreeqc.dat of 2024."""


class Coefficients(NamedTuple):
    """Activity coefficients [kg/mol], arrays of one shape; `water` is the activity of water."""

    hydrogen: Array
    hydroxide: Array
    bicarbonate: Array
    """To the power of four, CO3--: the same size and twice the charge."""
    calcium_bicarbonate: Array
    sodium_sulfate: Array
    calcium: Array
    sodium: Array
    sulfate: Array
    neutral: Array
    """Squared, NaHCO3(aq)."""
    carbon_dioxide: Array
    single: Array
    """Any other ion of one charge, by Davies; of z charges: to the power of z squared."""
    water: Array


_IONS = len(TRUESDELL_JONES)
_PER_CHARGE_SQUARED = np.array([[1.0 / ion.charge**2] for ion in TRUESDELL_JONES.values()])
_SIZE = np.array([[ion.size] for ion in TRUESDELL_JONES.values()]) * _PER_CHARGE_SQUARED
_SALTED = slice([ion.salting != 0.0 for ion in TRUESDELL_JONES.values()].index(True), _IONS)
_SALTING = np.array([[ion.salting] for ion in TRUESDELL_JONES.values()])[_SALTED]
_NEUTRAL = np.array([[each] for each in SALTING_OUT.values()])


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


def activity_coefficients(strength: Array, debye: DebyeHueckel, solutes: Array) -> Coefficients:
    """Activity coefficients at an ionic strength [mol/kg], shape (n,).

    `solutes` is the sum of all solutes [mol/kg], which lowers the activity of water.
    """
    root = np.sqrt(strength)
    limiting = -LN10 * debye.a * root
    scaled = LN10 * strength
    logs: Array = np.empty((_IONS + len(SALTING_OUT) + 1, limiting.size))
    ions = logs[:_IONS]  # in place: this is where an array of waters spends its time
    np.multiply(_SIZE, debye.b * root, out=ions)
    ions += _PER_CHARGE_SQUARED
    np.divide(limiting, ions, out=ions)
    ions[_SALTED] += _SALTING * scaled
    np.multiply(_NEUTRAL, scaled, out=logs[_IONS:-1])
    np.add(limiting / (1.0 + root), 0.3 * debye.a * scaled, out=logs[-1])
    return Coefficients._make([*np.exp(logs, out=logs), 1.0 - RAOULT * solutes])
