"""Filling and heating a tub: how much it holds, how long the hose runs, how long the heater takes. Pure arithmetic."""

import math
from dataclasses import dataclass
from typing import Literal

Shape = Literal["round", "oval", "rectangular"]
Inside = Literal["seats", "open"]

SPECIFIC_HEAT = 4.18
"""kJ/(kg K) of liquid water between 10 and 40 degC, where it lies between 4.178 and 4.192: W. Wagner and A. Pruss,
J. Phys. Chem. Ref. Data 31 (2002) 387 (the IAPWS-95 formulation)."""
DENSITY = 0.997
"""kg/L of water at 25 degC (0.9997 at 10 degC, 0.992 at 40 degC), same source."""
KJ_PER_KWH = 3600.0

LOSS_SHARE = 0.15
"""Share of the heater's energy that leaves through shell, cover and pipes while a covered tub heats up.
Common practice: a tenth for a well insulated tub in mild air, a quarter in frost."""

SEATED_SHARE = (0.70, 0.80, 0.90)
"""Least, likely and greatest share of the outer measurements that is water, where seats and a footwell are moulded into
the shell. Common practice."""
OPEN_SHARE = (0.95, 1.0, 1.0)
"""The same for straight walls and no seats: only the rounding of the edges is lost. Common practice."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """Litres: the least, the likely and the greatest."""

    low: float
    likely: float
    high: float


def flow_rate(litres: float, seconds: float) -> float:
    """Litres a minute of a hose that fills a bucket of `litres` in `seconds`. ValueError unless both are above 0."""
    return _above_zero("bucket", litres) / _above_zero("time", seconds) * 60.0


def fill_minutes(volume: float, litres_a_minute: float) -> float:
    """Minutes that a hose needs for `volume` litres. ValueError unless both are above 0."""
    return _above_zero("volume", volume) / _above_zero("flow", litres_a_minute)


def filled_volume(litres_a_minute: float, minutes: float) -> float:
    """Litres that a hose gave in that time. ValueError unless both are above 0."""
    return _above_zero("flow", litres_a_minute) * _above_zero("time", minutes)


def heat_up_hours(
    volume: float, heater_kw: float, start: float, target: float, *, loss_share: float = LOSS_SHARE
) -> float:
    """Hours until `volume` litres have gone from `start` to `target` degC, cover closed.

    Energy is mass times specific heat times the difference; of the heater's power, `loss_share` (0 up to, not
    including, 1) does not stay in the water. 0 where the water is warm already. ValueError for anything outside.
    """
    if not 0 <= loss_share < 1:
        raise ValueError(f"the share lost lies from 0 up to, not including, 1; {loss_share} does not")
    if not (math.isfinite(start) and math.isfinite(target)):
        raise ValueError("temperatures are numbers of degrees Celsius")
    power = _above_zero("heater power", heater_kw) * (1.0 - loss_share)
    energy = _above_zero("volume", volume) * DENSITY * SPECIFIC_HEAT * max(0.0, target - start) / KJ_PER_KWH
    return energy / power


def volume_of(shape: Shape, length: float, width: float, depth: float, inside: Inside = "seats") -> Estimate:
    """Litres in a tub of that shape, from its inner measurements at the water line and the water's depth, all in cm.

    `width` is the other diameter of an oval tub; a round one has both alike. Seats and footwell displace water, so a
    seated tub is an estimate within about a tenth either way. ValueError unless all are above 0.
    """
    area = _above_zero("length", length) * _above_zero("width", width)
    if shape != "rectangular":
        area *= math.pi / 4.0
    outer = area * _above_zero("depth", depth) / 1000.0
    low, likely, high = SEATED_SHARE if inside == "seats" else OPEN_SHARE
    return Estimate(low * outer, likely * outer, high * outer)


def _above_zero(name: str, value: float) -> float:
    if not (math.isfinite(value) and value > 0):
        raise ValueError(f"the {name} is a number above 0, not {value}")
    return value
