"""The classical saturation index, beside the exact one."""

from __future__ import annotations

import numpy as np

from dosing.activity import debye_hueckel
from dosing.arrays import Values
from dosing.carbonate import TRACE
from dosing.equilibria import (
    ZERO_CELSIUS,
    calcite_plummer_busenberg_1982,
    k2_plummer_busenberg_1982,
)
from dosing.substances import CACO3, CACO3_PER_EQUIVALENT
from dosing.water import Water, speciate

STRENGTH_PER_TDS = 2.5e-5
"""mol/kg for each mg/L: Langelier 1936, J. AWWA 28:1500."""


def langelier(water: Water) -> Values:
    """Langelier's saturation index pH - pHs, without ion pairs.

    pHs = pK2 - pKs + p[Ca] + p[HCO3-] + 5 pfm, after Standard Methods 2330 B (from memory) with the constants of
    Plummer & Busenberg 1982, the Davies equation and the ionic strength of Langelier 1936, 2.5e-5 TDS. [HCO3-] comes
    from the carbonate alkalinity, cyanurate and borate left out: [HCO3-] (1 + 2 K2'/{H+}) is that alkalinity. Against
    the exact index it lies about 0.05 low in a tub whose solids are mostly salt, where that ionic strength is half too
    high.

    Returns
    -------
    index : [-], a float or an array of the water's shape

    Examples
    --------
    >>> round(float(langelier(Water(7.5, 100.0, 200.0, temperature=25.0, tds=400.0))), 2)
    0.03
    """
    kelvin = water.temperature + ZERO_CELSIUS
    pk2, pks = -k2_plummer_busenberg_1982(kelvin), -calcite_plummer_busenberg_1982(kelvin)
    strength = STRENGTH_PER_TDS * water.tds
    root = np.sqrt(strength)
    pfm = debye_hueckel(kelvin).a * (root / (1.0 + root) - 0.3 * strength)
    carbonate_alkalinity = speciate(water).carbonate_alkalinity / CACO3_PER_EQUIVALENT / 1e3
    bicarbonate = carbonate_alkalinity / (1.0 + 2.0 * 10.0 ** (water.ph - pk2 + 3.0 * pfm))
    calcium = water.calcium_hardness / CACO3 / 1e3
    return water.ph - (
        pk2 - pks - np.log10(np.maximum(calcium, TRACE)) - np.log10(np.maximum(bicarbonate, TRACE)) + 5.0 * pfm
    )
