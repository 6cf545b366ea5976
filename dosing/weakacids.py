"""The weak acids other than carbonic: cyanuric with its chlorine, boric, hypochlorous, hypobromous and water."""

from __future__ import annotations

from typing import NamedTuple

from dosing.arrays import Array
from dosing.chlorine import Shares, share_chlorine
from dosing.massaction import Constants
from dosing.totals import Totals


class WeakAcids(NamedTuple):
    """What they hold at a given acidity: alkalinity [eq/kg], its derivative by ln {H+}, charge squared, chlorine."""

    alkalinity: Array
    slope: Array
    charge_squared: Array
    hocl: Array
    ocl: Array
    moved: float
    """How far ln [HOCl] still is from its place."""


def weak_acids(
    k: Constants, proton: Array, totals: Totals, hocl: Array | None, *, rings: bool, near: float
) -> WeakAcids:
    """Ionise the weak acids at a given {H+}; without `rings` the water is known to hold no cyanurate."""
    inverse = 1.0 / proton
    hydroxide, hydrogen = k.hydroxide * inverse, proton / k.hydrogen
    borate, borate_slope = _base(k.boric * inverse, totals.boron)
    hypobromite, hypobromite_slope = _base(k.hypobromous * inverse, totals.bromine)
    if rings:
        shares = share_chlorine(proton, k.hypochlorous, k.rings, totals.cyanurate, totals.chlorine, hocl, near)
    else:
        ocl, ocl_slope = _base(k.hypochlorous * inverse, totals.chlorine)
        shares = Shares(totals.chlorine - ocl, ocl, ocl, ocl_slope, ocl, 0.0)
    singly = borate + hypobromite + hydroxide
    return WeakAcids(
        alkalinity=shares.alkalinity + singly - hydrogen,
        slope=shares.slope + borate_slope + hypobromite_slope - hydroxide - hydrogen,
        charge_squared=shares.charge_squared + singly + hydrogen,
        hocl=shares.hocl,
        ocl=shares.ocl,
        moved=shares.moved,
    )


def _base(ionised: Array, total: Array) -> tuple[Array, Array]:
    """The base of a weak acid from the ratio base : acid, and its derivative by ln {H+}."""
    base = total * ionised / (1.0 + ionised)
    return base, -base / (1.0 + ionised)
