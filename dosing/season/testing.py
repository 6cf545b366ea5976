"""When to test next: as early as something may leave its range, as late as the standards allow."""

from __future__ import annotations

import numpy as np

from dosing.history import Soak
from dosing.readings import Reading
from dosing.season.due import Due, TestCode, earliest
from dosing.season.one import One

FIRST_WEEK = (1, 2, 4, 7)
"""Days after a fill on which fresh water is tested: pH climbs as it warms and the jets run (common practice)."""
PARTY = 4.0
"""Bather-hours within a day and a half that ask for a test on the next day: some five times an evening for two."""
AFTER_PARTY_HOURS = 16.0
BAD_READING_HOURS, LEFT_HOURS = 48.0, 24.0
"""After a reading out of range, and after one for which nothing was poured."""
APART_HOURS, APART_PH_HOURS = 84.0, 60.0
"""Two tests a week at most, where nothing is wrong; nearly three where pH climbs fast."""
LOWERING_HOURS = 21 * 24.0
"""So long after a fill alkalinity is brought down day by day."""
CHANCE, CHANCE_PH = 0.25, 0.2
"""Of being out of range, from which a test is worth its strip."""
UNSURE, UNSURE_HOURS = 2.5, 20.0
"""Standard deviation of the sanitizer, mg/L, from which no dose is right without another test, and how soon after one
that is.
"""
_RECENT_HOURS = 36.0
_FORECASTS: tuple[tuple[str, TestCode, float, float], ...] = (
    ("sanitizer", "forecast_sanitizer", APART_HOURS, CHANCE),
    ("ph", "forecast_ph", APART_PH_HOURS, CHANCE_PH),
    ("ta", "forecast_alkalinity", APART_HOURS, CHANCE),
)


def test_due(one: One) -> Due:
    """The earliest of all reasons to test, the others behind it."""
    read, fill = one.last_read, one.filled_hours
    if read is None:
        return Due(0.0, "nothing_read")
    since = read.hours_ago
    if fill is not None and fill < since:
        return Due(0.0, "after_refill")
    out = [Due(24.0 * one.tub.test_days - since, "at_least_weekly", {"days": one.tub.test_days})]
    if fill is not None:
        days = [day for day in FIRST_WEEK if 24.0 * day > fill - since + 12.0]
        out += [Due(24.0 * day - fill, "first_week", {"day": float(day)}) for day in days[:1]]
    settled = AFTER_PARTY_HOURS - min((e.hours_ago for e in one.history if isinstance(e, Soak)), default=since)
    party = _bather_hours(one, min(since, _RECENT_HOURS))
    if party >= PARTY:
        out.append(Due(settled, "after_party", {"bather_hours": round(party, 1)}))
    if not _fine(one, read):
        hours = BAD_READING_HOURS if one.base >= one.least else LEFT_HOURS
        out.append(Due(hours - since, "bad_reading"))
    if fill is not None and fill < LOWERING_HOURS and _alkaline(one):
        out.append(Due(24.0 - since, "lowering_alkalinity", {"ta": round(one.alkalinity)}))
    if _unsure(one):
        chance = 1.0 - float(one.ahead([0.0]).fine["sanitizer"][0])
        out.append(Due(max(UNSURE_HOURS - since, settled), "forecast_sanitizer", {"chance": round(chance, 2)}))
    return earliest([*out, *_leaves(one, since, min(due.hours for due in out))])


def _alkaline(one: One) -> bool:
    return one.alkalinity > one.tub.limits.alkalinity_fine[1]


def _bather_hours(one: One, within: float) -> float:
    soaks = (e for e in one.history if isinstance(e, Soak) and e.hours_ago < within)
    return sum(soak.bathers * soak.minutes / 60.0 for soak in soaks)


def _fine(one: One, reading: Reading) -> bool:
    found = reading.intervals(one.tub.scale)
    sanitizer, ph = found[one.tub.key], found.get("ph")
    low, high = one.tub.limits.ph_bounds
    return 0.5 * one.least <= sanitizer.likely <= one.bound and (ph is None or low <= ph.likely <= high)


def _unsure(one: One) -> bool:
    """Whether bathers, or a silence, left the level open."""
    return one.level(0.84) - one.level(0.16) > 2.0 * UNSURE


def _leaves(one: One, since: float, before: float) -> list[Due]:
    """When the forecast says that something is likely enough to leave its range, if that is before so many hours."""
    spans = [np.arange(max(0.0, apart - since), before, 24.0) for _, _, apart, _ in _FORECASTS]
    hours = np.unique(np.concatenate(spans))
    if not hours.size:
        return []
    fine = one.ahead([float(hour) for hour in hours]).fine
    out = []
    for (key, code, _, chance), span in zip(_FORECASTS, spans, strict=True):
        outside = 1.0 - fine[key][np.isin(hours, span)]
        likely = np.flatnonzero(outside > chance)
        if likely.size:
            at = int(likely[0])
            out.append(Due(float(span[at]), code, {"chance": round(float(outside[at]), 2)}))
    return out
