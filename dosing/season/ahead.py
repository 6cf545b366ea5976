"""Where many tubs' water goes from here, while the routine is kept as owners keep it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from dosing.arrays import Array
from dosing.season.belief import Belief
from dosing.season.censored import normal
from dosing.season.drift import ALKALINITY, PH, Balance, Stretch
from dosing.season.habits import Habits
from dosing.season.loss import VIGOUR, Level
from dosing.season.priors import DOSE
from dosing.season.routine import Routine
from dosing.season.sanitizer import acidity
from dosing.season.tub import TENTH, Tub

SKIPS = 0.1
"""Share of doses that are forgotten (common practice)."""
_STEP = 1.0
"""Days in a step at most."""
Range = tuple[Array, Array]


@dataclass(frozen=True, slots=True)
class Forecast:
    """By reading key arrays (tubs, hours): the middle four fifths, the median, and the chance of being in range.

    Of one tub the arrays are (hours,). `all_fine` is the chance that sanitizer, pH and alkalinity all are, taken as
    independent.
    """

    hours: Array
    low: Mapping[str, Array]
    likely: Mapping[str, Array]
    high: Mapping[str, Array]
    fine: Mapping[str, Array]

    @property
    def all_fine(self) -> Array:
        """The product of the chances."""
        result: Array = np.prod([self.fine[key] for key in self.fine], axis=0)
        return result

    def named(self, names: Mapping[str, str]) -> Forecast:
        """With its keys renamed."""
        parts = (
            {names[key]: row for key, row in part.items()} for part in (self.low, self.likely, self.high, self.fine)
        )
        return Forecast(self.hours, *parts)

    def of(self, tub: int) -> Forecast:
        """Of one tub."""
        parts = (self.low, self.likely, self.high, self.fine)
        return Forecast(self.hours, *({key: row[tub] for key, row in part.items()} for part in parts))


@dataclass(frozen=True, slots=True)
class _Look:
    low: Array
    likely: Array
    high: Array
    fine: Array


def forecast(
    belief: Belief, habits: Habits, routine: Routine | None, hours: Sequence[float], tubs: Sequence[Tub]
) -> Forecast:
    """The water at these hours from now; without a routine nothing is added, and while they are away nobody bathes."""
    wanted = np.sort(np.asarray(hours, dtype=np.float64))
    ranges = {key: _range(tubs, key) for key in ("sanitizer", "ph", "ta")}
    level, balance = belief.level, belief.balance
    looks: dict[str, list[_Look]] = {key: [] for key in ranges}
    acid = np.array([acidity(tub, float(cya)) for tub, cya in zip(tubs, belief.held[:, 0], strict=True)])
    at = 0.0
    for hour in wanted:
        while hour / 24.0 - at > 1e-9:
            days = min(_STEP, hour / 24.0 - at)
            home = np.array([_at_home(tub, 24.0 * (at + 0.5 * days)) for tub in tubs])
            level, balance = _step(belief, level, balance, habits, routine, days, home, acid)
            at += days
        looks["sanitizer"].append(_of_level(level, ranges["sanitizer"]))
        looks["ph"].append(_of_balance(balance, PH, 0.0, ranges["ph"]))
        looks["ta"].append(_of_balance(balance, ALKALINITY, balance.per_oxidant * level.likely(), ranges["ta"]))

    def part(name: str) -> dict[str, Array]:
        return {key: np.stack([getattr(look, name) for look in found], axis=1) for key, found in looks.items()}

    return Forecast(wanted, part("low"), part("likely"), part("high"), part("fine"))


def _range(tubs: Sequence[Tub], key: str) -> Range:
    """Sanitizer may stand up to the bound between tests."""
    ends = [
        {
            "ph": tub.limits.ph_fine,
            "ta": tub.limits.alkalinity_fine,
            "sanitizer": (tub.limits.bromine_fine[0], tub.limits.bromine_bound)
            if tub.key == "br"
            else (tub.limits.chlorine_fine[0], tub.limits.chlorine_bound),
        }[key]
        for tub in tubs
    ]
    return np.array([low for low, _ in ends]), np.array([high for _, high in ends])


def _at_home(tub: Tub, hours: float) -> float:
    return float(tub.away is None or not tub.away.from_hours <= hours < tub.away.to_hours)


def _step(
    belief: Belief,
    level: Level,
    balance: Balance,
    habits: Habits,
    routine: Routine | None,
    days: float,
    home: Array,
    acid: Array,
) -> tuple[Level, Balance]:
    """A day of an average week: a share of a soak, a share of a dose, and all that they may be more or less. `acid` is
    what a mg/L of the doses takes of alkalinity.
    """
    span = np.full(home.size, days)
    soaks = habits.soaks * span * home
    first = level.likely()
    level = level.after(span)
    met = level.likely()
    level = _used(level, habits, soaks, routine)
    nil = np.zeros(home.size)
    taken = nil
    if routine is not None:
        level = _kept(level, routine, span * home)
        poured = routine.idle * span * home / routine.days + routine.each_bather_hour * soaks * habits.bather_hours
        taken = (1.0 - SKIPS) * acid * poured
    balance = balance.after(
        Stretch(
            span, soaks * habits.jets, (first, met, level.likely()), -taken, nil,
            belief.held[:, 0], belief.held[:, 3], nil, nil,
        )
    )  # fmt: skip
    return level, balance


def _used(level: Level, habits: Habits, soaks: Array, routine: Routine | None) -> Level:
    """What bathers use less what is poured for them afterwards: what is left open is how far the tub is from the card,
    how vigorous they were, and whether somebody forgot.
    """
    poured = np.zeros_like(soaks) if routine is None else routine.each_bather_hour
    open_ = level.demand - (1.0 - SKIPS) * poured[:, None]
    mean = level.mean - open_ * (soaks * habits.bather_hours)[:, None]
    square = open_**2 + (VIGOUR * level.demand) ** 2 + SKIPS * poured[:, None] ** 2
    return replace(level, mean=mean, variance=level.variance + square * (soaks * habits.bather_hours_squared)[:, None])


def _kept(level: Level, routine: Routine, span: Array) -> Level:
    """What the routine brings in such a time against the loss at rest."""
    doses = span / routine.days
    dose = routine.idle * doses * (1.0 - SKIPS)
    variance = routine.idle**2 * doses * (SKIPS * (1.0 - SKIPS) + DOSE**2)
    return replace(level, mean=level.mean + dose[:, None], variance=level.variance + variance[:, None])


def _of_level(level: Level, within: Range) -> _Look:
    root = np.sqrt(level.variance)
    low, high = (np.sum(level.weight * normal((bound[:, None] - level.mean) / root), axis=1) for bound in within)
    lower, middle, upper = level.levels(np.array([0.1, 0.5, 0.9]), least=0.0)
    return _Look(lower, middle, upper, high - low)


def _of_balance(balance: Balance, which: int, plus: Array | float, within: Range) -> _Look:
    mean, root = balance.mean[:, which] + plus, np.sqrt(balance.spread[:, which, which])
    fine: Array = normal((within[1] - mean) / root) - normal((within[0] - mean) / root)
    return _Look(mean - TENTH * root, mean, mean + TENTH * root, fine)
