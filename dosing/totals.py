"""What a water holds, however it is bound: the solver's input, its strong ions and its dissolved solids.

Amounts are mol (or eq) per kg of water in arrays of shape (n,) or (1,).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from dosing.arrays import Array

SODIUM = 22.98977
CALCIUM = 40.078
CHLORIDE = 35.453
BICARBONATE = 61.0168
CYANURIC_ACID = 129.074
BORIC_ACID = 61.833
SULFATE = 96.06
POTASSIUM = 39.0983
LITHIUM = 6.94
BROMIDE = 79.904
"""g/mol, as dissolved solids are counted: IUPAC atomic weights."""


class Totals(NamedTuple):
    """Totals by element or group.

    Chloride None: what the dissolved solids [g/kg] leave open; else those are not read.
    """

    kelvin: Array
    alkalinity: Array
    calcium: Array
    cyanurate: Array
    boron: Array
    chlorine: Array
    bromine: Array
    sulfate: Array
    potassium: Array
    lithium: Array
    bromide: Array
    chloride: Array | None = None
    solids: Array | None = None


class Background(NamedTuple):
    """Total sodium and chloride."""

    sodium: Array
    chloride: Array


def background(totals: Totals, carbonate_alkalinity: Array) -> Background:
    """Sodium and chloride: electroneutral with the other strong ions; NaCl topped up to the dissolved solids.

    Where the solids are too few for the other ions, the least chloride that leaves sodium at nil or above.
    """
    others = totals.alkalinity + totals.bromide - totals.potassium - totals.lithium
    others = others + 2.0 * (totals.sulfate - totals.calcium)
    chloride = totals.chloride
    if chloride is None:
        without = dissolved_solids(totals, Background(others, np.zeros(1)), carbonate_alkalinity)
        solids = np.zeros(1) if totals.solids is None else totals.solids
        chloride = np.maximum((solids - without) / (SODIUM + CHLORIDE), np.maximum(-others, 0.0))
    return Background(np.maximum(others + chloride, 0.0), chloride)


def dissolved_solids(totals: Totals, strong: Background, carbonate_alkalinity: Array) -> Array:
    """Dissolved solids [g/kg] by book-keeping: every ion, carbonate alkalinity as bicarbonate, acids undissociated."""
    solids: Array = (
        SODIUM * strong.sodium
        + CHLORIDE * strong.chloride
        + BICARBONATE * carbonate_alkalinity
        + CALCIUM * totals.calcium
        + CYANURIC_ACID * totals.cyanurate
        + BORIC_ACID * totals.boron
        + SULFATE * totals.sulfate
        + POTASSIUM * totals.potassium
        + LITHIUM * totals.lithium
        + BROMIDE * totals.bromide
    )
    return solids
