"""pH as air, chlorine and doses move it, for thousands of tubs in a call.

The constants are the house's own at bathing temperature and one ionic strength; ion pairs and the rings that bind
chlorine are left out. Against `dosing.from_carbon` over waters as tubs hold them the pH is within 0.02.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dosing.activity import activity_coefficients, debye_hueckel
from dosing.arrays import Array
from dosing.equilibria import LN10, ZERO_CELSIUS
from dosing.massaction import between_concentrations, constants_at
from dosing.region import AIR_PRESSURE
from dosing.substances import BORON, CACO3_PER_EQUIVALENT, CYANURIC_ACID

STRENGTH = 0.014
"""mol/kg: dissolved solids of about 800 mg/L."""
_PASSES = 3
_LONGEST = 0.5
_APART = 0.02


@dataclass(frozen=True, slots=True)
class Acids:
    """Weak acids beside carbonate: chlorine or bromine as mmol/L, cyanuric acid mg/L, borate mg/L as B."""

    oxidant: Array
    cyanurate: Array
    borate: Array


@dataclass(frozen=True, slots=True)
class Plane:
    """Constants between concentrations [mmol/L, {H+} an activity in mol/L], arrays that broadcast against the rest."""

    k1: Array
    k2: Array
    water: Array
    oxidant: Array
    cyanurate: Array
    boric: Array
    air: Array
    """mmol/L of carbon dioxide that water at rest with outdoor air holds."""

    @classmethod
    def at(cls, celsius: Array, bromine: Array) -> Plane:
        """Of these temperatures; `bromine` is true where the oxidant is bromine."""
        kelvin = np.atleast_1d(celsius) + ZERO_CELSIUS
        strength = np.full_like(kelvin, STRENGTH)
        k = between_concentrations(
            constants_at(kelvin), activity_coefficients(strength, debye_hueckel(kelvin), 2.0 * strength)
        )
        oxidant = np.where(bromine, k.hypobromous, k.hypochlorous)
        return cls(k.k1, k.k2, k.hydroxide * 1e3, oxidant, k.rings.h2cy, k.boric, AIR_PRESSURE / k.gas * 1e3)

    def rows(self, which: slice, extra: int) -> Plane:
        """Some of the tubs, with so many axes more at the end."""
        shape = (-1,) + (1,) * extra

        def part(array: Array) -> Array:
            return array[which].reshape(shape)

        return Plane(
            part(self.k1), part(self.k2), part(self.water), part(self.oxidant),
            part(self.cyanurate), part(self.boric), part(self.air),
        )  # fmt: skip

    def _weak(self, proton: Array, acids: Acids) -> tuple[Array, Array]:
        """Alkalinity [mmol/L] of everything but carbonate, and its derivative by ln {H+}, signs changed."""
        base = self.water / proton
        slope = base.copy()
        for constant, amount in (
            (self.oxidant, acids.oxidant),
            (self.cyanurate, acids.cyanurate / CYANURIC_ACID),
            (self.boric, acids.borate / BORON),
        ):
            share = constant / (constant + proton)
            base = base + amount * share
            slope = slope + amount * share * (1.0 - share)
        return base - proton * 1e3, slope + proton * 1e3

    def carbon(self, ph: Array, alkalinity: Array, acids: Acids) -> tuple[Array, Array]:
        """DIC and carbon dioxide [mmol/L] of a water of this pH and total alkalinity [mg/L as CaCO3]."""
        proton = np.exp(-LN10 * ph)
        weak, _ = self._weak(proton, acids)
        left = np.maximum(alkalinity / CACO3_PER_EQUIVALENT - weak, 1e-3)
        dioxide = left / (self.k1 / proton + 2.0 * self.k1 * self.k2 / proton**2)
        return dioxide * (1.0 + self.k1 / proton + self.k1 * self.k2 / proton**2), dioxide

    def ph_closed(self, start: Array, alkalinity: Array, dic: Array, acids: Acids) -> Array:
        """The pH of a closed water of this alkalinity and DIC; the search begins at `start`."""
        ph, wanted = start, alkalinity / CACO3_PER_EQUIVALENT
        for _ in range(_PASSES):
            proton = np.exp(-LN10 * ph)
            weak, slope = self._weak(proton, acids)
            single, double = self.k1 / proton, self.k1 * self.k2 / proton**2
            sum_ = 1.0 + single + double
            carbonate = dic * (single + 2.0 * double) / sum_
            bend = dic * (single + 4.0 * double + single * double) / sum_**2
            step = (wanted - carbonate - weak) / (LN10 * (bend + slope))
            ph = np.clip(ph + np.clip(step, -_LONGEST, _LONGEST), 4.0, 11.0)
        return ph

    def ph_open(self, start: Array, alkalinity: Array, dioxide: Array, acids: Acids) -> Array:
        """The pH of a water of this alkalinity that holds so much carbon dioxide [mmol/L]."""
        ph, wanted = start, alkalinity / CACO3_PER_EQUIVALENT
        for _ in range(_PASSES):
            proton = np.exp(-LN10 * ph)
            weak, slope = self._weak(proton, acids)
            single, double = dioxide * self.k1 / proton, dioxide * self.k1 * self.k2 / proton**2
            step = (wanted - single - 2.0 * double - weak) / (LN10 * (single + 4.0 * double + slope))
            ph = np.clip(ph + np.clip(step, -_LONGEST, _LONGEST), 4.0, 11.0)
        return ph

    def aired(self, ph: Array, alkalinity: Array, lost: Array, acids: Acids) -> Array:
        """The pH after carbon dioxide was lost to air at a rate that, summed over time, is `lost`.

        What leaves is replaced in part by bicarbonate turning to carbonate and dioxide, and by weak acids that give
        way, the more the higher the pH: the excess falls the slower by as much.
        """
        for _ in range(2):
            dic, dioxide = self.carbon(ph, alkalinity, acids)
            higher, less = self.carbon(ph + _APART, alkalinity, acids)
            slower = (dic - higher) / (dioxide - less)
            left = self.air + (dioxide - self.air) * np.exp(-0.5 * lost / slower)
            ph = self.ph_open(ph, alkalinity, left, acids)
        return ph
