"""What is known to have happened to this water before now."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias

from dosing.readings import MOST_GRAMS, MOST_HOURS, Reading

_MOST_BATHERS, _MOST_MINUTES = 1000, 10080.0


def _past(hours_ago: float) -> None:
    if not 0 <= hours_ago <= MOST_HOURS:
        raise ValueError(f"what is known lies in the past: hours_ago is 0 or more, up to {MOST_HOURS:,.0f}")


@dataclass(frozen=True, slots=True)
class Addition:
    """Grams of pure substances, by canonical name, that went into the tub so many hours ago."""

    substances: Mapping[str, float]
    hours_ago: float

    def __post_init__(self) -> None:
        _past(self.hours_ago)
        for name, grams in self.substances.items():
            if not 0 <= grams <= MOST_GRAMS:
                raise ValueError(f"{name} is added in grams, 0 or more, up to {MOST_GRAMS:,.0f}")


@dataclass(frozen=True, slots=True)
class Refill:
    """Litres of new water (None: the whole tub) so many hours ago, and what its source tested at, if known."""

    litres: float | None
    hours_ago: float
    source: Reading | None = None

    def __post_init__(self) -> None:
        _past(self.hours_ago)
        if self.litres is not None and not (math.isfinite(self.litres) and self.litres > 0):
            raise ValueError("a refill is a number of litres above 0, or None for the whole tub")


@dataclass(frozen=True, slots=True)
class Soak:
    """So many bathers for so many minutes, so many hours ago."""

    bathers: int
    minutes: float
    hours_ago: float

    def __post_init__(self) -> None:
        _past(self.hours_ago)
        if not (0 <= self.bathers <= _MOST_BATHERS and 0 <= self.minutes <= _MOST_MINUTES):
            raise ValueError(
                "a soak is a number of bathers for a number of minutes, both 0 or more, "
                f"up to {_MOST_BATHERS} bathers and a week"
            )


Past: TypeAlias = Reading | Addition | Refill | Soak
