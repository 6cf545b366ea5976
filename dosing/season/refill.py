"""When the water is changed: the earliest of what wears it out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from dosing.season.due import Due, earliest
from dosing.season.tub import Tub

LITRES_A_BATHER = 11.36
"""Days = litres / (11.36 x bathers a day): three US gallons each, Montana ARM 37.115 and Anchorage 16.15.260."""
BIOFILM_DAYS = 45.0
"""Where foam or slime was met, water is changed in half the usual time (common practice)."""
LEAST_DAYS = 7.0
HARDNESS_LIMIT = 400.0
"""mg/L as CaCO3: by top-ups alone; beyond it scale comes at any pH that bathers like (common practice)."""


@dataclass(frozen=True, slots=True)
class Worn:
    """What the books say of a water: its age in days, bathers (each of each soak) a day, and what it holds and gains a
    day of "cya", "solids" and "hardness" (mg/L).
    """

    age_days: float
    bathers_a_day: float
    holds: Mapping[str, float]
    gains: Mapping[str, float]


def refill_due(tub: Tub, worn: Worn) -> Due:
    """The earliest of the bather-load rule, solids, cyanurate, hardness, biofilm and the dealer's interval."""

    def at(days: float) -> float:
        return 24.0 * (days - worn.age_days)

    out = [Due(at(tub.refill_days), "interval", {"days": tub.refill_days})]
    if tub.local_refill_days is not None:
        out.append(Due(at(tub.local_refill_days), "local_rule", {"days": tub.local_refill_days}))
    if tub.biofilm:
        out.append(Due(at(min(BIOFILM_DAYS, tub.refill_days)), "biofilm", {"days": min(BIOFILM_DAYS, tub.refill_days)}))
    if worn.bathers_a_day > 0:
        days = max(LEAST_DAYS, tub.volume / (LITRES_A_BATHER * worn.bathers_a_day))
        numbers = {"litres": tub.volume, "bathers_a_day": round(worn.bathers_a_day, 2), "days": round(days)}
        out.append(Due(at(days), "bather_load", numbers))
    limits = {
        "solids": ("over_start", tub.limits.solids_over_start),
        "cya": ("cya", tub.limits.cyanurate_change),
        "hardness": ("ch", HARDNESS_LIMIT),
    }
    for key, (name, limit) in limits.items():
        gain = worn.gains[key]
        if gain > 0 or worn.holds[key] >= limit:
            hours = 24.0 * max(0.0, limit - worn.holds[key]) / max(gain, 1e-6)
            numbers = {name: round(worn.holds[key], 1), "limit": limit, "a_day": round(gain, 2)}
            code = {"solids": "solids", "cya": "cyanurate", "hardness": "hardness"}[key]
            out.append(Due(min(hours, 24.0 * 3650), code, numbers))  # type: ignore[arg-type]
    return earliest(out)
