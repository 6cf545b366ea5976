"""Free chlorine shared between hypochlorous acid, hypochlorite and the chlorinated cyanurates."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from dosing.arrays import Array


class Ring(NamedTuple):
    """A cyanurate species that forms from H3Cy and `chlorines` HOCl.

    log K at 25 degC chains the pK published by O'Brien, Morris & Butler 1974, in Rubin (ed.), Chemistry of Water
    Supply, Treatment and Distribution, ch. 14 (from memory; their three thermodynamic cycles close). `protons` is how
    many ionisations carry Wahman's enthalpy: of a ring without chlorine only the first, the others being unmeasured.
    """

    chlorines: int
    protons: int
    log_k_25: float


RINGS = {
    "h2cy": Ring(0, 1, -6.88),
    "hcy": Ring(0, 1, -6.88 - 11.40),
    "cy": Ring(0, 1, -6.88 - 11.40 - 13.5),
    "h2clcy": Ring(1, 0, 4.07),
    "hclcy": Ring(1, 1, 4.07 - 5.33),
    "clcy": Ring(1, 2, 4.07 - 5.33 - 10.12),
    "hcl2cy": Ring(2, 0, 4.07 + 2.93),
    "cl2cy": Ring(2, 1, 4.07 + 2.93 - 3.75),
    "cl3cy": Ring(3, 0, 4.07 + 2.93 + 1.8),
}


class Rings(NamedTuple):
    """A constant for each of RINGS: [ring] = k [H3Cy] [HOCl]^chlorines / {H+}^charge."""

    h2cy: Array
    hcy: Array
    cy: Array
    h2clcy: Array
    hclcy: Array
    clcy: Array
    hcl2cy: Array
    cl2cy: Array
    cl3cy: Array


class Shares(NamedTuple):
    """How chlorine and cyanurate are distributed; concentrations in mol/kg, arrays of one shape."""

    hocl: Array
    ocl: Array
    alkalinity: Array
    """Of cyanurate, chlorinated cyanurate and hypochlorite [eq/kg]."""
    slope: Array
    """Derivative of that alkalinity by ln {H+} in the closed water."""
    charge_squared: Array
    """Sum of charge squared times concentration over the same ions."""
    moved: float
    """How far ln [HOCl], and what follows from it here, was from its place; `hocl` is a step nearer."""


_PASSES = 60
_LONGEST_STEP = 5.0


def share_chlorine(
    proton: Array,
    hypochlorous: Array,
    rings: Rings,
    cyanurate: Array,
    chlorine: Array,
    hocl: Array | None = None,
    near: float = 1e-11,
) -> Shares:
    """Distribute chlorine and cyanurate, totals above nil [mol/kg], at a given {H+}.

    `hypochlorous` and `rings` are concentration constants. ln [HOCl] is found to `near` by Newton's method on the
    logarithm of total chlorine, from a first guess `hocl` if there is one.
    """
    w = 1.0 / proton
    w2 = w * w
    h2cy, hcy, cy = rings.h2cy * w, rings.hcy * w2, rings.cy * w2 * w
    hclcy, clcy, cl2cy = rings.hclcy * w, rings.clcy * w2, rings.cl2cy * w

    # For each [H3Cy], rings with 0, 1, 2, 3 chlorines, their charge and their charge squared.
    n0, n1, n2, n3 = 1.0 + h2cy + hcy + cy, rings.h2clcy + hclcy + clcy, rings.hcl2cy + cl2cy, rings.cl3cy
    z0, z1, z2 = h2cy + 2.0 * hcy + 3.0 * cy, hclcy + 2.0 * clcy, cl2cy
    q0, q1, q2 = h2cy + 4.0 * hcy + 9.0 * cy, hclcy + 4.0 * clcy, cl2cy
    ionised = hypochlorous * w
    free = 1.0 + ionised

    y = _one_chlorine_a_ring(free, n1 / n0, cyanurate, chlorine) if hocl is None else hocl
    for _ in range(_PASSES):
        y2 = y * y
        one, two, three = n1 * y, n2 * y2, n3 * y2 * y
        bare = cyanurate / (n0 + one + two + three)
        held = bare * (one + 2.0 * two + 3.0 * three)
        held_squared = bare * (one + 4.0 * two + 9.0 * three)
        unbound = free * y
        stiffness = unbound + held_squared - held * held / cyanurate
        total = unbound + held
        step = np.clip(np.log(chlorine / total) * total / stiffness, -_LONGEST_STEP, _LONGEST_STEP)
        moved = float(np.max(np.abs(step), initial=0.0))
        better = y * np.exp(step)
        if moved < near:
            break
        y = better

    charge = bare * (z0 + z1 * y + z2 * y2)
    charge_squared = bare * (q0 + q1 * y + q2 * y2)
    held_charge = bare * (z1 * y + 2.0 * z2 * y2)
    ocl = ionised * y

    # Along ln {H+} both totals stay: from the two mass balances follow d ln [HOCl] and d ln [H3Cy].
    d_hocl = (held_charge + ocl - held * charge / cyanurate) / stiffness
    d_bare = (charge - held * d_hocl) / cyanurate
    slope = d_hocl * (held_charge + ocl) + d_bare * charge - charge_squared - ocl
    return Shares(better, ocl, charge + ocl, slope, charge_squared + ocl, moved)


def _one_chlorine_a_ring(free: Array, binding: Array, cyanurate: Array, chlorine: Array) -> Array:
    """[HOCl] if a ring could hold one chlorine only: the positive root of a quadratic, never too low."""
    linear = free + binding * (cyanurate - chlorine)
    root: Array = 2.0 * chlorine / (linear + np.sqrt(linear * linear + 4.0 * free * binding * chlorine))
    return root
