"""A number as a person qualifies it (about, between, less than, 80ish, 8.4+), turned into a reading or a doubt."""

from dataclasses import dataclass
from typing import Literal

from bot.talk.understand.meaning import Doubt
from dosing.readings import POSSIBLE, Said

_BELIEVABLE = {"ph": (4.0, 11.0), "fc": (0.0, 100.0), "tc": (0.0, 100.0), "br": (0.0, 200.0)}
"""Narrower than `POSSIBLE`: a number outside was mistyped far more often than it was read. Common practice."""
_USUAL = {
    "ph": (6.0, 9.0),
    "temp": (10.0, 45.0),
    "ta": (10.0, 300.0),
    "ch": (10.0, 600.0),
    "th": (10.0, 600.0),
    "cya": (0.0, 150.0),
}
_DEGREES_TO_MG = {"grain": 17.118, "dh": 17.848, "fh": 10.0, "eh": 14.254}
"""mg/L CaCO3 in one grain per US gallon (64.799 mg in 3.785 L), German degree (10 mg/L CaO), French degree (10 mg/L)
and English degree (one grain per imperial gallon): by definition."""
_MMOL_TO_MG = {"ta": 50.043, "ch": 100.087, "th": 100.087}
"""mg/L CaCO3 in 1 mmol/L: of base for alkalinity, of calcium (and magnesium) for hardness, by molar mass."""
_HARDNESS = frozenset(_MMOL_TO_MG)

Unit = Literal["ppm", "grain", "dh", "fh", "eh", "mmol", "celsius", "fahrenheit", "degree"]


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number or range in a text, tokens `start` to `end`, with its unit and what surrounds it."""

    start: int
    end: int
    kind: Literal["value", "range", "below", "above"]
    lows: tuple[float, ...]
    highs: tuple[float, ...]
    text: str
    unit: Unit | None = None
    other_unit: str | None = None
    """A unit that no water reading has (`caps`, `litres`)."""
    aimed: bool = False
    """A number that is wanted, not read ("to 80")."""
    shy: bool = False


def as_reading(quantity: Quantity, key: str, habit: Unit | None = None) -> Said | Doubt:
    """The reading `key` that a quantity says, in its own unit, or what to ask.

    `habit` is the unit that the same person used for another hardness or alkalinity in the same breath.
    """
    unit = quantity.unit or (habit if key in _HARDNESS else None)
    if len(quantity.lows) > 1 and not _only_decimal(quantity, key):
        return Doubt("ambiguous_number", key, quantity.text, quantity.lows)
    if doubt := _unit_doubt(quantity, key, unit):
        return doubt
    if key == "temp" and unit not in {"celsius", "fahrenheit"}:
        unit = "fahrenheit" if 60.0 < max(quantity.highs[0], quantity.lows[0]) <= 130.0 else "celsius"
    low, high = (_converted(_pick(ends, key), key, unit) for ends in (quantity.lows, quantity.highs))
    least, most = _BELIEVABLE.get(key, POSSIBLE[key])
    if not (least <= low <= most and least <= high <= most):
        return Doubt("impossible", key, quantity.text, _meant(low, key) if low == high else ())
    return _said(quantity.kind, low, high)


def fits_habit(quantity: Quantity, key: str, habit: Unit | None) -> bool:
    """Whether a bare number may be in the degrees of a neighbour: nobody reads 120 French degrees, and where the number
    is usual in mg/L but not in those degrees (alkalinity 30 beside 8 dH), it is in mg/L.
    """
    if key not in _HARDNESS or quantity.lows[0] > 60.0:
        return False
    least, most = _USUAL[key]
    return quantity.lows[0] < least or _converted(quantity.lows[0], key, habit) <= most


def _said(kind: str, low: float, high: float) -> Said:
    low, high = round(min(low, high), 3), round(max(low, high), 3)
    if kind == "below":
        return Said("below", None, high)
    if kind == "above":
        return Said("above", low, None)
    return Said("range", low, high) if low < high else Said("value", low, low)


def _only_decimal(quantity: Quantity, key: str) -> bool:
    """Three decimals are what a pH meter shows; a point (not a comma) makes them plain for the small readings too."""
    if key == "ph":
        return any(4.0 <= v <= 11.0 for v in quantity.lows)
    return key in {"fc", "tc", "cc", "br", "temp"} and "." in quantity.text and "," not in quantity.text


def _pick(ends: tuple[float, ...], key: str) -> float:
    return min(ends) if len(ends) > 1 and key in {"ph", "fc", "tc", "cc", "br", "temp"} else ends[0]


def _unit_doubt(quantity: Quantity, key: str, unit: Unit | None) -> Doubt | None:
    value = quantity.lows[0]
    if key in _HARDNESS and unit in {"degree", "celsius"}:
        return Doubt("unit", key, quantity.text, (round(value * 10.0), round(value * 17.848)))
    if key == "temp" and unit in {None, "degree"} and 46.0 <= value <= 60.0:
        return Doubt("unit", key, quantity.text, (value, round((value - 32.0) / 1.8, 1)))
    return None


def _converted(value: float, key: str, unit: Unit | None) -> float:
    if key in _HARDNESS and unit == "fahrenheit":
        unit = "fh"
    if key in _HARDNESS and unit in _DEGREES_TO_MG:
        return value * _DEGREES_TO_MG[unit]
    if key in _HARDNESS and unit == "mmol":
        return value * _MMOL_TO_MG[key]
    if key == "temp" and unit == "fahrenheit":
        return (value - 32.0) / 1.8
    return value


def _meant(value: float, key: str) -> tuple[float, ...]:
    """A slipped decimal mark or minus: pH 74 is likely 7.4."""
    least, most = _USUAL.get(key, _BELIEVABLE.get(key, POSSIBLE[key]))
    tries = (value / 10.0, value / 100.0, -value) if value >= 0 else (-value,)
    return tuple(round(v, 2) for v in tries if least <= v <= most)[:1]
