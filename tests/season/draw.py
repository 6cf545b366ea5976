"""Who takes part: tubs, waters and owners drawn from seeds, with all that happens to them whatever is advised."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from dosing import DEFAULT_KIT, Kit
from tests.season.tub import Make
from tests.season.water import Source

EVENING = 7.0
"""Hours after noon at which an owner looks after the tub."""


@dataclass(frozen=True, slots=True)
class Soak:
    """Somebody bathes; `at` in hours since the first fill at noon of day 0, `told` if the owner tells of it."""

    at: float
    bathers: int
    minutes: float
    vigour: float
    told: bool


@dataclass(frozen=True, slots=True)
class Away:
    """Nobody is there."""

    start: float
    end: float


@dataclass(frozen=True, slots=True)
class Owner:
    """How an owner is: error of a dose (standard deviation of its logarithm), shares skipped and done a day late."""

    error: float = 0.15
    skips: float = 0.10
    late: float = 0.25


USUAL, PERFECT = Owner(), Owner(0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Case:
    """One tub's season."""

    number: int
    seed: int
    make: Make
    stated: float
    """Litres as the brochure says."""
    kit_name: Literal["both", "dichlor", "hypochlorite"]
    water: Literal["mains", "well", "softened"]
    soaks: tuple[Soak, ...]
    aways: tuple[Away, ...]
    soaks_per_week: float
    weeks: int

    @property
    def kit(self) -> Kit:
        """What the owner has at hand."""
        return KITS[self.kit_name]

    def random(self, stream: int) -> np.random.Generator:
        """A stream of chance of its own, the same whatever is advised."""
        return np.random.default_rng([self.seed, self.number, stream])

    def is_away(self, at: float) -> bool:
        """Whether nobody is there at that time."""
        return any(away.start <= at < away.end for away in self.aways)


KITS = {
    "both": DEFAULT_KIT,
    "dichlor": DEFAULT_KIT.without("hypochlorite"),
    "hypochlorite": DEFAULT_KIT.without("dichlor"),
}


def draw(number: int, seed: int, weeks: int) -> Case:
    """The tub of that number; more weeks only add to what fewer have."""
    random = np.random.default_rng([seed, number])
    stated = float(random.uniform(800, 1700))
    water = str(random.choice(["mains", "mains", "mains", "well", "softened"]))
    make = Make(
        litres=stated * float(random.uniform(0.85, 1.15)),
        temperature=float(random.uniform(36.0, 39.5)),
        loss=float(random.uniform(0.15, 0.50)),
        demand=_log_uniform(random, 2.0, 9.0),
        aired_rest=_log_uniform(random, 0.05, 0.25),
        aired_jets=_log_uniform(random, 0.3, 1.5),
        evaporation=float(random.uniform(0.001, 0.005)),
        splash=float(random.uniform(1.0, 4.0)),
        source=_source(random, water),
    )
    kit_name = str(random.choice(["both", "dichlor", "hypochlorite"], p=[0.7, 0.15, 0.15]))
    per_week = _log_uniform(random, 1.0, 5.0)
    household = int(random.integers(1, 5))
    aways = _holidays(np.random.default_rng([seed, number, 98]), weeks)
    soaks = tuple(_soaks(np.random.default_rng([seed, number, 99]), weeks, per_week, household, aways))
    return Case(
        number,
        seed,
        make,
        stated,
        kit_name,  # type: ignore[arg-type]
        water,  # type: ignore[arg-type]
        soaks,
        aways,
        max(0.5, round(per_week * float(random.uniform(0.7, 1.4)) * 2) / 2),
        weeks,
    )


def _log_uniform(random: np.random.Generator, low: float, high: float) -> float:
    return float(np.exp(random.uniform(np.log(low), np.log(high))))


def _source(random: np.random.Generator, water: str) -> Source:
    alkalinity = _log_uniform(random, 25.0, 250.0)
    match water:
        case "softened":
            hardness = float(random.uniform(4.0, 15.0))
        case "well":
            hardness = alkalinity * float(random.uniform(0.8, 1.5))
        case _:
            hardness = float(np.clip(alkalinity * random.uniform(0.6, 1.5), 10.0, 400.0))
    low, high = (6.8, 7.6) if water == "well" else (7.2, 8.2)
    return Source(float(random.uniform(low, high)), alkalinity, min(hardness, 400.0))


def _holidays(random: np.random.Generator, weeks: int) -> tuple[Away, ...]:
    out = []
    day = 0
    while True:
        day += int(random.integers(35, 110))
        length = int(random.integers(4, 15))
        if day + length > weeks * 7:
            return tuple(out)
        out.append(Away(24.0 * day, 24.0 * (day + length)))
        day += length


def _soaks(
    random: np.random.Generator, weeks: int, per_week: float, household: int, aways: tuple[Away, ...]
) -> list[Soak]:
    soaks: list[Soak] = []
    for day in range(1, weeks * 7):
        party = random.random() < 1 / 42
        often = random.random() < per_week / 7
        at = 24.0 * day + float(random.choice([-4.0, 3.0, 5.0, 8.0, 9.0, 9.5])) + float(random.uniform(0.0, 0.5))
        bathers = int(random.integers(4, 7)) if party else int(random.integers(1, household + 1))
        minutes = float(5 * random.integers(9, 19)) if party else float(5 * random.integers(3, 13))
        vigour = float(np.exp(random.normal(0.0, 0.3)))
        told = bool(random.random() < 0.9)
        if (party or often) and not any(away.start <= at < away.end for away in aways):
            soaks.append(Soak(at, bathers, minutes, vigour, told))
    return soaks
