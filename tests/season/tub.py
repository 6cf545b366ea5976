"""A simulated tub: what time, bathers and an owner do to its true water."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from tests.season.water import Source, State, TrueWater, dissolved, used_up

LONGEST_STEP = 8.0
"""Hours in one step of the equilibrium."""
ORGANICS_HOURS = 2.0
"""So fast chlorine finds what bathers left (e-folding)."""
ORGANICS_GONE = 0.1
"""Share of what no chlorine met that leaves by filter and air, per day."""
CLOSED, OPEN, JETS = "closed", "open", "jets"


@dataclass(frozen=True, slots=True)
class Make:
    """What a tub is; its owner knows none of this but the temperature."""

    litres: float
    temperature: float
    loss: float
    """Share of the free chlorine lost in a day at rest and covered, at 38 degC."""
    demand: float
    """g of chlorine that an hour of one bather uses up."""
    aired_rest: float
    """Share of the excess carbon dioxide lost per day under the cover, filter cycles included, as a rate."""
    aired_jets: float
    """The same per hour of jets with air."""
    evaporation: float
    """Share of the water per day."""
    splash: float
    """Litres that a bather carries out."""
    source: Source


class TrueTub:
    """The tub as it really is. Time in hours."""

    def __init__(self, make: Make) -> None:
        self.make = make
        self.water = TrueWater(make.source, make.temperature)
        self.at = 0.0
        self.filled_at = 0.0
        self.organics = 0.0
        """mg/L of chlorine that waits to be used up."""
        self.poured: dict[str, float] = {}

    @property
    def state(self) -> State:
        """The water now."""
        return self.water.state

    def until(self, at: float, cover: str = CLOSED) -> None:
        """Let time pass; the jets run with air if `cover` is "jets"."""
        while at - self.at > 1e-9:
            hours = min(LONGEST_STEP, at - self.at)
            self._pass(hours, cover)
            self.at += hours

    def _pass(self, hours: float, cover: str) -> None:
        make, state = self.make, self.state
        met = min(self.organics, state.free_chlorine) * (1 - math.exp(-hours / ORGANICS_HOURS))
        self.organics = (self.organics - met) * math.exp(-ORGANICS_GONE * hours / 24)
        rate = -math.log(1 - make.loss) * 1.07 ** (make.temperature - 38.0) * (1.0 if cover == CLOSED else 1.5)
        lost = (state.free_chlorine - met) * (1 - math.exp(-rate * hours / 24))
        airing = make.aired_jets if cover == JETS else make.aired_rest / 24 * (1.0 if cover == CLOSED else 3.0)
        gas = (state.carbon_dioxide - state.carbon_dioxide_of_air) * (1 - math.exp(-airing * hours))
        evaporated = make.evaporation * hours / 24 * (1.0 if cover == CLOSED else 8.0)
        self.water.change({**used_up(met + lost), "CO2": -gas}, make.temperature, evaporated=evaporated)

    def pour(self, grams: Mapping[str, float]) -> None:
        """Grams of pure substances dissolve; monopersulfate's oxygen takes what bathers left first."""
        oxygen = grams.get("potassium_monopersulfate", 0.0) / 614.737 * 2 * 70.906 / self.make.litres * 1e3
        self.organics = max(0.0, self.organics - oxygen)
        self.water.change(dissolved(grams, self.make.litres), self.make.temperature)
        for name, amount in grams.items():
            self.poured[name] = self.poured.get(name, 0.0) + amount

    def soak(self, bathers: int, minutes: float, vigour: float = 1.0) -> None:
        """People bathe, jets on: `vigour` is how much they bring in beside the usual."""
        self.organics += self.make.demand * vigour * bathers * minutes / 60 / self.make.litres * 1e3
        self.until(self.at + minutes / 60, JETS)
        splashed = bathers * self.make.splash / self.make.litres
        self.water.change({}, self.make.temperature, splashed=splashed)

    def refill(self) -> None:
        """Drain and fill: every drop is new, and takes half a day to warm."""
        self.water.fill(self.make.temperature)
        self.organics = 0.0
        self.filled_at = self.at
