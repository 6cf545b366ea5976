"""What a test says about the water: a person's words, a strip's pads and a kit's noise, all as intervals.

A strip pad matched at 120 between neighbours 80 and 180 says 100 to 150, not 120.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from types import MappingProxyType
from typing import Literal

import numpy as np

READING_KEYS = ("fc", "tc", "cc", "br", "ph", "ta", "ch", "th", "cya", "borate", "tds", "temp")
"""Free, total and combined chlorine, total bromine, pH, total alkalinity, calcium and total hardness, cyanuric acid,
borate (as B), dissolved solids (all mg/L; alkalinity and hardness as CaCO3) and temperature (degC)."""

Method = Literal["strip", "drops", "meter"]
SaidKind = Literal["value", "range", "below", "above"]

PHYSICAL: Mapping[str, tuple[float, float]] = MappingProxyType({
    "fc": (0.0, 20.0), "tc": (0.0, 25.0), "cc": (0.0, 10.0), "br": (0.0, 45.0),
    "ph": (6.0, 9.0), "ta": (5.0, 400.0), "ch": (2.0, 800.0), "th": (2.0, 1000.0),
    "cya": (0.0, 300.0), "borate": (0.0, 100.0), "tds": (100.0, 4000.0), "temp": (5.0, 42.0),
})  # fmt: skip
"""Where an open end is closed for computation: the range over which the water is computed."""

POSSIBLE: Mapping[str, tuple[float, float]] = MappingProxyType({
    "fc": (0.0, 200.0), "tc": (0.0, 200.0), "cc": (0.0, 100.0), "br": (0.0, 400.0),
    "ph": (3.0, 11.0), "ta": (0.0, 1000.0), "ch": (0.0, 3000.0), "th": (0.0, 5000.0),
    "cya": (0.0, 1000.0), "borate": (0.0, 500.0), "tds": (0.0, 20000.0), "temp": (0.0, 60.0),
})  # fmt: skip
"""What a tub's reading can be at all; beyond it the number was mistyped."""

MOST_HOURS = 1e6
"""A century: what is told of an earlier time was mistyped."""
MOST_GRAMS = 1e6
"""A ton: what is told of a bigger dose was mistyped."""


@dataclass(frozen=True, slots=True)
class Interval:
    """A reading's bounds and most likely value, in the reading's own unit.

    An open end is 0 below and `math.inf` above; `best` defaults to the middle (or the closed end).
    """

    low: float
    high: float
    best: float | None = None

    def __post_init__(self) -> None:
        if not self.low <= self.high:
            raise ValueError(f"an interval runs from low to high, not from {self.low} to {self.high}")
        if self.best is not None and not self.low <= self.best <= self.high:
            raise ValueError(f"the most likely value {self.best} lies outside {self.low} to {self.high}")

    @property
    def likely(self) -> float:
        """The most likely value: `best`, else the middle, else the closed end."""
        if self.best is not None:
            return self.best
        return (self.low + self.high) / 2 if math.isfinite(self.high) else self.low

    def clipped(self, low: float, high: float) -> Interval:
        """The part between two bounds; an interval wholly outside shrinks onto the nearer bound."""
        new_low, new_high = (min(max(value, low), high) for value in (self.low, self.high))
        return Interval(new_low, new_high, min(max(self.likely, new_low), new_high))

    def scaled(self, factor: float) -> Interval:
        """Both ends and the most likely value times a factor."""
        return Interval(self.low * factor, self.high * factor, self.likely * factor)

    def meet(self, other: Interval) -> Interval | None:
        """The part both agree on, this one's most likely value kept as near as may be; None if there is none."""
        low, high = max(self.low, other.low), min(self.high, other.high)
        return Interval(low, high, min(max(self.likely, low), high)) if low <= high else None


_NUMBER = r"(\d+(?:\.\d+)?)"
_VALUE = re.compile(_NUMBER)
_RANGE = re.compile(rf"{_NUMBER}\s*-\s*{_NUMBER}")
_ONE_SIDED = re.compile(rf"([<>])\s*{_NUMBER}")


