"""How an owner reads water: a strip's pads with the eye's noise and the bottle's bias, or a meter."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from dosing import DEFAULT_SCALE, Reading, Said
from tests.season.water import State

EYE = 0.25
"""Standard deviation of matching a colour, in pads."""
BOTTLE_PH = 0.2
"""A bottle's pH pad is off by up to this."""
BOTTLE_ALKALINITY = 0.08
"""Standard deviation of a bottle's alkalinity pad, as a share."""
STRIPS = 50
METER = {"ph": 0.03, "fc": 0.04, "ta": 0.04, "ch": 0.05, "cya": 0.07}
"""Standard deviation of a good meter: pH as it is, the others as shares."""


@dataclass
class Reader:
    """One owner's eyes and the bottle that is open."""

    random: np.random.Generator
    method: Literal["strip", "meter"]
    exact: bool = False
    """A perfect meter: the truth itself."""

    def __post_init__(self) -> None:
        self.bottle = 0
        self.open_bottle()

    def open_bottle(self) -> None:
        """A new bottle with a bias of its own."""
        self.bottle += 1
        self.ph_bias = self.random.uniform(-BOTTLE_PH, BOTTLE_PH)
        self.alkalinity_bias = self.random.normal(0.0, BOTTLE_ALKALINITY)
        self.left = STRIPS

    def test(self, state: State, keys: tuple[str, ...] = ("fc", "ph", "ta")) -> dict[str, float]:
        """What the owner names for each key: a pad, or a meter's number."""
        true = values_of(state)
        if self.method == "meter":
            return {key: self._metered(key, true[key]) for key in keys}
        self.left -= 1
        true["ph"] += self.ph_bias
        true["ta"] *= 1 + self.alkalinity_bias
        return {key: self._matched(key, true[key]) for key in keys}

    def careful_ph(self, state: State) -> float:
        """The pH by a shop's meter or a drop test done with care."""
        return self._metered("ph", state.ph)

    def _metered(self, key: str, value: float) -> float:
        noise = 0.0 if self.exact else self.random.normal(0.0, METER[key])
        found = value + noise if key == "ph" else max(0.0, value * (1 + noise))
        return round(float(found), 2 if key == "ph" else 1)

    def _matched(self, key: str, value: float) -> float:
        pads = DEFAULT_SCALE.pads[key]
        place = float(np.interp(value, pads, np.arange(len(pads)))) + self.random.normal(0.0, EYE)
        return pads[int(np.clip(round(place), 0, len(pads) - 1))]


def values_of(state: State) -> dict[str, float]:
    """The true values by reading key."""
    return {
        "fc": state.free_chlorine,
        "ph": state.ph,
        "ta": state.alkalinity,
        "ch": state.hardness,
        "cya": state.cyanurate,
    }


def as_reading(values: dict[str, float], method: Literal["strip", "meter"]) -> Reading:
    """The library's reading of those numbers."""
    return Reading({key: Said.value(value) for key, value in values.items()}, method=method)
