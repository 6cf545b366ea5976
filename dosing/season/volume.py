"""Whether doses act as if the tub held quite another volume than it is said to."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from dosing.arrows import effect
from dosing.history import Addition, Past, Refill, Soak
from dosing.readings import Reading
from dosing.season.books import Finding
from dosing.season.one import One
from dosing.season.priors import DOSE

_WITHIN_HOURS = {"ta": 48.0, "ch": 14 * 24.0, "fc": 3.0}
"""How far apart two readings may lie for what was poured between to be what moved them."""
_LEAST_DOSE = {"ta": 15.0, "ch": 30.0, "fc": 2.0}
"""mg/L by the stated volume from which a dose tells anything of it."""
_FACTORS = np.exp(np.linspace(math.log(0.3), math.log(3.3), 97))
_USUAL = 0.35
"""Standard deviation of the logarithm of true over stated volume: a brochure's is a tenth off, and now and then gallons
pass for litres (common practice).
"""
_EYE = 1.2
"""A pad is matched with its neighbour now and then: so much wider is what it tells."""
_EATEN = 0.5
"""Share of a dose of chlorine that what bathers left may take before it is read."""
_GROSS = 4.0 / 3.0
_SURE = 0.95
_PAIRS = 2


@dataclass(frozen=True, slots=True)
class _Pair:
    """What two readings say a dose did, mg/L, against what it does in the stated volume."""

    key: str
    seen: float
    doubt: float
    dose: float


def volume_finding(one: One) -> list[Finding]:
    """That the stated volume is contradicted by more than a third, surely and by more than one dose; else nothing."""
    pairs = list(_pairs(one))
    if len(pairs) < _PAIRS:
        return []
    logarithm = -0.5 * (np.log(_FACTORS) / _USUAL) ** 2
    for pair in pairs:
        acts = pair.dose / _FACTORS
        missing = pair.seen - acts
        eaten = np.where((pair.key == "fc") & (missing < 0), _EATEN * acts, 0.0)
        variance = pair.doubt**2 + (DOSE * acts) ** 2 + eaten**2
        logarithm = logarithm - 0.5 * missing**2 / variance - 0.5 * np.log(variance)
    weight = np.exp(logarithm - logarithm.max())
    weight = weight / weight.sum()
    if max(weight[_FACTORS > _GROSS].sum(), weight[_FACTORS < 1.0 / _GROSS].sum()) < _SURE:
        return []
    factor = float(np.exp((weight * np.log(_FACTORS)).sum()))
    return [Finding("volume_contradicted", {"factor": round(factor, 2), "litres": round(factor * one.tub.volume, -1)})]


def _pairs(one: One) -> Iterator[_Pair]:
    events = sorted(one.history, key=lambda event: -event.hours_ago)
    readings = [at for at, event in enumerate(events) if isinstance(event, Reading) and not event.expired]
    for first, second in pairwise(readings):
        yield from _told_by(one, events[first], events[first + 1 : second], events[second])


def _told_by(one: One, before: Past, between: Sequence[Past], after: Past) -> Iterator[_Pair]:
    assert isinstance(before, Reading)
    assert isinstance(after, Reading)
    if any(isinstance(event, Refill) for event in between):
        return
    bathed = any(isinstance(event, Soak) and event.bathers for event in between)
    poured = [effect(event.substances).per(one.tub.volume) for event in between if isinstance(event, Addition)]
    doses = {
        "ta": sum(each.alkalinity_spent for each in poured),
        "ch": sum(each.hardness for each in poured),
        "fc": 0.0 if bathed else sum(each.chlorine for each in poured),
    }
    old, new = before.intervals(one.tub.scale), after.intervals(one.tub.scale)
    for key, dose in doses.items():
        near = before.hours_ago - after.hours_ago <= _WITHIN_HOURS[key]
        if not near or abs(dose) < _LEAST_DOSE[key] or key not in old or key not in new:
            continue
        ends = (old[key].low, old[key].high, new[key].low, new[key].high)
        if all(map(math.isfinite, ends)):
            width = math.hypot(ends[1] - ends[0], ends[3] - ends[2]) / math.sqrt(12.0)
            yield _Pair(key, 0.5 * (ends[2] + ends[3] - ends[0] - ends[1]), max(_EYE * width, 1e-6), dose)
