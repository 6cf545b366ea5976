"""The routine between tests as mg/L: how much after a soak, and how much after how many days without one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from dosing.arrays import Array
from dosing.season.loss import Level
from dosing.season.tub import Tub

_MOST_IDLE = 4
_SPARE_DAYS = 0.7
"""Until the noon after an evening on which the dose was forgotten there is to be enough."""
_SPARE = 1.07
"""Above the least, since doses and volumes err."""
_BATHING = 1.1
"""Of the most for bathing, a day after a dose."""
_NEAR_TOP = 0.92
"""Of the bound, as the level that a dose may aim at."""


@dataclass(frozen=True, slots=True)
class Routine:
    """mg/L, arrays (tubs,); `idle` after `days` without an addition, `each_soak` and so much for a bather-hour more."""

    days: Array
    idle: Array
    each_soak: Array
    each_bather_hour: Array
    peak: Array
    """What the water holds after a dose of the routine."""

    def one(self, at: int) -> Routine:
        """Of one tub."""
        return Routine(*(getattr(self, name)[at : at + 1] for name in self.__slots__))


def routine(tubs: Sequence[Tub], level: Level) -> Routine:
    """What keeps these tubs in range, as far as their loss is known."""
    bounds = [_bounds(tub) for tub in tubs]
    least, bathing, top = (np.array(part) for part in zip(*bounds, strict=True))
    slow, rate, demand = level.rates(0.1), level.rates(0.5), level.demands(0.5)
    peak = np.minimum(_BATHING * bathing * np.exp(rate), _NEAR_TOP * top)
    days = np.ones_like(rate)
    for tried in range(2, _MOST_IDLE + 1):
        days = np.where(_SPARE * least * np.exp(rate * (tried + _SPARE_DAYS)) <= peak, tried, days)
    swing = rate * days
    idle = np.minimum(peak * (1.0 - np.exp(-swing)), top * (1.0 - np.exp(-slow * days)))
    gap = (days + 1.0) / 2.0
    return Routine(days, idle, idle * (1.0 - np.exp(-rate * gap)) / (1.0 - np.exp(-swing)), demand, peak)


def _bounds(tub: Tub) -> tuple[float, float, float]:
    """mg/L: the least, the most for bathing, and the bound."""
    limits = tub.limits
    if tub.key == "br":
        return limits.bromine_fine[0], limits.bromine_bathing[1], limits.bromine_bound
    return limits.chlorine_fine[0], limits.chlorine_bathing[1], limits.chlorine_bound
