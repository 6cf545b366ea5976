"""How often a household bathes, by its journal and by what it said."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from dosing.arrays import Array
from dosing.season.priors import SPLASH, UNTOLD
from dosing.season.timeline import Timeline
from dosing.season.tub import Tub

_HALF_LIFE_DAYS = 30.0
_PRIOR_DAYS = 10.0
"""So many days of a journal count as much as what the owner said."""
# What is taken of a household that said nothing (common practice).
_VISITS_A_WEEK, _BATHERS, _HOURS = 5.0, 2.0, 0.6


@dataclass(frozen=True, slots=True)
class Habits:
    """Expected bathing, arrays (tubs,): soaks a day, and of one the bathers, bather-hours, the mean of its square, and
    hours of jets.
    """

    soaks: Array
    bathers: Array
    bather_hours: Array
    bather_hours_squared: Array
    jets: Array

    @property
    def bather_hours_a_day(self) -> Array:
        """Expected."""
        result: Array = self.soaks * self.bather_hours
        return result

    def one(self, at: int) -> Habits:
        """Of one tub."""
        return Habits(*(getattr(self, name)[at : at + 1] for name in self.__slots__))


def habits(tubs: Sequence[Tub], line: Timeline) -> Habits:
    """What each household does, recent weeks counting more."""
    weight = np.exp2(-line.ago / 24.0 / _HALF_LIFE_DAYS) * (line.bather_hours > 0)
    first = line.ago[:, 0] / 24.0
    seen_days = _HALF_LIFE_DAYS / np.log(2.0) * (1.0 - np.exp2(-first / _HALF_LIFE_DAYS))
    visits = np.array([tub.bathers_a_week or _VISITS_A_WEEK for tub in tubs])
    said = visits / _BATHERS / 7.0
    soaks = (weight.sum(axis=1) / (1.0 - UNTOLD) + said * _PRIOR_DAYS) / (seen_days + _PRIOR_DAYS)
    count = weight.sum(axis=1) + 2.0
    hours = _BATHERS * _HOURS

    def mean(of: Array, usual: float) -> Array:
        result: Array = ((weight * of).sum(axis=1) + 2.0 * usual) / count
        return result

    bathers = line.splash * np.array([tub.volume / SPLASH for tub in tubs])[:, None]
    return Habits(
        soaks,
        mean(bathers, _BATHERS),
        mean(line.bather_hours, hours),
        mean(line.bather_hours**2, 1.5 * hours**2),
        mean(line.jets, _HOURS),
    )
