"""The derivatives that make the search for pH quick, against finite differences."""

import numpy as np
import pytest

from dosing.activity import activity_coefficients, debye_hueckel
from dosing.carbonate import Free, share_carbonate
from dosing.chlorine import share_chlorine
from dosing.massaction import between_concentrations, constants_at
from dosing.totals import Background, Totals
from dosing.weakacids import weak_acids

KELVIN = np.array([285.0, 298.15, 311.0])
LN_PROTON = -np.log(10) * np.array([6.5, 7.5, 8.6])
K = between_concentrations(
    constants_at(KELVIN), activity_coefficients(np.full(3, 0.02), debye_hueckel(KELVIN), np.full(3, 0.03))
)
STEP = 1e-5


def test_alkalinity_of_cyanurate_and_chlorine_falls_with_acidity_as_computed() -> None:
    def shares(ln_proton: np.ndarray):
        return share_chlorine(np.exp(ln_proton), K.hypochlorous, K.rings, np.full(3, 4e-4), np.full(3, 2e-4))

    difference = shares(LN_PROTON + STEP).alkalinity - shares(LN_PROTON - STEP).alkalinity
    np.testing.assert_allclose(shares(LN_PROTON).slope, difference / (2 * STEP), rtol=1e-4)


def test_alkalinity_of_carbonate_falls_with_acidity_as_computed() -> None:
    nil = np.zeros(1)
    totals = Totals(KELVIN, np.full(3, 3e-3), np.full(3, 5e-3), nil, nil, nil, nil, nil, nil, nil, nil, nil, nil)
    free = Free(np.full(3, 5e-3), nil, nil)

    for known, value in (("dic", np.full(3, 3e-3)), ("pco2", np.full(3, 1e-3))):

        def carbon(ln_proton: np.ndarray, known=known, value=value):
            return share_carbonate(K, np.exp(ln_proton), totals, Background(nil, nil), free, nil, known, value)

        difference = carbon(LN_PROTON + STEP).alkalinity - carbon(LN_PROTON - STEP).alkalinity
        np.testing.assert_allclose(carbon(LN_PROTON).slope, difference / (2 * STEP), rtol=2e-3)


@pytest.mark.parametrize("rings", [True, False])
def test_alkalinity_of_all_weak_acids_falls_with_acidity_as_computed(rings: bool) -> None:
    nil, some = np.zeros(1), np.full(3, 2e-4)
    cyanurate = some if rings else nil
    totals = Totals(KELVIN, nil, nil, cyanurate, 3 * some, some, 2 * some, nil, nil, nil, nil, nil, nil)

    def weak(ln_proton: np.ndarray):
        return weak_acids(K, np.exp(ln_proton), totals, None, rings=rings, near=1e-11)

    difference = weak(LN_PROTON + STEP).alkalinity - weak(LN_PROTON - STEP).alkalinity
    np.testing.assert_allclose(weak(LN_PROTON).slope, difference / (2 * STEP), rtol=1e-4)
