"""What is known of a tub beside its journal, and how a learned number is given."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal

from dosing.limits import Limits
from dosing.products import DEFAULT_KIT, Kit
from dosing.readings import DEFAULT_SCALE, MOST_HOURS, Reading, Scale

TENTH = 1.2816
"""Standard deviations from the median to the outer tenth."""
Purifier = Literal["none", "ozone", "uv", "both"]


@dataclass(frozen=True, slots=True)
class Estimate:
    """A number that was learned: the middle four fifths of what it may be, and the median."""

    low: float
    likely: float
    high: float


def gaussian(mean: float, spread: float, least: float = -math.inf) -> Estimate:
    """Of a normal distribution, nothing below `least`."""
    return Estimate(*(max(least, mean + z * spread) for z in (-TENTH, 0.0, TENTH)))


@dataclass(frozen=True, slots=True)
class Away:
    """Nobody is at home; hours from now, below 0 where they have left already."""

    from_hours: float
    to_hours: float

    def __post_init__(self) -> None:
        if not -MOST_HOURS <= self.from_hours < self.to_hours <= MOST_HOURS:
            raise ValueError("a holiday is two numbers of hours from now, and ends after it begins")


_MOST_LITRES, _MOST_BATHERS, _MOST_DAYS = 1e6, 10000.0, 366.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Tub:
    """A tub as its owner and dealer describe it. Litres, degC; hours ago, but for `away`.

    `source` is what the fill water tested at; `bathers_a_week` counts each bather of each soak, as the owner says;
    `bottles` says when new bottles of strips were opened; `filled_hours` since the fill, where the history holds
    none; `refill_days` and `test_days` are the dealer's intervals, `local_refill_days` a local code's; `biofilm` says
    that foam or slime was met lately.
    """

    volume: float
    sanitizer: Literal["chlorine", "bromine"] = "chlorine"
    kit: Kit = DEFAULT_KIT
    scale: Scale = DEFAULT_SCALE
    limits: Limits = field(default_factory=Limits)
    temperature: float = 38.0
    covered: bool = True
    purifier: Purifier = "none"
    source: Reading | None = None
    bathers_a_week: float | None = None
    bottles: tuple[float, ...] = ()
    filled_hours: float | None = None
    refill_days: float = 90.0
    local_refill_days: float | None = None
    test_days: float = 7.0
    biofilm: bool = False
    away: Away | None = None

    def __post_init__(self) -> None:
        if not 1.0 <= self.volume <= _MOST_LITRES:
            raise ValueError(f"a tub holds a number of litres from 1 to {_MOST_LITRES:,.0f}")
        if not 5.0 <= self.temperature <= 45.0:
            raise ValueError("a tub is kept at 5 to 45 degC")
        if self.bathers_a_week is not None and not 0.0 <= self.bathers_a_week <= _MOST_BATHERS:
            raise ValueError(f"a week has 0 to {_MOST_BATHERS:g} bathers, or None where nobody knows")
        if not all(0.0 <= hours <= MOST_HOURS for hours in (*self.bottles, self.filled_hours or 0.0)):
            raise ValueError("a bottle was opened, and a tub was filled, a number of hours ago, 0 or more")
        for days in (self.refill_days, self.test_days, self.local_refill_days or 1.0):
            if not 0.0 < days <= _MOST_DAYS:
                raise ValueError(f"between two tests or changes of water lie days above 0, up to {_MOST_DAYS:g}")

    @property
    def key(self) -> str:
        """The reading key of its sanitizer."""
        return "br" if self.sanitizer == "bromine" else "fc"
