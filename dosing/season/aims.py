"""What a balancing plan should believe and aim at, so that pH and alkalinity stay in range until the next test."""

from __future__ import annotations

from dataclasses import dataclass, replace

from dosing.limits import Limits

_MIDDLE = 7.5
_SIDE = 0.15
_LEAST_PH, _MOST_PH = 7.3, 7.55
_LOW_ALKALINITY = 62.0
"""mg/L: below this a week of acid and splashing brings alkalinity under its range, and pH bounces."""
_AIM_ALKALINITY = 85.0


@dataclass(frozen=True, slots=True)
class Course:
    """Where pH and alkalinity are heading until the next test, if nothing is done: the move and the spread there."""

    ph_rise: float
    ph_spread: float
    alkalinity_move: float
    alkalinity_spread: float


def aimed(limits: Limits, course: Course) -> Limits:
    """Limits for `dosing.plan`: pH starts low where it will climb, and is corrected before it leaves its range."""
    low, high = limits.ph_fine
    rise = min(max(course.ph_rise, -0.3), 0.6)
    aim = min(max(_MIDDLE - 0.5 * rise, _LEAST_PH), _MOST_PH)
    upper = max(high - max(rise, 0.0) - 0.5 * course.ph_spread, aim + _SIDE)
    lower = min(low + max(-rise, 0.0) + 0.3 * course.ph_spread, aim - _SIDE)
    floor = max(limits.alkalinity_fine[0], _LOW_ALKALINITY - max(0.0, course.alkalinity_move))
    aim_ta = max(limits.alkalinity_aim, _AIM_ALKALINITY)
    return replace(
        limits,
        ph_aim=round(aim, 2),
        ph_fine=(round(lower, 2), round(min(upper, high), 2)),
        alkalinity_aim=aim_ta,
        alkalinity_fine=(round(min(floor, aim_ta - 10.0), 1), limits.alkalinity_fine[1]),
    )
