"""The routine between tests as mg/L: how much after a soak, and how much after how many days without one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from dosing.arrays import Array
from dosing.season.loss import Level
from dosing.season.tub import Tub

CENTRE = {"fc": 5.2, "br": 5.8}
"""mg/L that the highs and lows of the routine lie around, as a product: 3 to 10 (bromine 4 to 10) with room on each
side, and near enough to 5 that a test finds it there."""
_MOST_IDLE = 4
_SWING = 0.55
"""As a logarithm: what a longer wait than a day may cost."""
_FORGOTTEN = 1.5
"""mg/L that should be left where one dose was forgotten."""


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
    centre = np.array([CENTRE[tub.key] for tub in tubs])
    top = np.array([tub.limits.bromine_bound if tub.key == "br" else tub.limits.chlorine_bound for tub in tubs])
    slow, rate, demand = level.rates(0.1), level.rates(0.5), level.demands(0.5)
    days = np.ones_like(rate)
    for tried in range(2, _MOST_IDLE + 1):
        swing = rate * tried
        fits = (swing <= _SWING) & (centre * np.exp(swing / 2.0 - 2.0 * swing) >= _FORGOTTEN)
        days = np.where(fits, tried, days)
    swing = rate * days
    peak = np.minimum(centre * np.exp(swing / 2.0), 0.92 * top)
    idle = peak * (1.0 - np.exp(-swing))
    idle = np.minimum(idle, top * (1.0 - np.exp(-slow * days)))
    gap = (days + 1.0) / 2.0
    return Routine(days, idle, idle * (1.0 - np.exp(-rate * gap)) / (1.0 - np.exp(-swing)), demand, peak)
