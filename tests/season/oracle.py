"""How far any policy could come: it sees the true water every evening and after each soak, and knows the tub.

It does not know who will bathe, and its doses are poured by the same owner, who errs and forgets: sanitizer comes
first, so that nothing else that is forgotten costs it.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from dosing import Water, add
from tests.season.policy import Act, Aerate, Fact, Filled, Moment, Pour, Profile, Refill, Why
from tests.season.tub import TrueTub

CONTENT = {"dichlor": 0.99 * 2 * 70.906 / 255.971, "hypochlorite": 0.05 * 70.906 / 74.439}
REFILL_DAYS = 90.0
TURNS, TURN_MINUTES = 3, 150.0
"""How often an evening, and how long, air follows acid where alkalinity comes down."""


class Oracle:
    """Doses every evening, whatever that costs in additions."""

    top = 8.0
    """mg/L that a dose aims at."""
    wanted_tomorrow = 4.0
    """mg/L below which the next noon may not fall."""
    ph_aim, ph_low, ph_high = 7.5, 7.33, 7.68
    ta_aim, ta_low, ta_high = 80.0, 60.0, 110.0

    def __init__(self, profile: Profile) -> None:
        self.profile = profile
        self.filled = 0.0
        self.aired = 0

    def meet(self, tub: TrueTub) -> None:
        self.tub = tub

    def told(self, fact: Fact) -> None:
        match fact:
            case Filled(at):
                self.filled = at
            case _:
                pass

    def advise(self, at: float, moment: Moment) -> Sequence[Act]:
        if moment == "evening":
            self.aired = 0
        if moment == "evening" and at - self.filled > REFILL_DAYS * 24:
            return [Refill()]
        kept = self._chlorine(at, moment)
        return kept or (self._balance(at) if at - self.filled < 6.0 or moment != "soaked" else [])

    def _balance(self, at: float) -> list[Act]:
        state, litres = self.tub.state, self.tub.make.litres
        water = Water(
            ph=state.ph,
            alkalinity=state.alkalinity,
            calcium_hardness=state.hardness,
            cyanuric_acid=state.cyanurate,
            free_chlorine=state.free_chlorine,
            temperature=self.tub.make.temperature,
            tds=600.0,
        )
        low = state.alkalinity < self.ta_low
        if low or state.ph < self.ph_low:
            bicarbonate = max(0.0, self.ta_aim - state.alkalinity) * 84.006 / 50.04 if low else 0.0
            risen = add(water, "sodium_bicarbonate", bicarbonate)
            soda = self._search(risen, "sodium_carbonate", self.ph_aim)
            if bicarbonate > 5:
                return self._pour("bicarbonate", bicarbonate * litres / 1000, "balance")
            if soda > 1:
                return self._pour("soda_ash", soda * litres / 1000, "balance")
        if state.alkalinity > self.ta_high and state.ph < self.ph_low + 0.15 and self.aired < TURNS:
            self.aired += 1
            return [Aerate(TURN_MINUTES)]
        if state.ph > self.ph_high or (state.alkalinity > self.ta_high and state.ph > self.ph_low + 0.15):
            goal = self.ph_aim if state.alkalinity <= self.ta_high else 7.2
            acid = self._search(water, "sodium_bisulfate", goal)
            if acid > 1:
                return self._pour("bisulfate", acid * litres / 1000 / 0.93, "balance")
        return []

    @staticmethod
    def _search(water: Water, substance: str, ph: float) -> float:
        """mg/L that bring the water to this pH."""
        amounts = np.linspace(0.0, 80.0, 41)
        found = np.asarray(add(water, substance, amounts).ph)
        rising = found[-1] > found[0]
        return float(np.interp(ph, found if rising else found[::-1], amounts if rising else amounts[::-1]))

    def _chlorine(self, at: float, moment: Moment) -> list[Act]:
        tub = self.tub
        now = max(0.0, tub.state.free_chlorine - tub.organics)
        hours = (24.0 - at % 24.0) or 24.0
        hours = hours + 24.0 if hours < 8 else hours
        keeps = (1 - tub.make.loss) ** (hours / 24 * 1.07 ** (tub.make.temperature - 38.0))
        if now * keeps >= self.wanted_tomorrow:
            return []
        grams = (self.top - now) * tub.make.litres / 1000
        key = "hypochlorite" if self.profile.kit.named("hypochlorite") else "dichlor"
        return self._pour(key, grams / CONTENT[key], "routine" if moment != "soaked" else "soak")

    @staticmethod
    def _pour(key: str, grams: float, why: Why) -> list[Act]:
        return [Pour(key, grams, why)] if grams > 0.5 else []
