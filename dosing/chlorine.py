"""Free chlorine shared between hypochlorous acid, hypochlorite and the chlorinated cyanurates."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from dosing.arrays import Array


class Ring(NamedTuple):
    """A cyanurate species: its charge (negative, as a count), its chlorine atoms, log K at 25 degC from H3Cy + n HOCl.

    The logarithms chain the published pK of O'Brien, Morris & Butler 1974 (from memory).
    """

    charge: int
    chlorines: int
    log_k_25: float


RINGS = {
    "H3Cy": Ring(0, 0, 0.0),
    "H2Cy-": Ring(1, 0, -6.88),
    "HCy--": Ring(2, 0, -6.88 - 11.40),
    "Cy---": Ring(3, 0, -6.88 - 11.40 - 13.5),
    "H2ClCy": Ring(0, 1, 4.07),
    "HClCy-": Ring(1, 1, 4.07 - 5.33),
    "ClCy--": Ring(2, 1, 4.07 - 5.33 - 10.12),
    "HCl2Cy": Ring(0, 2, 4.07 + 2.93),
    "Cl2Cy-": Ring(1, 2, 4.07 + 2.93 - 3.75),
    "Cl3Cy": Ring(0, 3, 4.07 + 2.93 + 1.8),
}
_CHARGE = np.array([ring.charge for ring in RINGS.values()])
_CHLORINES = np.array([ring.chlorines for ring in RINGS.values()])
_PASSES = 60
_TOLERANCE = 1e-13

# Rows 0 to 3: sum over the species with so many chlorines; 4 to 7: the same weighted by charge; 8 to 11: by its square.
_MOMENTS = np.vstack([np.where(_CHLORINES == n, _CHARGE.astype(np.float64) ** power, 0.0)
                      for power in (0, 1, 2) for n in (0, 1, 2, 3)])


class Shares(NamedTuple):
    """How chlorine and cyanurate are distributed; concentrations in mol/kg, arrays of one shape."""

    hocl: Array
    ocl: Array
    alkalinity: Array
    """Of cyanurate, chlorinated cyanurate and hypochlorite [eq/kg]."""
    slope: Array
    """Derivative of that alkalinity by ln {H+} in the closed water."""
    charge_squared: Array
    """Sum of charge squared times concentration of the same ions."""


def share_chlorine(
    proton: Array, hocl_constant: Array, rings: Array, cyanurate: Array, chlorine: Array, hocl: Array | None
) -> Shares:
    """Distribute chlorine and cyanurate at a given acidity.

    `proton` is {H+}; `hocl_constant` and the ten rows of `rings` are concentration constants; totals in mol/kg are
    above 0; `hocl` is a first guess. Solved for [HOCl] by Newton's method on the logarithm of total chlorine.
    """
    inverse = 1.0 / proton
    square = inverse * inverse
    powers = np.stack([np.ones_like(inverse), inverse, square, inverse * square])
    p0, p1, p2, p3, z0, z1, z2, z3, zz0, zz1, zz2, zz3 = _MOMENTS @ (rings * powers[_CHARGE])
    free = 1.0 + hocl_constant * inverse

    y = _first_guess(free, p1 / p0, cyanurate, chlorine) if hocl is None else hocl
    for _ in range(_PASSES):
        y2, y3 = y * y, y * y * y
        bare = cyanurate / (p0 + p1 * y + p2 * y2 + p3 * y3)
        first, second, third = bare * p1 * y, bare * p2 * y2, bare * p3 * y3
        held = first + 2.0 * second + 3.0 * third
        held_squared = first + 4.0 * second + 9.0 * third
        unbound = free * y
        total = unbound + held
        stiffness = unbound + held_squared - held * held / cyanurate
        step = np.log(chlorine / total) * total / stiffness
        y = y * np.exp(np.clip(step, -5.0, 5.0))
        if np.max(np.abs(step)) < _TOLERANCE * 1e3:
            break
    y2, y3 = y * y, y * y * y
    bare = cyanurate / (p0 + p1 * y + p2 * y2 + p3 * y3)
    charge = bare * (z0 + z1 * y + z2 * y2 + z3 * y3)
    charge_squared = bare * (zz0 + zz1 * y + zz2 * y2 + zz3 * y3)
    held = bare * (p1 * y + 2.0 * p2 * y2 + 3.0 * p3 * y3)
    held_squared = bare * (p1 * y + 4.0 * p2 * y2 + 9.0 * p3 * y3)
    held_charge = bare * (z1 * y + 2.0 * z2 * y2 + 3.0 * z3 * y3)
    ocl = hocl_constant * inverse * y

    # Along ln {H+} both totals stay: d ln[HOCl] and d ln[H3Cy] follow from the two mass balances.
    d_hocl = (held_charge + ocl - held * charge / cyanurate) / (held_squared + free * y - held * held / cyanurate)
    d_ring = (charge - held * d_hocl) / cyanurate
    slope = -charge_squared + d_hocl * held_charge + d_ring * charge + ocl * (d_hocl - 1.0)
    return Shares(y, ocl, charge + ocl, slope, charge_squared + ocl)


def _first_guess(free: Array, binding: Array, cyanurate: Array, chlorine: Array) -> Array:
    """[HOCl] when a ring could take one chlorine only: the positive root of a quadratic, an upper bound."""
    b = free + binding * (cyanurate - chlorine)
    root: Array = 2.0 * chlorine / (b + np.sqrt(b * b + 4.0 * free * binding * chlorine))
    return root
