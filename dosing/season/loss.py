"""How fast a tub uses up its sanitizer: at rest, and by bathers.

What is in the water is what was there, less a share a day and less what bathers brought, plus what was poured. The two
rates stand on a grid; at each point of it the level is a Gaussian (a Rao-Blackwellised grid: what is linear is carried
exactly, only the rest is enumerated). A level below nil is a debt: what bathers left and no sanitizer has met yet.
What has just met stays readable for some hours, so that a test soon after a soak reads more than will be left.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from dosing.arrays import Array
from dosing.season.censored import ODD, normal, seen
from dosing.season.priors import DEBT, DEMAND, DOSE, Prior

RATES, DEMANDS = 11, 7
_REACH = 2.2
"""So many spreads does the grid reach to either side."""
_FORGETS = 1.0 / 90.0
"""A day: so fast the grid drifts back to what is believed of any tub, since seasons and filters change a tub."""
_UNSAID = 0.08
"""Share of the level by which a day may differ from the tub's own loss."""
_SILENT, _SILENT_DAYS = 0.5, 2.0
"""mg/L that somebody may have poured for each day of a longer silence of the journal than so many days."""
VIGOUR = 0.35
"""Share by which a soak may take more or less than the usual."""
_UNSEEN_A_DAY, _UNSEEN_DAYS = 0.015, 7.0
"""Chance a day, over so many days at most, that many bathed and nobody told (common practice): a tenth of the soaks of
a household, of which most are small enough to pass for a day's loss.
"""
_UNSEEN_HOURS = (3.5, 2.5)
"""Mean and standard deviation of the bather-hours of such a soak."""
_MEETS_HOURS = 2.5
"""Time in which sanitizer uses up what bathers left but for a third (e-folding; common practice)."""
_UNMET = 0.3
"""Standard deviation of what is still to meet, as a share of it."""
_START = (4.0, 4.0)
_DEEPEST, _HIGHEST, _FINENESS = 120.0, 40.0, 0.003
"""mg/L between which shares of the level are looked for, and how exactly."""
_SPAN = 12.0
"""mg/L over which odd readings fall."""


@dataclass(frozen=True, slots=True)
class Level:
    """Belief of the sanitizer of many tubs: arrays (tubs, points); `weight` sums to 1 over a tub's points."""

    rate: Array
    """A day, (tubs, points)."""
    demand: Array
    """mg/L for a bather-hour, (tubs, points)."""
    prior: Array
    weight: Array
    mean: Array
    variance: Array
    meets: Array
    """mg/L that a test still finds although what bathers left will use it up, (tubs, points)."""
    unread: Array
    """Days since the last reading, (tubs, points)."""

    def after(self, days: Array) -> Level:
        """So many days (tubs,) later, nobody bathing and nothing added."""
        days = days[:, None]
        kept = np.where(self.mean > 0.0, np.exp(-self.rate * days), np.exp(-DEBT * days))
        wander = (_UNSAID * np.maximum(self.mean, 0.3)) ** 2 * np.minimum(days, 3.0)
        untold = np.clip(_SILENT * (days - _SILENT_DAYS), 0.0, _START[1]) ** 2
        fade = np.exp(-_FORGETS * days)
        weight = self.weight**fade * self.prior ** (1.0 - fade)
        meets = self.meets * np.exp(-24.0 * days / _MEETS_HOURS)
        variance = self.variance * kept**2 + wander * kept + untold
        return replace(self._with(_normed(weight), self.mean * kept, variance, meets), unread=self.unread + days)

    def bathed(self, hours: Array) -> Level:
        """After so many bather-hours (tubs,)."""
        used = self.demand * hours[:, None]
        meets = np.minimum(self._free, self._left + used)
        return self._with(self.weight, self.mean - used, self.variance + (VIGOUR * used) ** 2, meets)

    def dosed(self, added: Array, oxidiser: Array | None = None) -> Level:
        """After so many mg/L (tubs,) of sanitizer, and of an oxidiser that only takes what bathers left."""
        mean = self.mean if oxidiser is None else np.where(
            self.mean < 0.0, np.minimum(self.mean + oxidiser[:, None], 0.0), self.mean
        )  # fmt: skip
        left = np.maximum(self._left - (0.0 if oxidiser is None else oxidiser[:, None]), 0.0)
        meets = np.minimum(self._free + added[:, None], left)
        return self._with(self.weight, mean + added[:, None], self.variance + (DOSE * added[:, None]) ** 2, meets)

    def renewed(self, share: Array) -> Level:
        """After so great a share (tubs,) of the water was changed for water without sanitizer."""
        kept = 1.0 - share[:, None]
        variance = self.variance * kept**2 + 0.01 * share[:, None]
        return self._with(self.weight, self.mean * kept, variance, self.meets * kept)

    def read(self, low: Array, high: Array, blur: Array) -> Level:
        """After a reading (tubs,); nan where there is none. What is still to meet is taken off; a reading that this
        alone explains sets no least. Either nobody bathed of whom nothing is known, or somebody did: where a reading
        is far too low for the first, it is not the loss at rest that has to explain it.
        """
        there = (np.isfinite(blur) & ~np.isnan(low))[:, None]
        if not there.any():
            return self
        least = low[:, None] - self.meets
        least = np.where((least <= 0.0) & (self.meets > 0.1), -np.inf, least)
        most = np.maximum(high[:, None] - self.meets, 0.0)
        blurred = np.hypot(blur[:, None], _UNMET * self.meets)
        hours, spread = _UNSEEN_HOURS
        told = _read(self.mean, self.variance, least, most, blurred)
        more = _read(
            self.mean - self.demand * hours, self.variance + (self.demand * spread) ** 2, least, most, blurred, odd=0.0
        )
        share = _UNSEEN_A_DAY * np.minimum(self.unread, _UNSEEN_DAYS)
        chance = (1.0 - share) * told.chance + share * more.chance
        share = share * more.chance / chance
        mean = told.mean + share * (more.mean - told.mean)
        apart = share * (1.0 - share) * (more.mean - told.mean) ** 2
        variance = (1.0 - share) * told.variance + share * more.variance + apart
        return Level(
            self.rate,
            self.demand,
            self.prior,
            np.where(there, _normed(self.weight * chance), self.weight),
            np.where(there, mean, self.mean),
            np.where(there, variance, self.variance),
            self.meets,
            np.where(there, 0.0, self.unread),
        )

    @property
    def _free(self) -> Array:
        """What a test finds, mg/L."""
        return np.maximum(self.mean, 0.0) + self.meets

    @property
    def _left(self) -> Array:
        """What bathers left and is not used up, mg/L."""
        return np.maximum(-self.mean, 0.0) + self.meets

    def _with(self, weight: Array, mean: Array, variance: Array, meets: Array) -> Level:
        return replace(self, weight=weight, mean=mean, variance=variance, meets=meets)

    def levels(self, shares: Array, least: float = -_DEEPEST) -> Array:
        """Where each of these shares of the level lies, mg/L but not below `least`: arrays (shares, tubs)."""
        root = np.sqrt(self.variance)
        low = np.full((shares.size, self.mean.shape[0]), least)
        high = np.full_like(low, _HIGHEST)
        for _ in range(round(np.log2((_HIGHEST - least) / _FINENESS))):
            half = 0.5 * (low + high)
            under = np.sum(self.weight * normal((half[..., None] - self.mean) / root), axis=2) < shares[:, None]
            low, high = np.where(under, half, low), np.where(under, high, half)
        middle: Array = 0.5 * (low + high)
        return middle

    def rates(self, share: float) -> Array:
        """The loss rate a day (tubs,) below which its chance is this share."""
        weight = self.weight.reshape(-1, RATES, DEMANDS).sum(axis=2)
        return quantile(weight, self.rate.reshape(-1, RATES, DEMANDS)[:, :, 0], share)

    def demands(self, share: float) -> Array:
        """The same of the demand, mg/L for a bather-hour (tubs,)."""
        weight = self.weight.reshape(-1, RATES, DEMANDS).sum(axis=1)
        return quantile(weight, self.demand.reshape(-1, RATES, DEMANDS)[:, 0, :], share)

    def likely(self) -> Array:
        """The mean level (tubs,), a debt counting as nil."""
        result: Array = np.sum(self.weight * np.maximum(self.mean, 0.0), axis=1)
        return result

    def one(self, at: int) -> Level:
        """Of one tub."""
        return self.rows(slice(at, at + 1))

    def rows(self, which: slice) -> Level:
        """Some of the tubs."""
        return Level(*(getattr(self, name)[which] for name in self.__slots__))


