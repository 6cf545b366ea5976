"""The region of a reading: every water that it may be, carried through doses as conserved totals.

The first water is the most likely one, then come the corners of the reading (each of pH, alkalinity, hardness and
cyanurate at its ends, sanitizer alternating), then waters spread evenly through it, which carry the weights.
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
from dosing.solver import Equilibrium, Totals, solve
from dosing.steps import Spread
from dosing.substances import BORON, BR2, CACO3, CACO3_PER_EQUIVALENT, CL2, CYANURIC_ACID, Brings

AIR_PRESSURE = 420e-6
"""atm of carbon dioxide in outdoor air."""
_INNER = 32
_ENDS = np.array(list(product((0.0, 1.0), repeat=4)))
CORNERS = len(_ENDS)
_CYANURATE_PER_ALKALINITY = 2.2
"""mg/L of cyanurate that a mg/L of alkalinity can belong to at most (0.39 each, less a little carbonate)."""
_GRID = 13
_SLACK = np.array([0.01, 0.01, 0.2, 0.2, 0.01, 0.01])
"""What still counts as not farther, for the six excesses: less than the computation itself can tell from the field."""


def _golden(dimensions: int) -> Array:
    """Steps of an even additive sequence in so many dimensions (Kronecker sequence of the generalised golden ratio)."""
    root = 2.0
    for _ in range(30):
        root = (1.0 + root) ** (1.0 / (dimensions + 1))
    return np.array([root ** -(i + 1) for i in range(dimensions)])


_SHARES = np.vstack([_ENDS, np.mod(0.5 + np.arange(1, _INNER + 1)[:, None] * _golden(4), 1.0)])
_PARITY = np.concatenate([np.mod(_ENDS.sum(axis=1), 2.0), _SHARES[CORNERS:, 0]])


def _over(interval: Interval, shares: Array) -> Array:
    return np.concatenate([[interval.likely], interval.low + shares * (interval.high - interval.low)])


def _totals(water: Mapping[str, Interval]) -> Totals:
    """mol/kg of every water of the region; chloride is rebuilt from the dissolved solids."""
    ta, ch, cya = (_over(water[key], _SHARES[:, at]) for key, at in (("ta", 1), ("ch", 2), ("cya", 3)))
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
        solved = solve(totals, "ph", _over(water["ph"], _SHARES[:, 0]))
        region = cls(totals._replace(chloride=solved.chloride, solids=None), solved.dic, solved.ln_proton)
        region.__dict__["solved"] = solved
        return region

    @cached_property
    def solved(self) -> Equilibrium:
        """The equilibrium of every water at its DIC."""
        return solve(self.totals, "dic", self.total_dic, self.start)

    @property
    def ph(self) -> Array:
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
        return self._rows(slice(0, 1))

    def _rows(self, rows: slice) -> Region:
        totals = _each(self.totals, lambda part: part[rows])
        start = self.solved.ln_proton if "solved" in self.__dict__ else self.start
        region = Region(totals, self.total_dic[rows], None if start is None else start[rows])
        if "solved" in self.__dict__:
            region.__dict__["solved"] = Equilibrium(*(part[rows] for part in self.solved))
        return region

    def share(self, where: NDArray[np.bool_]) -> float:
        """How much of the region lies where the mask says, by the inner waters."""
        return float(np.mean(where[1 + CORNERS :]))

    def dosed(self, dose: Effect, *, bromine: bool = False) -> Region:
        """The region after a dose in mg/L, closed to the air; in a bromine tub every oxidant frees bromine."""
        return self._after(dose, np.ones(1), bromine=bromine)

    def _after(self, dose: Effect, shares: Array, *, bromine: bool) -> Region:
        brings = dose.fresh
        if bromine:
            freed = brings.chlorine + dose.oxygen
            brings = brings._replace(
                chlorine=0.0, bromine=brings.bromine + freed, chloride=brings.chloride + brings.chlorine
            )
        return Region(_moved(self.totals, brings, shares), self.total_dic + shares * brings.dic / 1000.0, self._guess)

    @property
    def _guess(self) -> Array | None:
        return self.solved.ln_proton if "solved" in self.__dict__ else self.start

    def dic_at(self, *, ph: float, alkalinity: float) -> float:
        """mmol/L of DIC that the most likely water would hold at another pH and alkalinity."""
        one = self.likely.totals._replace(alkalinity=np.array([alkalinity / CACO3_PER_EQUIVALENT / 1000.0]))
        return float(solve(one, "ph", np.array([ph])).dic[0]) * 1000.0

    def amount_to_ph(self, each: Effect, ph: float, most: float = 400.0) -> float:
        """How many times a dose takes the most likely water to a pH; 0 where it is there or beyond, at most `most`.

        Two grids and a line between their points: the pH curve is smooth and monotone in the dose.
        """
        one, low, high = self.likely, 0.0, most
        rising = each.alkalinity > 0
        if (float(one.ph[0]) >= ph) == rising:
            return 0.0
        for _ in range(2):
            amounts = np.linspace(low, high, 4 * _GRID)
            found = one._after(each, amounts, bromine=False).ph
            past = found >= ph if rising else found <= ph
            if not past.any():
                return high
            at = max(1, int(np.argmax(past)))
            low, high = float(amounts[at - 1]), float(amounts[at])
        at_low, at_high = found[at - 1], found[at]
        return low + (high - low) * float((ph - at_low) / (at_high - at_low))

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

    def safe_share(self, dose: Effect, before: Region, limits: Limits, most: float, *, bromine: bool = False) -> float:
        """The greatest share of a dose (up to `most`) that takes no corner farther beyond a bound than it was `before`.

        An oxidant's own alkalinity, which it takes back as it is used up, does not count.
        """
        corners, allowed = self._rows(slice(0, 1 + CORNERS)), before._rows(slice(0, 1 + CORNERS)).excess(limits)
        low, high = 0.0, most
        if most <= 0 or corners._fits(dose, np.array([most]), allowed, limits, bromine=bromine)[0]:
            return max(0.0, most)
        for _ in range(2):
            shares = np.linspace(low, high, _GRID)
            fits = corners._fits(dose, shares, allowed, limits, bromine=bromine)
            fits[0] = True
            at = int(np.argmin(fits)) if not fits.all() else _GRID - 1
            low, high = float(shares[max(0, at - 1)]), float(shares[at])
        return low

    def _fits(self, dose: Effect, shares: Array, allowed: Array, limits: Limits, *, bromine: bool) -> NDArray[np.bool_]:
        amounts = np.repeat(shares, self.total_dic.size)
        many = self._repeated(len(shares))._after(dose, amounts, bromine=bromine)
        given_back = amounts * max(0.0, dose.alkalinity - dose.alkalinity_spent)
        beyond = many.excess(limits, given_back).reshape(len(_SLACK), len(shares), -1)
        fits: NDArray[np.bool_] = np.all(beyond <= allowed[:, None, :] + _SLACK[:, None, None], axis=(0, 2))
        return fits

    def _repeated(self, times: int) -> Region:
        totals = _each(self.totals, lambda part: np.tile(part, times))
        guess = self._guess
        return Region(totals, np.tile(self.total_dic, times), None if guess is None else np.tile(guess, times))

    def aired(self, hours: float, limits: Limits) -> Region:
        """The region after jets with air: excess carbon dioxide falls by rate.

        The most likely water as in a usual tub, waters of lower pH as in a slow one, of higher pH as in a fast one.
        """
        slow, usual, fast = limits.air_rate
        rate = np.where(self.ph < self.ph[0], slow, fast)
        rate[0] = usual
        left = AIR_PRESSURE + (self.pco2 - AIR_PRESSURE) * np.exp(-rate * hours)
        solved = solve(self.totals, "pco2", np.minimum(left, self.pco2), self.solved.ln_proton)
        region = Region(self.totals, solved.dic, solved.ln_proton)
        region.__dict__["solved"] = solved
        return region

    def air_minutes_to_ph(self, ph: float, before: Region, limits: Limits) -> int:
        """Minutes of jets with air that bring the most likely water to a pH, less where a fast tub would overshoot.

        At constant alkalinity the pressure of carbon dioxide falls tenfold per unit of pH.
        """
        now, shortest, longest = float(self.pco2[0]), *limits.air_minutes
        wanted = now * 10.0 ** (float(self.ph[0]) - ph)
        if wanted >= now or wanted <= AIR_PRESSURE:
            return 0
        hours = -np.log((wanted - AIR_PRESSURE) / (now - AIR_PRESSURE)) / limits.air_rate[1]
        minutes = int(min(longest, max(shortest, round(hours * 6.0) * 10)))
        allowed = before.excess(limits)[1] + 0.01
        while minutes > shortest and np.any(self.aired(minutes / 60.0, limits).excess(limits)[1] > allowed):
            minutes = max(shortest, minutes // 20 * 10)
        return minutes

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


def _each(totals: Totals, change: Callable[[Array], Array]) -> Totals:
    return Totals(*(part if part is None else change(part) for part in totals))  # type: ignore[arg-type]


def _moved(totals: Totals, brings: Brings, shares: Array) -> Totals:
    def plus(part: Array, more: float) -> Array:
        return part + shares * (more / 1000.0)

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
    solved = solve(region.totals, "pco2", np.full_like(region.total_dic, AIR_PRESSURE), region.start)
    return float(np.max(-solved.ln_proton / LN10))


def hocl_at_worst(free_chlorine: float, cyanuric_acid: float, ph: float, temperature: float) -> float:
    """mg/L of HOCl (as Cl2) by the less favourable of the conventions for the cyanurate constants.

    They were measured up to 35 degC; at 38 degC the published temperature laws leave a factor of about 1.7 open, and
    the constants of 25 degC are the unfavourable end.
    """
    of = {**_BARE, "cya": Interval(cyanuric_acid, cyanuric_acid), "fc": Interval(free_chlorine, free_chlorine)}
    totals = _totals(of)
    both = _each(totals, lambda part: part[:2])._replace(kelvin=np.array([25.0, temperature]) + ZERO_CELSIUS)
    return float(solve(both, "ph", np.array([ph, ph])).hocl.min()) * CL2 * 1000.0


_BARE = {"ta": Interval(400.0, 400.0), "ch": Interval(100.0, 100.0), "borate": Interval(0.0, 0.0),
         "br": Interval(0.0, 0.0), "tds": Interval(800.0, 800.0)}  # fmt: skip
