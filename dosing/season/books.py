"""What stays in the water until it is changed: cyanurate, dissolved solids, hardness and borate, by the books.

What goes in stays, but for what bathers splash out; what evaporates leaves its minerals, and the top-up brings the tap's.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dosing.arrays import Array
from dosing.season.priors import DOSE, EVAPORATION
from dosing.season.timeline import Timeline

KEPT = ("cya", "solids", "hardness", "borate")


@dataclass(frozen=True, slots=True)
class Ledgers:
    """mg/L of each of KEPT (solids over what the fill water held), (tubs, events, 4), and the variance at the end."""

    course: Array
    variance: Array
    filled: Array
    """Hours since the last whole fill, nan where none is known, (tubs,)."""

    @property
    def now(self) -> Array:
        """(tubs, 4)."""
        return self.course[:, -1]

    def one(self, at: int) -> Ledgers:
        """Of one tub."""
        return Ledgers(self.course[at : at + 1], self.variance[at : at + 1], self.filled[at : at + 1])


def booked(line: Timeline) -> Ledgers:
    """Sum the journals up."""
    tubs, events = line.days.shape
    tap = np.stack([np.zeros(tubs), np.zeros(tubs), line.home[:, 1], np.zeros(tubs)], axis=1)
    thicker = np.stack([np.zeros(tubs), line.home[:, 2], line.home[:, 1], np.zeros(tubs)], axis=1) * EVAPORATION
    state, variance = tap.copy(), np.zeros_like(tap)
    variance[:, 2] = (0.25 * tap[:, 2]) ** 2
    course = np.empty((tubs, events, len(KEPT)))
    filled = np.full(tubs, np.nan)
    for at in range(events):
        out = line.fresh[:, at] + line.splash[:, at]
        state = state + thicker * line.days[:, at, None] + (tap - state) * out[:, None]
        variance = variance * (1.0 - out[:, None]) ** 2
        added = np.stack(
            [line.cyanurate[:, at], line.solids[:, at], line.hardness[:, at], line.borate[:, at]], axis=1
        )
        state, variance = state + added, variance + (DOSE * added) ** 2
        course[:, at] = state
        filled = np.where(line.fresh[:, at] >= 1.0, line.ago[:, at], filled)
    return Ledgers(course, variance, filled)
