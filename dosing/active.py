"""How much of the free chlorine disinfects."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from dosing.activity import activity_coefficients, debye_hueckel
from dosing.arrays import Values, common_shape, flat, shaped, values
from dosing.carbonate import TRACE
from dosing.chlorine import share_chlorine
from dosing.equilibria import LN10, ZERO_CELSIUS
from dosing.massaction import between_concentrations, constants_at
from dosing.substances import CL2, CYANURIC_ACID


class ActiveChlorine(NamedTuple):
    """Free chlorine by form [mg/L as Cl2]; floats, or arrays of the inputs' common shape."""

    hocl: Values
    """Hypochlorous acid, the form that disinfects."""
    ocl: Values
    """Hypochlorite."""
    bound: Values
    """Held by cyanurate."""


def active_chlorine(
    free_chlorine: ArrayLike,
    cyanuric_acid: ArrayLike,
    ph: ArrayLike,
    temperature: ArrayLike,
    *,
    ionic_strength: ArrayLike = 0.012,
) -> ActiveChlorine:
    """Share free chlorine between hypochlorous acid, hypochlorite and cyanurate at equilibrium.

    Constants of O'Brien, Morris & Butler 1974, carried from 25 degC to the water's temperature by van 't Hoff's law
    with the enthalpies of Wahman 2018 and Wahman & Alexander 2019; HOCl by Morris 1966. Above 10 mg/L of cyanuric acid
    and at 36 to 40 degC that convention gives 1.07 to 1.95 times (about 1.7) the hypochlorous acid that constants
    frozen at 25 degC would, and no measurement says which holds: a careful plan takes the unfavourable end.

    Parameters
    ----------
    free_chlorine : [mg/L as Cl2]
    cyanuric_acid : [mg/L]
    ph : [-]
    temperature : [degC]
    ionic_strength : 0.012 is a tub with about 750 mg/L of dissolved solids [mol/kg]

    Examples
    --------
    Without cyanurate at pH 7 and 25 degC, 77.6 % (Davis, Water and Wastewater Engineering, ex. 13-1, with a pKa of
    7.54, here 7.537):

    >>> round(active_chlorine(1.0, 0.0, 7.0, 25.0, ionic_strength=0.0).hocl, 3)
    0.775

    With 30 mg/L of cyanuric acid little is left, and at 38 degC it depends on the convention:

    >>> round(active_chlorine(3.0, 30.0, 7.5, 25.0).hocl, 3), round(active_chlorine(3.0, 30.0, 7.5, 38.0).hocl, 3)
    (0.042, 0.073)
    """
    given = (
        values("free chlorine", free_chlorine, low=0.0, high=1e5, unit="in mg/L as Cl2"),
        values("cyanuric acid", cyanuric_acid, low=0.0, high=1e5, unit="in mg/L"),
        values("pH", ph, low=0.0, high=14.0, unit="(no unit)"),
        values("temperature", temperature, low=0.0, high=100.0, unit="in degC"),
        values("ionic strength", ionic_strength, low=0.0, high=1.0, unit="in mol/kg"),
    )
    shape = common_shape(given)
    chlorine, cyanurate, acidity, celsius, strength = (flat(one, shape) for one in given)
    kelvin = celsius + ZERO_CELSIUS
    gamma = activity_coefficients(strength, debye_hueckel(kelvin), 2.0 * strength)
    constants = between_concentrations(constants_at(kelvin), gamma)
    shares = share_chlorine(
        np.exp(-LN10 * acidity),
        constants.hypochlorous,
        constants.rings,
        cyanurate / CYANURIC_ACID / 1e3 + TRACE,
        chlorine / CL2 / 1e3 + TRACE,
    )
    hocl, ocl = shares.hocl * CL2 * 1e3, shares.ocl * CL2 * 1e3
    bound = np.maximum(chlorine - hocl - ocl, 0.0)
    return ActiveChlorine(shaped(hocl, shape), shaped(ocl, shape), shaped(bound, shape))


def hocl_at_worst(free_chlorine: float, cyanuric_acid: float, ph: float, temperature: float) -> float:
    """mg/L of HOCl (as Cl2) by the less favourable of the conventions for the cyanurate constants.

    They were measured up to 35 degC; at 38 degC the published temperature laws leave a factor of about 1.7 open, and
    the constants of 25 degC are the unfavourable end.
    """
    return float(np.min(active_chlorine(free_chlorine, cyanuric_acid, ph, np.array([25.0, temperature])).hocl))
