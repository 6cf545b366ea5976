"""One tub of a fleet: its journal, and what follows from it without any belief."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from dosing.history import Past
from dosing.readings import Reading
from dosing.season.ahead import Forecast, forecast
from dosing.season.belief import Belief
from dosing.season.drift import ALKALINITY, PH
from dosing.season.habits import Habits
from dosing.season.priors import EVAPORATION
from dosing.season.routine import Routine
from dosing.season.timeline import KEPT, Timeline
from dosing.season.tub import Tub

SITTING_HOURS = 30.0
"""What is poured so soon after a test that found too little belongs to it."""
_LATELY_HOURS = 28 * 24.0


@dataclass(frozen=True, slots=True)
class One:
    """A tub, its journal, and what is believed; the arrays hold one tub."""

    tub: Tub
    history: Sequence[Past]
    line: Timeline
    belief: Belief
    habits: Habits
    routine: Routine

    @property
    def least(self) -> float:
        """mg/L of sanitizer that a test should find at least."""
        limits = self.tub.limits
        return (limits.bromine_fine if self.tub.key == "br" else limits.chlorine_fine)[0]

    @property
    def most(self) -> float:
        """mg/L of sanitizer that a test should find at most."""
        limits = self.tub.limits
        return (limits.bromine_fine if self.tub.key == "br" else limits.chlorine_fine)[1]

    @property
    def bound(self) -> float:
        """mg/L of sanitizer that no dose may pass."""
        limits = self.tub.limits
        return limits.bromine_bound if self.tub.key == "br" else limits.chlorine_bound

    @property
    def last_read(self) -> Reading | None:
        """The newest reading of sanitizer."""
        found = [e for e in self.history if isinstance(e, Reading) and self.tub.key in e.values and not e.expired]
        return min(found, key=lambda e: e.hours_ago, default=None)

    @property
    def found(self) -> float:
        """mg/L of sanitizer that the newest reading found."""
        read = self.last_read
        return 0.0 if read is None else read.intervals(self.tub.scale)[self.tub.key].likely

    @property
    def base(self) -> float:
        """mg/L of sanitizer that the newest reading found; where that was too little, with what was poured for it."""
        read = self.last_read
        if read is None:
            return 0.0
        if self.found >= self.least:
            return self.found
        line = self.line
        same = (line.ago[0] <= read.hours_ago) & (line.ago[0] >= read.hours_ago - SITTING_HOURS)
        return self.found + float(line.oxidant[0][same].sum())

    @property
    def filled_hours(self) -> float | None:
        """Hours since the last whole fill, where it is known."""
        whole = self.line.ago[0][self.line.fresh[0] >= 1.0]
        return float(whole[-1]) if whole.size else None

    @property
    def age_hours(self) -> float:
        """Of this water: since its fill, or since it was first heard of."""
        first = max((event.hours_ago for event in self.history), default=0.0)
        return first if self.filled_hours is None else self.filled_hours

    @property
    def gains(self) -> Mapping[str, float]:
        """mg/L a day of each of KEPT over the last four weeks, or since the fill."""
        line = self.line
        since = min(_LATELY_HOURS, self.age_hours)
        if since < 24.0:
            return dict.fromkeys(KEPT, 0.0)
        lately = line.ago[0] <= since
        splashed = float(line.splash[0][lately].sum()) * (line.tap[0] - self.belief.held[0])
        moved = (line.kept[0][lately].sum(axis=0) + splashed) / (since / 24.0) + EVAPORATION * line.thickens[0]
        return dict(zip(KEPT, (round(float(each), 4) for each in moved), strict=True))

    @property
    def ph(self) -> float:
        """As believed, within what the water is computed for."""
        return min(max(float(self.belief.balance.mean[0, PH]), 6.5), 8.8)

    @property
    def lift(self) -> float:
        """What pH stands too high while there is more sanitizer than in the middle of the routine; 0 with less."""
        usual = self.routine.peak - 0.5 * self.routine.idle
        now = np.maximum(self.belief.level.likely(), usual)
        held = self.belief.held
        return float(self.belief.balance.lift(now, usual, held[:, 0], held[:, 3])[0])

    @property
    def alkalinity(self) -> float:
        """mg/L as CaCO3, as believed, with the base that its chlorine holds."""
        balance = self.belief.balance
        return float(balance.mean[0, ALKALINITY] + balance.per_oxidant[0] * self.belief.level.likely()[0])

    def ahead(self, hours: Sequence[float], *, follow_card: bool = True) -> Forecast:
        """The water at these hours from now; sanitizer stands under "sanitizer"."""
        return forecast(self.belief, self.habits, self.routine if follow_card else None, hours, [self.tub]).of(0)

    @property
    def sanitizer(self) -> tuple[float, float]:
        """Mean and standard deviation of the level, mg/L; a debt to what bathers left counts below nil."""
        level = self.belief.level
        mean = float((level.weight * level.mean).sum())
        return mean, math.sqrt(float((level.weight * (level.variance + (level.mean - mean) ** 2)).sum()))

    def level(self, share: float) -> float:
        """mg/L of sanitizer that it is below with this chance, a debt counting below nil."""
        return float(self.belief.level.levels(np.array([share]))[0, 0])
