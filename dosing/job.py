"""Everything that one plan is made from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from dosing.arrows import STABILISED, effect
from dosing.known import Known
from dosing.ledger import Ledger
from dosing.limits import Limits
from dosing.products import Kit
from dosing.readings import Reading
from dosing.region import Region

Purpose = Literal["test", "startup", "shock"]
_FRESH_HOURS = 48.0


@dataclass(frozen=True, slots=True)
class Job:
    """Everything that one plan is made from."""

    volume: float
    known: Known
    region: Region
    ledger: Ledger
    kit: Kit
    limits: Limits
    purpose: Purpose
    reading: Reading

    @property
    def fresh_water(self) -> bool:
        """Whether this water was filled in the last two days."""
        fill = self.ledger.fill
        return self.purpose == "startup" or (fill is not None and fill.hours_ago <= _FRESH_HOURS)

    @property
    def first_week(self) -> bool:
        """Whether the water still gives off the carbon dioxide that it was filled with."""
        fill = self.ledger.fill
        return self.purpose == "startup" or (fill is not None and fill.hours_ago <= 24 * 7)

    @property
    def alkalinity_aim(self) -> float:
        """100 where dichlor is the daily sanitizer: the only chlorine at hand, or added twice and nothing else."""
        if self.known.key == "br" or self.limits.cyanurate_barred:
            return self.limits.alkalinity_aim
        chlorines = [p for p in self.kit.products if effect(p.substances).chlorine > 0]
        only = bool(chlorines) and all(set(p.substances) & STABILISED for p in chlorines)
        recent = [a for a in self.ledger.additions if a.hours_ago <= 24 * 14 and effect(a.substances).chlorine > 0]
        used = len(recent) >= 2 and all(set(a.substances) & STABILISED for a in recent)
        return self.limits.alkalinity_aim_dichlor if only or used else self.limits.alkalinity_aim
