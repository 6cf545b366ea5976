"""Journals of tubs whose ways are known: what the season should find out again."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dosing import DEFAULT_SCALE, Addition, Past, Reading, Refill, Said, Soak
from dosing.season import Tub

LITRES = 1300.0
TUB = Tub(volume=LITRES)
CHLORINE = 74.44 / 70.906
"""g of pure hypochlorite for a gram of chlorine."""


@dataclass(frozen=True)
class Truth:
    """A tub's rate of loss a day and grams of chlorine for a bather-hour, with the journal that it led to."""

    rate: float
    demand: float
    history: tuple[Past, ...]


def read(values: dict[str, float], hours_ago: float = 0.0, method: str = "strip") -> Reading:
    """A test."""
    return Reading({key: Said.value(value) for key, value in values.items()}, method, hours_ago)  # type: ignore[arg-type]


def chlorine(mg_per_litre: float, hours_ago: float) -> Addition:
    """Hypochlorite that brings so much to LITRES."""
    return Addition({"sodium_hypochlorite": mg_per_litre * LITRES / 1000.0 * CHLORINE}, hours_ago)


def pad(random: np.random.Generator, key: str, value: float) -> float:
    """The block that an eye matches: a quarter of a gap off, more or less."""
    pads = DEFAULT_SCALE.pads[key]
    place = float(np.interp(value, pads, np.arange(len(pads)))) + random.normal(0.0, 0.25)
    return pads[int(np.clip(round(place), 0, len(pads) - 1))]


def lived(seed: int, days: int, test_every: int = 4) -> Truth:
    """A tub of chance, dosed most evenings by a spoon that errs, tested every few days."""
    random = np.random.default_rng(seed)
    rate, demand = -np.log(1.0 - random.uniform(0.15, 0.5)), float(np.exp(random.uniform(np.log(2.0), np.log(9.0))))
    history: list[Past] = [Refill(None, 24.0 * days)]
    level = 0.0
    for day in range(days):
        evening = 24.0 * (days - day) - 19.0
        level *= np.exp(-rate) if level > 0 else 1.0
        if day % test_every == 0:
            history.append(read({"fc": pad(random, "fc", max(level, 0.0))}, evening + 0.5))
        if random.random() < 0.4:
            people, minutes = int(random.integers(1, 4)), float(random.integers(15, 60))
            level -= demand * people * minutes / 60.0 * 1000.0 / LITRES * np.exp(random.normal(0.0, 0.3))
            history.append(Soak(people, minutes, evening))
        if level < 5.0 and random.random() > 0.1:
            rise = 6.0 - max(level, 0.0)
            history.append(chlorine(rise, evening - 1.0))
            level += rise * np.exp(random.normal(0.0, 0.15))
    return Truth(float(rate), demand, tuple(history))
