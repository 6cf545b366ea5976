"""The region of a reading: every water that it may be, carried through doses as conserved totals.

The first water is the most likely one, then come the corners of the reading: each of pH, alkalinity, hardness and
cyanurate at its ends, sanitizer alternating. Whatever lies between lies within what the corners do.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import product

import numpy as np
from numpy.typing import NDArray

from dosing.arrays import Array
from dosing.arrows import Effect
from dosing.equilibria import LN10, ZERO_CELSIUS
from dosing.limits import Limits
from dosing.readings import Interval
from dosing.solver import Equilibrium, Known, Totals, solve
from dosing.steps import Spread
from dosing.substances import BORON, BR2, CACO3, CACO3_PER_EQUIVALENT, CL2, CYANURIC_ACID, Brings

AIR_PRESSURE = 420e-6
"""atm of carbon dioxide in outdoor air."""
_ENDS = np.array(list(product((0.0, 1.0), repeat=4)))
_CYANURATE_PER_ALKALINITY = 2.2
"""mg/L of cyanurate that a mg/L of alkalinity can belong to at most (0.39 each, less a little carbonate)."""
_GRID = 13
_NEAR = 1e-5
"""Of ln {H+}: what a plan can tell is a thousand times more."""
_SLACK = np.array([0.01, 0.01, 0.2, 0.2, 0.01, 0.01])
"""What still counts as not farther, for the six excesses: less than the computation itself can tell from the field."""


_PARITY = np.mod(_ENDS.sum(axis=1), 2.0)


def _over(interval: Interval, shares: Array) -> Array:
    return np.concatenate([[interval.likely], interval.low + shares * (interval.high - interval.low)])


def _totals(water: Mapping[str, Interval]) -> Totals:
    """mol/kg of every water of the region; chloride is rebuilt from the dissolved solids."""
    ta, ch, cya = (_over(water[key], _ENDS[:, at]) for key, at in (("ta", 1), ("ch", 2), ("cya", 3)))
    nil = np.zeros_like(ta)

    def same(key: str) -> Array:
        return np.full_like(ta, water[key].likely)

    return Totals(
        kelvin=(same("temp") if "temp" in water else np.full_like(ta, 25.0)) + ZERO_CELSIUS,
        alkalinity=ta / CACO3_PER_EQUIVALENT / 1000.0,
        calcium=ch / CACO3 / 1000.0,
        cyanurate=np.minimum(cya, _CYANURATE_PER_ALKALINITY * ta) / CYANURIC_ACID / 1000.0,
        boron=same("borate") / BORON / 1000.0,
        chlorine=_over(water["fc"], _PARITY) / CL2 / 1000.0,
        bromine=_over(water["br"], _PARITY) / BR2 / 1000.0,
        sulfate=nil, potassium=nil, lithium=nil, bromide=nil, chloride=None,
        solids=same("tds") / 1000.0,
    )  # fmt: skip


def _solved(totals: Totals, known: Known, value: Array, guess: Array | None = None) -> Equilibrium:
    if known == "ph":
        guess = -LN10 * value
    return solve(totals, known, value, np.full_like(value, -7.5 * LN10) if guess is None else guess, _NEAR)


@dataclass(frozen=True)
class Region:
    """Waters as conserved totals (mol/kg) with their DIC; the equilibrium is computed when it is asked for.

    Properties are arrays with one row per water, the most likely one first.
    """

    totals: Totals
    total_dic: Array
    start: Array | None = None
    """ln {H+} where the search for the equilibrium begins."""

    @classmethod
    def of(cls, water: Mapping[str, Interval]) -> Region:
        """The region of a reading; `water` holds a closed interval for every key."""
        totals = _totals(water)
        solved = _solved(totals, "ph", _over(water["ph"], _ENDS[:, 0]))
        region = cls(totals._replace(chloride=solved.chloride, solids=None), solved.dic, solved.ln_proton)
        region.__dict__["solved"] = solved
        return region

    @cached_property
    def solved(self) -> Equilibrium:
        """The equilibrium of every water at its DIC."""
        return _solved(self.totals, "dic", self.total_dic, self.start)

    @property
    def ph(self) -> Array:
        """Of every water."""
        return -self.solved.ln_proton / LN10

    @property
    def alkalinity(self) -> Array:
        """mg/L as CaCO3."""
        return self.totals.alkalinity * CACO3_PER_EQUIVALENT * 1000.0

    @property
    def hardness(self) -> Array:
        """mg/L as CaCO3."""
        return self.totals.calcium * CACO3 * 1000.0

    @property
    def cyanurate(self) -> Array:
        """mg/L."""
        return self.totals.cyanurate * CYANURIC_ACID * 1000.0

    @property
    def chlorine(self) -> Array:
        """mg/L as Cl2."""
        return self.totals.chlorine * CL2 * 1000.0

    @property
    def bromine(self) -> Array:
        """mg/L as Br2."""
        return self.totals.bromine * BR2 * 1000.0

    @property
    def temperature(self) -> Array:
        """degC."""
        return self.totals.kelvin - ZERO_CELSIUS

    @property
    def dic(self) -> Array:
        """mmol/L."""
        return self.total_dic * 1000.0

    @property
    def pco2(self) -> Array:
        """atm."""
        return self.solved.pco2

    @property
    def saturation_index(self) -> Array:
        """Of calcite."""
        index: Array = np.log10(np.maximum(self.solved.saturation, 1e-12))
        return index

    @property
    def likely(self) -> Region:
        """The most likely water alone."""
        return self.rows(slice(0, 1))

    def rows(self, rows: slice) -> Region:
        """Some of the waters."""
        totals = _each(self.totals, lambda part: part[rows])
        start = self.solved.ln_proton if "solved" in self.__dict__ else self.start
        region = Region(totals, self.total_dic[rows], None if start is None else start[rows])
        if "solved" in self.__dict__:
            region.__dict__["solved"] = Equilibrium(*(part[rows] for part in self.solved))
        return region

    def dosed(self, dose: Effect, *, bromine: bool = False, times: Array | float = 1.0) -> Region:
        """The region after a dose in mg/L, closed to the air; in a bromine tub every oxidant frees bromine.

        `times` multiplies the dose, for all waters or for each.
        """
        brings = dose.fresh
        if bromine:
            freed = brings.chlorine + dose.oxygen
            brings = brings._replace(
                chlorine=0.0, bromine=brings.bromine + freed, chloride=brings.chloride + brings.chlorine
            )
        return Region(_moved(self.totals, brings, times), self.total_dic + times * brings.dic / 1000.0, self._guess)

    @property
    def _guess(self) -> Array | None:
        return self.solved.ln_proton if "solved" in self.__dict__ else self.start

    def dic_at(self, *, ph: tuple[float, ...], alkalinity: float) -> tuple[float, ...]:
        """mmol/L of DIC that the most likely water would hold at another alkalinity and each of these pH."""
        one = self.likely.totals._replace(alkalinity=np.array([alkalinity / CACO3_PER_EQUIVALENT / 1000.0]))
        return tuple(_solved(_each(one, lambda part: np.tile(part, len(ph))), "ph", np.array(ph)).dic * 1000.0)

    def amount_to_ph(self, each: Effect, ph: float) -> float:
        """How many times a dose takes the most likely water to a pH; 0 where it is there or beyond.

        At a given pH carbonate alkalinity is a fixed multiple of DIC: the pH is a straight line in the plane, which the
        dose's arrow meets in one step. (The dose's own ionic strength moves the line by less than 0.005 pH.)
        """
        one, rising = self.likely, each.alkalinity > 0
        if (float(one.ph[0]) >= ph) == rising:
            return 0.0
        found = _solved(one.totals, "ph", np.array([ph]))
        multiple = float(found.carbonate_alkalinity[0] / found.dic[0])
        rest = float(one.totals.alkalinity[0] - found.carbonate_alkalinity[0])
        short = float(one.total_dic[0]) * multiple + rest - float(one.totals.alkalinity[0])
        return max(0.0, short * 1000.0 / (each.fresh.alkalinity - each.dic * multiple))

    def excess(self, limits: Limits, given_back: Array | float = 0.0) -> Array:
        """How far each water lies beyond each bound: rows of pH low and high, alkalinity, chlorine, saturation."""
        beyond = (
            limits.ph_bounds[0] - self.ph,
            self.ph - limits.ph_bounds[1],
            limits.alkalinity_bounds[0] - self.alkalinity,
            self.alkalinity - given_back - limits.alkalinity_bounds[1],
            self.chlorine - limits.chlorine_bound,
            self.saturation_index - limits.saturation_bound,
        )
        excess: Array = np.maximum(np.array(beyond), 0.0)
        return excess

    def safely(
        self, dose: Effect, before: Region, limits: Limits, most: float = 1.0, *, bromine: bool = False
    ) -> tuple[float, Region]:
        """The greatest share of a dose (up to `most`) that takes no corner farther beyond a bound than it was `before`.

        Returns the share and the region after it. An oxidant's own alkalinity, which it takes back as it is used up,
        does not count.
        """
        allowed = before.excess(limits)
        whole = self.dosed(dose.times(most), bromine=bromine)
        if most <= 0 or np.all(whole.excess(limits, _given_back(dose) * most) <= allowed + _SLACK[:, None]):
            return max(0.0, most), whole
        low, high = 0.0, most
        for _ in range(2):
            shares = np.linspace(low, high, _GRID)
            fits = self._fits(dose, shares, allowed, limits, bromine=bromine)
            fits[0] = True
            at = int(np.argmin(fits)) if not fits.all() else _GRID - 1
            low, high = float(shares[max(0, at - 1)]), float(shares[at])
        return low, self.dosed(dose.times(low), bromine=bromine)

    def _fits(self, dose: Effect, shares: Array, allowed: Array, limits: Limits, *, bromine: bool) -> NDArray[np.bool_]:
        amounts = np.repeat(shares, self.total_dic.size)
        many = self._repeated(len(shares)).dosed(dose, bromine=bromine, times=amounts)
        beyond = many.excess(limits, amounts * _given_back(dose)).reshape(len(_SLACK), len(shares), -1)
        fits: NDArray[np.bool_] = np.all(beyond <= allowed[:, None, :] + _SLACK[:, None, None], axis=(0, 2))
        return fits

    def _repeated(self, times: int) -> Region:
        totals = _each(self.totals, lambda part: np.tile(part, times))
        guess = self._guess
        region = Region(totals, np.tile(self.total_dic, times), None if guess is None else np.tile(guess, times))
        if "solved" in self.__dict__:
            region.__dict__["solved"] = Equilibrium(*(np.tile(part, times) for part in self.solved))
        return region

    def aired(self, hours: float | Array, limits: Limits, usual_ph: float | None = None) -> Region:
        """The region after jets with air: excess carbon dioxide falls by rate.

        Waters at the most likely pH as in a usual tub, of lower pH as in a slow one, of higher pH as in a fast one.
        """
        slow, usual, fast = limits.air_rate
        middle = float(self.ph[0]) if usual_ph is None else usual_ph
        rate = np.where(self.ph < middle - 1e-6, slow, np.where(self.ph > middle + 1e-6, fast, usual))
        left = AIR_PRESSURE + (self.pco2 - AIR_PRESSURE) * np.exp(-rate * hours)
        solved = _solved(self.totals, "pco2", np.minimum(left, self.pco2), self.solved.ln_proton)
        region = Region(self.totals, solved.dic, solved.ln_proton)
        region.__dict__["solved"] = solved
        return region

    def aired_to_ph(self, ph: float, before: Region, limits: Limits) -> tuple[int, Region]:
        """Minutes of jets with air that bring the most likely water to a pH, and the region after them.

        Fewer where a fast tub would overshoot or scale; 0 where even the fewest would take pH too far. At constant
        alkalinity the pressure of carbon dioxide falls tenfold per unit of pH.
        """
        now, shortest, longest = float(self.pco2[0]), *limits.air_minutes
        target = now * 10.0 ** (float(self.ph[0]) - ph)
        if target >= now or target <= AIR_PRESSURE:
            return 0, self
        hours = -np.log((target - AIR_PRESSURE) / (now - AIR_PRESSURE)) / limits.air_rate[1]
        tried = np.arange(shortest, min(longest, max(shortest, round(hours * 6.0) * 10)) + 1, 10)
        size = self.total_dic.size
        many = self._repeated(len(tried)).aired(np.repeat(tried, size) / 60.0, limits, float(self.ph[0]))
        upper = [1, 5]
        beyond = many.excess(limits)[upper].reshape(len(upper), len(tried), -1)
        fits = beyond <= before.excess(limits)[upper][:, None, :] + _SLACK[upper][:, None, None]
        ph_fits, both_fit = (np.flatnonzero(np.all(rows, axis=-1)) for rows in (fits[0], fits.all(axis=0)))
        if not ph_fits.size:
            return 0, self
        at = int(both_fit[-1]) if both_fit.size else 0
        return int(tried[at]), many.rows(slice(at * size, (at + 1) * size))

    def warmed(self, celsius: float) -> Region:
        """The region at another temperature [degC], closed to the air."""
        totals = self.totals._replace(kelvin=np.full_like(self.totals.kelvin, celsius + ZERO_CELSIUS))
        return Region(totals, self.total_dic, self._guess)

    def mixed(self, fill: Region, share: float) -> Region:
        """The region with this share of it changed for fill water, water by water."""
        other = iter(part for part in fill.totals if part is not None)
        totals = _each(self.totals, lambda part: part * (1.0 - share) + next(other) * share)
        return Region(totals, self.total_dic * (1.0 - share) + fill.total_dic * share)

    def spreads(self) -> dict[str, Spread]:
        """Low, most likely and high of what a plan shows."""
        shown = {
            "ph": (self.ph, 2), "ta": (self.alkalinity, 1), "fc": (self.chlorine, 2), "br": (self.bromine, 2),
            "ch": (self.hardness, 1), "cya": (self.cyanurate, 1), "saturation_index": (self.saturation_index, 2),
        }  # fmt: skip
        return {
            key: Spread(*(round(float(value), digits) + 0.0 for value in (rows.min(), rows[0], rows.max())))
            for key, (rows, digits) in shown.items()
        }


def _given_back(dose: Effect) -> float:
    return max(0.0, dose.alkalinity - dose.alkalinity_spent)


def _each(totals: Totals, change: Callable[[Array], Array]) -> Totals:
    return Totals(*(part if part is None else change(part) for part in totals))  # type: ignore[arg-type]


def _moved(totals: Totals, brings: Brings, times: Array | float) -> Totals:
    def plus(part: Array, more: float) -> Array:
        return part + times * (more / 1000.0)

    chloride = np.zeros_like(totals.alkalinity) if totals.chloride is None else totals.chloride
    return totals._replace(
        alkalinity=plus(totals.alkalinity, brings.alkalinity),
        calcium=plus(totals.calcium, brings.calcium),
        cyanurate=plus(totals.cyanurate, brings.cyanurate),
        boron=plus(totals.boron, brings.boron),
        chlorine=np.maximum(plus(totals.chlorine, brings.chlorine), 0.0),
        bromine=np.maximum(plus(totals.bromine, brings.bromine), 0.0),
        sulfate=plus(totals.sulfate, brings.sulfate),
        potassium=plus(totals.potassium, brings.potassium),
        lithium=plus(totals.lithium, brings.lithium),
        bromide=np.maximum(plus(totals.bromide, brings.bromide), 0.0),
        chloride=np.maximum(plus(chloride, brings.chloride), 0.0),
    )


def air_equilibrium_ph(region: Region) -> float:
    """The pH that the region's most alkaline water reaches at rest with outdoor air."""
    solved = _solved(region.totals, "pco2", np.full_like(region.total_dic, AIR_PRESSURE), region.start)
    return float(np.max(-solved.ln_proton / LN10))
