"""How a tub's pH and alkalinity move by themselves, and what its strips read off.

An extended Kalman filter over six numbers of each tub: alkalinity with its oxidant used up, pH, what the pH pad of the
bottle in use reads too high, how alkalinity drifts a day, and the two rates (as logarithms) at which carbon dioxide
leaves, with jets and at rest. The water moves by `dosing.season.plane`; its slopes are taken by differences.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dosing.arrays import Array
from dosing.season.censored import ODD, SELDOM, seen
from dosing.season.plane import Acids, Plane
from dosing.season.priors import AIR, ALKALINITY_PAD, DOSE, OFFSET, REST
from dosing.substances import CACO3_PER_EQUIVALENT

ALKALINITY, PH, PAD, CREEP, JETS, RESTS = range(6)
_SIZE = 6
_DOSE = 6
"""The seventh difference is that of a dose a seventh too great."""
_NUDGES = np.array([2.0, 0.05, 0.05, 0.2, 0.2, 0.2])
_WARMED = -0.15
"""pH of tap water as it warms to bathing temperature (dosing.heat over taps)."""
_START = {ALKALINITY: (90.0, 40.0), PH: (7.5, 0.35), PAD: (0.0, OFFSET), CREEP: (0.0, 0.5),
          JETS: (np.log(AIR.median), AIR.spread), RESTS: (np.log(REST.median), REST.spread)}  # fmt: skip
_FILLED = 0.3
"""Standard deviation of a fill's pH."""
# Standard deviations of what is not modelled: mg/L and pH over a day's root, pH in a soak, and a slow change of rates.
_WANDERS = {ALKALINITY: 1.5, PH: 0.03, PAD: 0.0, CREEP: 0.05, JETS: 0.02, RESTS: 0.02}
_NEAREST = {ALKALINITY: 2.0, PH: 0.01}
"""mg/L and pH: nearer none is known (an assumption), least of all at the ends of what water can have."""
_SOAKED = 0.03
_SPANS = {ALKALINITY: 200.0, PH: 2.0}
"""mg/L and pH over which odd readings fall."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """What happens to tubs between two looks, arrays (tubs,): time and jets, then what goes in. `oxidant` in mg/L is
    what is there at the beginning, after the time, and after the doses.
    """

    days: Array
    jets: Array
    oxidant: tuple[Array, Array, Array]
    alkalinity: Array
    dic: Array
    cyanurate: Array
    borate: Array
    splash: Array
    source_ta: Array


@dataclass(frozen=True, slots=True)
class Balance:
    """Belief of many tubs: `mean` (tubs, 6), `spread` the covariance (tubs, 6, 6); per-tub constants beside it."""

    plane: Plane
    per_oxidant: Array
    """mg/L of alkalinity that a mg/L of oxidant takes as it is used up, (tubs,)."""
    oxidant_mass: Array
    """g/mol, (tubs,)."""
    mean: Array
    spread: Array

    def after(self, what: Stretch) -> Balance:
        """The belief after a stretch."""
        bent = self._moved(what)
        base = bent[:, 0]
        slopes = np.zeros_like(self.spread)
        slopes[:, :2, :] = np.swapaxes((bent[:, 1 : _SIZE + 1] - base[:, None]) / _NUDGES[:, None], 1, 2)
        for same in (PAD, CREEP, JETS, RESTS):
            slopes[:, same, same] = 1.0
        mean = self.mean.copy()
        mean[:, :2] = base
        spread = slopes @ self.spread @ np.swapaxes(slopes, 1, 2)
        off = bent[:, _DOSE + 1] - base
        spread[:, :2, :2] += off[:, :, None] * off[:, None, :]
        for at, wander in _WANDERS.items():
            spread[:, at, at] += wander**2 * what.days
        spread[:, PH, PH] += np.where(what.jets > 0, _SOAKED**2, 0.0)
        for at, nearest in _NEAREST.items():
            spread[:, at, at] = np.maximum(spread[:, at, at], nearest**2)
        return self._with(mean, spread)

    def _moved(self, what: Stretch) -> Array:
        """Alkalinity and pH after a stretch: as believed, with each number nudged, and with the doses too great."""
        tried = np.repeat(self.mean[:, None, :], _SIZE + 2, axis=1)
        tried[:, np.arange(1, _SIZE + 1), np.arange(_SIZE)] += _NUDGES
        dosed = np.ones(_SIZE + 2)
        dosed[_DOSE + 1] += DOSE

        def wide(array: Array) -> Array:
            return array[:, None]

        plane = self.plane.rows(slice(None), 1)
        at_first, in_between, at_last = (wide(part) for part in what.oxidant)
        per, mass, days = wide(self.per_oxidant), wide(self.oxidant_mass), wide(what.days)

        def acids(oxidant: Array) -> Acids:
            return Acids(np.maximum(oxidant, 0.0) / mass, wide(what.cyanurate), wide(what.borate))

        alkalinity, ph = tried[..., ALKALINITY], np.clip(tried[..., PH], 5.5, 9.5)
        dic, _ = plane.carbon(ph, alkalinity + per * at_first, acids(at_first))
        crept = tried[..., CREEP] * days + (wide(what.source_ta) - alkalinity) * wide(what.splash)
        alkalinity = np.maximum(alkalinity + crept, 5.0)
        held = acids(in_between)
        ph = plane.ph_closed(ph, alkalinity + per * in_between, dic + crept / CACO3_PER_EQUIVALENT, held)
        lost = np.exp(tried[..., JETS]) * wide(what.jets) + np.exp(tried[..., RESTS]) * days
        ph = plane.aired(ph, alkalinity + per * in_between, lost, held)
        if what.alkalinity.any() or what.dic.any() or (what.oxidant[2] != what.oxidant[1]).any():
            dic, _ = plane.carbon(ph, alkalinity + per * in_between, held)
            alkalinity = np.maximum(alkalinity + wide(what.alkalinity) * dosed, 5.0)
            ph = plane.ph_closed(ph, alkalinity + per * at_last, dic + wide(what.dic) * dosed, acids(at_last))
        return np.stack([alkalinity, ph], axis=2)

    def filled(self, share: Array, ph: Array, alkalinity: Array, unsure: Array) -> Balance:
        """After so great a share (tubs,) of the water was changed for tap water of such a pH and alkalinity, that known
        to a standard deviation of `unsure` mg/L; what is learned of the tub stays.
        """
        new = share > 0
        if not new.any():
            return self
        mean, spread = self.mean.copy(), self.spread.copy()
        keep = np.ones((share.size, _SIZE))
        keep[new, :2] = (1.0 - share[new])[:, None]
        mean[new, ALKALINITY] += share[new] * (alkalinity[new] - mean[new, ALKALINITY])
        mean[new, PH] += share[new] * (ph[new] + _WARMED - mean[new, PH])
        spread *= keep[:, :, None] * keep[:, None, :]
        spread[new, ALKALINITY, ALKALINITY] += (share[new] * unsure[new]) ** 2
        spread[new, PH, PH] += (share[new] * _FILLED) ** 2
        return self._with(mean, spread)

    def opened(self, bottle: Array) -> Balance:
        """After a new bottle of strips was opened where `bottle` is 1: what the old one was off is forgotten."""
        if not bottle.any():
            return self
        kept = np.ones_like(self.mean)
        kept[:, PAD] = 1.0 - bottle
        spread = self.spread * kept[:, :, None] * kept[:, None, :]
        spread[:, PAD, PAD] += bottle * OFFSET**2
        return self._with(self.mean * kept, spread)

    def read_ph(self, low: Array, high: Array, blur: Array, strip: Array) -> Balance:
        """After a reading of pH (tubs,), nan where there is none; by a strip where `strip` is 1."""
        seen_by = np.zeros_like(self.mean)
        seen_by[:, PH] = 1.0
        seen_by[:, PAD] = strip
        return self._read(seen_by, np.zeros_like(low), low, high, blur, PH, strip)

    def read_alkalinity(self, low: Array, high: Array, blur: Array, strip: Array, oxidant: Array) -> Balance:
        """After a reading of total alkalinity (tubs,) in water that holds so much oxidant."""
        seen_by = np.zeros_like(self.mean)
        seen_by[:, ALKALINITY] = 1.0
        off = np.where(strip > 0, ALKALINITY_PAD * self.mean[:, ALKALINITY], 0.0)
        return self._read(seen_by, self.per_oxidant * oxidant, low, high, np.hypot(blur, off), ALKALINITY, strip)

    def _read(
        self, seen_by: Array, plus: Array, low: Array, high: Array, blur: Array, which: int, strip: Array
    ) -> Balance:
        there = ~np.isnan(low)
        if not there.any():
            return self
        along = np.einsum("nij,nj->ni", self.spread, seen_by)
        mean = np.einsum("ni,ni->n", self.mean, seen_by) + plus
        variance = np.maximum(np.einsum("ni,ni->n", along, seen_by), 1e-9)
        what = seen(mean, variance, low, high, blur, _SPANS[which], np.where(strip > 0, ODD, SELDOM))
        moved = self.mean + what.shift[:, None] * along
        narrowed = self.spread + what.curve[:, None, None] * along[:, :, None] * along[:, None, :]
        narrowed[:, which, which] += what.doubt
        return self._with(
            np.where(there[:, None], moved, self.mean), np.where(there[:, None, None], narrowed, self.spread)
        )

    def acidified(self, equivalents: Array, oxidant: Array, cyanurate: Array, borate: Array) -> Array:
        """The pH (tubs,) after acid of so many mg/L as CaCO3."""
        ph, alkalinity = self.mean[:, PH], self.mean[:, ALKALINITY]
        held = Acids(np.maximum(oxidant, 0.0) / self.oxidant_mass, cyanurate, borate)
        total = alkalinity + self.per_oxidant * oxidant
        dic, _ = self.plane.carbon(ph, total, held)
        return self.plane.ph_closed(ph, total - equivalents, dic, held)

    def lift(self, oxidant: Array, usual: Array, cyanurate: Array, borate: Array) -> Array:
        """What pH stands higher (tubs,) while there is so much oxidant than with the usual: its base lasts as long as
        it does (OCl- + H2O = HOCl + OH-, and an equivalent of acid for each mole that is used up).
        """
        ph, alkalinity = self.mean[:, PH], self.mean[:, ALKALINITY]

        def acids(amount: Array) -> Acids:
            return Acids(np.maximum(amount, 0.0) / self.oxidant_mass, cyanurate, borate)

        dic, _ = self.plane.carbon(ph, alkalinity + self.per_oxidant * oxidant, acids(oxidant))
        return ph - self.plane.ph_closed(ph, alkalinity + self.per_oxidant * usual, dic, acids(usual))

    def one(self, at: int) -> Balance:
        """Of one tub."""
        only = slice(at, at + 1)
        plane = self.plane.rows(only, 0)
        return Balance(plane, self.per_oxidant[only], self.oxidant_mass[only], self.mean[only], self.spread[only])

    def _with(self, mean: Array, spread: Array) -> Balance:
        return Balance(self.plane, self.per_oxidant, self.oxidant_mass, mean, spread)


def before(plane: Plane, oxidant_mass: Array, creep: Array) -> Balance:
    """What is believed of tubs before anything is read; `oxidant_mass` g/mol of Cl2 or Br2, `creep` mg/L of alkalinity
    that the top-up brings a day, (tubs,).
    """
    mean = np.tile([_START[at][0] for at in range(_SIZE)], (oxidant_mass.size, 1))
    mean[:, CREEP] = creep
    spread = np.tile(np.diag([_START[at][1] ** 2 for at in range(_SIZE)]), (oxidant_mass.size, 1, 1))
    return Balance(plane, CACO3_PER_EQUIVALENT / oxidant_mass, oxidant_mass, mean, spread)