@dataclass(frozen=True, slots=True)
class Said:
    """What a person said of one reading: `low` is None for "below", `high` for "above"; a value has both equal."""

    kind: SaidKind
    low: float | None
    high: float | None

    def __post_init__(self) -> None:
        wanted = (self.kind != "below", self.kind != "above")
        if (self.low is not None, self.high is not None) != wanted:
            raise ValueError(f"a reading said as {self.kind} has other ends than {self.low} and {self.high}")
        if any(end is not None and not (math.isfinite(end) and end >= 0) for end in (self.low, self.high)):
            raise ValueError("a reading is a number from 0 up")
        if self.low is not None and self.high is not None and self.low > self.high:
            raise ValueError(f"a range runs from low to high: {self.high:g}-{self.low:g}")

    @classmethod
    def value(cls, number: float) -> Said:
        """A plain number."""
        return cls("value", number, number)

    @classmethod
    def parse(cls, text: str) -> Said:
        """Read "7.4", "7.2-7.8", "<1" or ">10".

        Raises ValueError with one clear sentence for anything else.
        """
        text = text.strip().replace("\N{EN DASH}", "-")
        if _VALUE.fullmatch(text):
            return cls.value(float(text))
        if both := _RANGE.fullmatch(text):
            return cls("range", float(both[1]), float(both[2]))
        if one := _ONE_SIDED.fullmatch(text):
            bound = float(one[2])
            return cls("below", None, bound) if one[1] == "<" else cls("above", bound, None)
        raise ValueError(f"{text!r} is not a reading: say a number (7.4), a range (7.2-7.8), <1 or >10")

    @property
    def text(self) -> str:
        """The machine form, which `parse` reads back as it was: 7.4, 7.2-7.8, <1, >10; a zero has no sign."""
        low, high = (
            "" if end is None else np.format_float_positional(end + 0.0, trim="-") for end in (self.low, self.high)
        )
        return {"range": f"{low}-{high}", "below": f"<{high}", "above": f">{low}"}.get(self.kind, low)


NOISE: Mapping[Method, Mapping[str, tuple[float, float]]] = MappingProxyType({
    "strip": MappingProxyType({
        "fc": (0.3, 0.25), "tc": (0.3, 0.25), "cc": (0.3, 0.25), "br": (0.5, 0.25),
        "ph": (0.2, 0.0), "ta": (15.0, 0.1), "ch": (25.0, 0.15), "th": (25.0, 0.15),
        "cya": (15.0, 0.2), "borate": (5.0, 0.2), "tds": (100.0, 0.15), "temp": (1.0, 0.0),
    }),
    "drops": MappingProxyType({
        "fc": (0.25, 0.05), "tc": (0.25, 0.05), "cc": (0.25, 0.05), "br": (0.5, 0.05),
        "ph": (0.1, 0.0), "ta": (5.0, 0.05), "ch": (10.0, 0.05), "th": (10.0, 0.05),
        "cya": (8.0, 0.1), "borate": (3.0, 0.1), "tds": (50.0, 0.1), "temp": (0.5, 0.0),
    }),
    "meter": MappingProxyType({
        "fc": (0.1, 0.05), "tc": (0.1, 0.05), "cc": (0.15, 0.05), "br": (0.2, 0.05),
        "ph": (0.05, 0.0), "ta": (4.0, 0.05), "ch": (8.0, 0.05), "th": (8.0, 0.05),
        "cya": (5.0, 0.1), "borate": (2.0, 0.1), "tds": (20.0, 0.05), "temp": (0.5, 0.0),
    }),
})  # fmt: skip
"""Half width of a single number by method: (least, share of the value); the greater counts. Common practice: one drop
of a titration is 10 mg/L of alkalinity or 0.5 mg/L of chlorine, a comparator resolves 0.2 pH, a photometer 5 %."""


