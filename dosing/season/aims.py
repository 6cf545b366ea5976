"""What a balancing plan should believe and aim at, so that pH and alkalinity stay in range until the next test."""

from __future__ import annotations

import math
from dataclasses import replace

from dosing.limits import Limits
from dosing.season.drift import JETS
from dosing.season.one import One
from dosing.season.priors import DOSE
from dosing.season.tub import TENTH

_MIDDLE = 7.5
_SIDE = 0.15
_LEAST_PH, _MOST_PH, _LEAST_UPPER = 7.35, 7.55, 7.54
_KNOWN = 0.16
"""Standard deviation of pH up to which it is known well enough to be moved within its range: a pad of 7.2 or 7.8 alone
leaves more open.
"""
_ACID_WHOLE = 25.0
"""g per 1,000 L of acid that goes in at once where pH is known so well."""
_LOW_ALKALINITY = 62.0
"""mg/L: below this a week of acid and splashing brings alkalinity under its range, and pH bounces."""
_AIM_ALKALINITY = 85.0
_HIGH_ALKALINITY = 107.0
"""mg/L from which alkalinity comes down where pH climbs: a pad of 120 reads up to a tenth off."""
_FAR_ALKALINITY = 114.0
"""mg/L from which it does so by several steps a day: as it is believed, which is a tenth off."""
_LIFTED = 8.5
"""pH that a dose of hypochlorite may reach, since it takes its base back as it is used up."""
_AIR_MINUTES = 180
_CLIMBS = 0.03
_ACID_TO, _AIR_FIRST, _AIRED_TO, _AIRED_FAR, _NO_CEILING = 7.25, 7.3, 7.7, 8.0, 8.3
"""pH down to which acid takes high alkalinity, below which air comes first, and to which air brings it back."""
_ACID_FAR = 40.0
"""g per 1,000 L of acid at once where alkalinity is far above its range: so buffered a water moves slowly."""
_AIRED_MOST, _SCALES, _FASTER = 8.5, 1.3, 1.3
"""pH and saturation index that air may reach for a night where the next acid brings them down again, and by what
factor the jets may be faster than they are believed to be.
"""
_BASED = 7.62
"""pH that a dose for alkalinity may bring the most likely water to: soft water climbs with it, and the pad is off."""
HORIZON_HOURS = 5 * 24.0
"""Until the next test, and a day's grace."""


def aims(one: One) -> Limits:
    """Limits for `dosing.plan`: pH starts low where it will climb, and is corrected before it leaves its range.

    Sanitizer is brought to the peak of the routine, and what bathers left is met: no plan looks further ahead than
    that, since the routine then holds it.
    """
    limits, now, then = one.tub.limits, one.ahead([0.0]), one.ahead([HORIZON_HOURS])
    rise = min(max(float(then.likely["ph"][0] - now.likely["ph"][0]) + one.lift, -0.3), 0.6)
    fall = max(0.0, float(now.likely["ta"][0] - then.likely["ta"][0]))
    spread = float(then.high["ph"][0] - then.likely["ph"][0]) / TENTH
    held = _balanced(limits, rise, spread, fall)
    if (now.high["ph"][0] - now.low["ph"][0]) / (2.0 * TENTH) > _KNOWN:
        held = replace(held, ph_fine=limits.ph_fine, acid_whole=limits.acid_whole)
    air = _air_rate(one)
    far = lowers(one)
    if far or (float(now.likely["ta"][0]) > _HIGH_ALKALINITY and rise > _CLIMBS):
        held, air = _lowering(held, far=far), (air[0], air[1], min(air[2], _FASTER * air[1]))
    return replace(held, **_sanitized(one), air_rate=air)  # type: ignore[arg-type]


def startup(limits: Limits) -> Limits:
    """Limits for new water, of which little is known."""
    return replace(limits, ph_based=_BASED)


def lowers(one: One) -> bool:
    """Whether alkalinity is so far above its range that it comes down by several steps of acid and air a day."""
    return one.alkalinity > _FAR_ALKALINITY


def _balanced(limits: Limits, rise: float, spread: float, fall: float) -> Limits:
    low, high = limits.ph_fine
    aim = min(max(_MIDDLE - 0.5 * rise, _LEAST_PH), _MOST_PH)
    upper = min(max(high - 0.7 * max(rise, 0.0) - 0.3 * spread, _LEAST_UPPER), high)
    lower = min(low + max(-rise, 0.0) + 0.3 * spread, aim - _SIDE)
    aim_ta = max(limits.alkalinity_aim, _AIM_ALKALINITY)
    floor = min(max(limits.alkalinity_fine[0], _LOW_ALKALINITY + fall), aim_ta - 10.0)
    return replace(
        limits,
        ph_aim=round(aim, 2),
        ph_fine=(round(lower, 2), round(upper, 2)),
        alkalinity_aim=aim_ta,
        alkalinity_fine=(round(floor, 1), limits.alkalinity_fine[1]),
        ph_dosed=(low, limits.ph_dosed[1]),
        ph_based=_BASED,
        ph_bounds=(limits.ph_bounds[0], _LIFTED),
        acid_whole=_ACID_WHOLE,
        acid_overdose=1.5 * DOSE,
    )


def _lowering(limits: Limits, *, far: bool) -> Limits:
    """Alkalinity down over days: acid as far as pH allows, then air, and so again. Where it is `far` above its range
    air may lift pH higher, so that the next acid finds more room.
    """
    return replace(
        limits,
        ph_aim=_AIRED_FAR if far else _AIRED_TO,
        acid_step=_ACID_FAR if far else limits.acid_step,
        ph_fine=(_AIR_FIRST, _NO_CEILING),
        ph_dosed=(limits.ph_dosed[0], _AIRED_MOST),
        saturation_bound=_SCALES,
        air_minutes=(limits.air_minutes[0], _AIR_MINUTES),
        alkalinity_acid_to=_ACID_TO,
        alkalinity_high=_HIGH_ALKALINITY,
        alkalinity_fine=(limits.alkalinity_fine[0], _HIGH_ALKALINITY),
    )


def _sanitized(one: One) -> dict[str, float]:
    peak = round(min(one.bound, float(one.routine.peak[0]) + max(0.0, -one.sanitizer[0])), 1)
    if one.tub.key == "br":
        return {"bromine_aim": max(peak, one.tub.limits.bromine_aim)}
    return {"chlorine_aim": max(peak, one.tub.limits.chlorine_aim), "chlorine_loss": 0.0}


def _air_rate(one: One) -> tuple[float, float, float]:
    """As it was learned of this tub; a tub whose jets do nothing stays possible."""
    mean = float(one.belief.balance.mean[0, JETS])
    root = math.sqrt(float(one.belief.balance.spread[0, JETS, JETS]))
    usual, fast = math.exp(mean), math.exp(mean + 2.0 * root)
    return (0.0, round(usual, 3), round(fast, 3))
