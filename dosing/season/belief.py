"""All that is believed of many tubs at once, and where their water goes from here."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from dosing.arrays import Array
from dosing.history import Past
from dosing.season import books, drift, loss
from dosing.season.books import Ledgers
from dosing.season.drift import Balance
from dosing.season.loss import Level
from dosing.season.plane import Plane
from dosing.season.priors import loss_of
from dosing.season.timeline import Timeline, timeline
from dosing.season.tub import Tub
from dosing.substances import BR2, CL2


@dataclass(frozen=True, slots=True)
class Belief:
    """Sanitizer, balance and books of many tubs, now."""

    line: Timeline
    level: Level
    balance: Balance
    ledgers: Ledgers

    @classmethod
    def of(cls, tubs: Sequence[Tub], histories: Sequence[Sequence[Past]]) -> Belief:
        """Learn from these journals."""
        line = timeline(tubs, histories)
        bromine = np.array([tub.sanitizer == "bromine" for tub in tubs])
        factor = np.where(bromine, BR2 / CL2, 1.0)
        start = loss.before([loss_of(tub) for tub in tubs], np.array([tub.volume for tub in tubs]), factor)
        course = loss.learn(start, line)
        ledgers = books.booked(line)
        plane = Plane.at(np.array([tub.temperature for tub in tubs]), bromine)
        balance = drift.learn(
            drift.before(plane, np.where(bromine, BR2, CL2)),
            line,
            course.before,
            course.after,
            ledgers.course[:, :, 0],
            ledgers.course[:, :, 3],
        )
        return cls(line, course.now, balance, ledgers)

    def one(self, at: int) -> Belief:
        """Of one tub."""
        return Belief(self.line.one(at), self.level.one(at), self.balance.one(at), self.ledgers.one(at))