@dataclass(frozen=True, slots=True)
class Scale:
    """The numbers printed beside a strip's colour blocks, rising, by reading key."""

    name: str
    pads: Mapping[str, tuple[float, ...]]

    def __post_init__(self) -> None:
        for key, pads in self.pads.items():
            if key not in READING_KEYS:
                raise ValueError(f"{key!r} is not a reading; a scale may hold {', '.join(READING_KEYS)}")
            if len(pads) < 2 or any(a >= b for a, b in pairwise(pads)):
                raise ValueError(f"the blocks of {key!r} are at least two numbers, each greater than the one before")

    def interval(self, key: str, value: float) -> Interval:
        """What a pad matched at `value` says: midpoints to its neighbours, open at the ends of the chart.

        A value between two blocks keeps itself, a quarter of the gap either side (an eye tells halves of a gap at
        best; common practice). A key that the chart lacks gets the strip's own noise.
        """
        pads = self.pads.get(key)
        if pads is None or value > pads[-1]:
            return _noisy(key, "strip", value)
        if value not in pads:
            above = next((i for i, pad in enumerate(pads) if pad > value), 0)
            quarter = (pads[above] - pads[above - 1]) / 4 if above else _noisy(key, "strip", value).high - value
            return Interval(max(0.0, value - quarter), value + quarter, value)
        at = pads.index(value)
        low = (pads[at - 1] + value) / 2 if at else 0.0
        high = (pads[at + 1] + value) / 2 if at + 1 < len(pads) else math.inf
        return Interval(low, high, value)


DEFAULT_SCALE = Scale(
    "default",
    {
        "ta": (0.0, 40.0, 80.0, 120.0, 180.0, 240.0),
        "ph": (6.2, 6.8, 7.2, 7.8, 8.4),
        "fc": (0.0, 0.5, 1.0, 3.0, 5.0, 10.0),
        "tc": (0.0, 0.5, 1.0, 3.0, 5.0, 10.0),
        "br": (0.0, 1.0, 2.0, 6.0, 10.0, 20.0),
        "ch": (0.0, 25.0, 50.0, 120.0, 250.0, 425.0),
        "th": (0.0, 25.0, 50.0, 120.0, 250.0, 425.0),
        "cya": (0.0, 30.0, 50.0, 100.0, 150.0, 300.0),
    },
)


def _noisy(key: str, method: Method, value: float) -> Interval:
    least, share = NOISE[method][key]
    half = max(least, share * value)
    return Interval(max(0.0, value - half), value + half, value)


@dataclass(frozen=True, slots=True)
class Reading:
    """One test of the water: what was said of each key, how it was tested, and how long ago (hours).

    `after_dose` marks the retest that a plan asked for; `expired` a strip bottle past its date.
    """

    values: Mapping[str, Said] = field(default_factory=dict)
    method: Method = "strip"
    hours_ago: float = 0.0
    after_dose: bool = False
    expired: bool = False

    def __post_init__(self) -> None:
        for key, said in self.values.items():
            if key not in READING_KEYS:
                raise ValueError(f"{key!r} is not a reading; these are: {', '.join(READING_KEYS)}")
            low, high = POSSIBLE[key]
            for end in (said.low, said.high):
                if end is not None and not low <= end <= high:
                    raise ValueError(f"{key} {end:g} cannot be: a tub's {key} lies between {low:g} and {high:g}")
        if not 0 <= self.hours_ago <= MOST_HOURS:
            raise ValueError(f"a reading lies in the past: hours_ago is 0 or more, up to {MOST_HOURS:,.0f}")

    def intervals(self, scale: Scale = DEFAULT_SCALE) -> dict[str, Interval]:
        """What this test says of each key that was read; open ends stay open (`math.inf`)."""
        return {key: _interval(key, said, self.method, scale) for key, said in self.values.items()}


def _interval(key: str, said: Said, method: Method, scale: Scale) -> Interval:
    if said.low is None and said.high is not None:
        return Interval(0.0, said.high, max(said.high / 2, min(PHYSICAL[key][0], said.high)))
    if said.high is None and said.low is not None:
        return Interval(said.low, math.inf, said.low + max(0.0, PHYSICAL[key][1] - said.low) / 4)
    low, high = said.low or 0.0, said.high or 0.0
    if said.kind == "range" and low < high:
        return Interval(low, high)
    if method == "strip" and key != "temp":
        return scale.interval(key, low)
    return _noisy(key, method, low)