class _Read(NamedTuple):
    mean: Array
    variance: Array
    chance: Array


def _read(mean: Array, variance: Array, least: Array, most: Array, blur: Array, odd: float = ODD) -> _Read:
    """Levels of such a belief after a reading between these bounds."""
    what = seen(mean, variance, least, most, blur, _SPAN, odd)
    narrowed = np.maximum(variance + variance**2 * what.curve, 1e-4) + what.doubt
    return _Read(mean + variance * what.shift, narrowed, what.chance)


def quantile(weight: Array, value: Array, share: float) -> Array:
    """Where a share of the weight lies on a rising grid (tubs, points), between its points by their logarithm."""
    upto = np.cumsum(weight, axis=1) - 0.5 * weight
    logs = np.log(value)
    at = np.clip(np.sum(upto < share, axis=1), 1, value.shape[1] - 1)[:, None]
    low, high = (np.take_along_axis(upto, at - back, axis=1)[:, 0] for back in (1, 0))
    first, second = (np.take_along_axis(logs, at - back, axis=1)[:, 0] for back in (1, 0))
    part = np.clip((share - low) / np.maximum(high - low, 1e-12), 0.0, 1.0)
    result: Array = np.exp(first + part * (second - first))
    return result


def _normed(weight: Array) -> Array:
    result: Array = weight / np.sum(weight, axis=1, keepdims=True)
    return result


def before(loss: list[Prior], volume: Array, factor: Array) -> Level:
    """What is believed of tubs before anything is read: `volume` in litres, `factor` mg of sanitizer a mg of Cl2."""
    nodes = np.linspace(-_REACH, _REACH, RATES)
    others = np.linspace(-_REACH, _REACH, DEMANDS)
    z, y = (part.ravel() for part in np.meshgrid(nodes, others, indexing="ij"))
    chance = np.exp(-0.5 * (z * z + y * y))
    median = np.array([prior.median for prior in loss])[:, None]
    spread = np.array([prior.spread for prior in loss])[:, None]
    rate = median * np.exp(spread * z)
    demand = DEMAND.median * np.exp(DEMAND.spread * y) * factor[:, None] * 1000.0 / volume[:, None]
    prior = np.broadcast_to(chance / chance.sum(), rate.shape)
    nil = np.zeros(rate.shape)
    return Level(rate, demand, prior, prior, nil + _START[0], nil + _START[1] ** 2, nil, nil)
