"""What a balancing plan should believe and aim at, so that pH and alkalinity stay in range until the next test."""

from __future__ import annotations

from dataclasses import replace

from dosing.limits import Limits
from dosing.season.one import One
from dosing.season.tub import TENTH

_MIDDLE = 7.5
_SIDE = 0.15
_LEAST_PH, _MOST_PH = 7.3, 7.55
_LOW_ALKALINITY = 62.0
"""mg/L: below this a week of acid and splashing brings alkalinity under its range, and pH bounces."""
_AIM_ALKALINITY = 85.0


_KNOWN = 0.16
"""Standard deviation of pH up to which it is known well enough to be moved within its range: a pad of 7.2 or 7.8 alone
leaves more open.
"""
HORIZON_HOURS = 5 * 24.0
"""Until the next test, and a day's grace."""


def aims(one: One) -> Limits:
    """Limits for `dosing.plan`: pH starts low where it will climb, and is corrected before it leaves its range."""
    limits, now, then = one.tub.limits, one.ahead([0.0]), one.ahead([HORIZON_HOURS])
    low, high = limits.ph_fine
    rise = min(max(float(then.likely["ph"][0] - now.likely["ph"][0]) + one.lift, -0.3), 0.6)
    spread = float(then.high["ph"][0] - then.likely["ph"][0]) / TENTH
    fall = max(0.0, float(now.likely["ta"][0] - then.likely["ta"][0]))
    known = float(now.high["ph"][0] - now.low["ph"][0]) / (2.0 * TENTH) <= _KNOWN
    aim = min(max(_MIDDLE - 0.5 * rise, _LEAST_PH), _MOST_PH)
    upper = min(max(high - max(rise, 0.0) - 0.5 * spread, aim + _SIDE), high)
    lower = min(low + max(-rise, 0.0) + 0.3 * spread, aim - _SIDE)
    aim_ta = max(limits.alkalinity_aim, _AIM_ALKALINITY)
    floor = min(max(limits.alkalinity_fine[0], _LOW_ALKALINITY + fall), aim_ta - 10.0)
    return replace(
        limits,
        ph_aim=round(aim, 2),
        ph_fine=(round(lower, 2), round(upper, 2)) if known else limits.ph_fine,
        alkalinity_aim=aim_ta,
        alkalinity_fine=(round(floor, 1), limits.alkalinity_fine[1]),
    )
