"""Journals as arrays: each tub a row, each event a column, so that a fleet is learned in one pass."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields
from hashlib import blake2b

import numpy as np

from dosing.arrays import Array
from dosing.arrows import Effect, effect
from dosing.history import Addition, Past, Refill, Soak
from dosing.ledger import WHOLE
from dosing.readings import PHYSICAL, Interval, Reading
from dosing.season.priors import SPLASH, source_of
from dosing.season.tub import Tub
from dosing.substances import CL2

KEPT = ("cya", "solids", "hardness", "borate")
"""What stays in the water until it is changed."""
SIDES = 4.0
"""Standard deviations from end to end of what a tap may bring."""
_TENTH_MS = 9
"""Decimals of a day that count: the same journal has the same times whenever it is looked at."""
_BLUR = {"strip": 0.25, "drops": 0.5, "meter": 0.5}
"""Standard deviation of a test's bounds as a share of its interval: an eye tells a quarter of it (common practice)."""


@dataclass(frozen=True, slots=True)
class Timeline:
    """What happened, oldest first; arrays (tubs, events), filled up with nothing at the end.

    `days` passed since the event before (at the first, since nothing); then `fresh` is the share of the water that was
    changed for new, `jets` hours of jets, `bather_hours` of bathing; `oxidant` mg/L of sanitizer that went in (as Cl2,
    or Br2 in a bromine tub), `oxidiser` the same of monopersulfate; `alkalinity` mg/L that comes with it once its
    oxidant is used up, `dic` mmol/L; then the readings. `strip` is
    1 for those of a strip, `bottle` where a new bottle of strips was opened; `ago` hours from the event to now.
    """

    ago: Array
    days: Array
    fresh: Array
    jets: Array
    bather_hours: Array
    splash: Array
    oxidant: Array
    oxidiser: Array
    alkalinity: Array
    dic: Array
    sanitizer_low: Array
    sanitizer_high: Array
    sanitizer_blur: Array
    ph_low: Array
    ph_high: Array
    ph_blur: Array
    ta_low: Array
    ta_high: Array
    ta_blur: Array
    strip: Array
    bottle: Array
    source_ph: Array
    source_ta: Array
    source_spread: Array
    kept: Array
    """mg/L of each of KEPT that goes in, (tubs, events, 4)."""
    home_ta: Array
    """Alkalinity of the tap of each tub, (tubs,)."""
    tap: Array
    """mg/L of each of KEPT in the tap's water, its solids as nil, (tubs, 4)."""
    thickens: Array
    """mg/L of each of KEPT that the top-up of all the water would bring, (tubs, 4)."""
    counts: Array
    """Events of each tub, (tubs,)."""

    @property
    def tubs(self) -> int:
        """How many."""
        return int(self.counts.size)

    @property
    def events(self) -> int:
        """How many columns."""
        return int(self.days.shape[1])

    def keys(self, start: bytes) -> list[bytes]:
        """For each event of the first tub a key of all that happened up to it, whenever it is looked at."""
        rows = np.column_stack([*(getattr(self, name)[0] for name in _SCALARS if name != "ago"), self.kept[0]])
        digest = blake2b(start + self.home_ta.tobytes() + self.tap.tobytes() + self.thickens.tobytes(), digest_size=16)
        out = []
        for row in rows:
            digest.update(row.tobytes())
            out.append(digest.digest())
        return out

    def one(self, at: int) -> Timeline:
        """Of one tub."""
        return Timeline(*(getattr(self, field.name)[at : at + 1] for field in fields(self)))


_APART = ("kept", "home_ta", "tap", "thickens", "counts")
_SCALARS = [field.name for field in fields(Timeline) if field.name not in _APART]
_AT = {name: at for at, name in enumerate((*_SCALARS, *KEPT))}
_NOTHING = np.array([math.nan if name.endswith(("_low", "_high")) else 0.0 for name in _AT])


def timeline(tubs: Sequence[Tub], histories: Sequence[Sequence[Past]]) -> Timeline:
    """The journals of these tubs as arrays, and last a column of nothing that brings each tub to now."""
    return lined_up(tubs, [_rows(tub, history) for tub, history in zip(tubs, histories, strict=True)])


def lined_up(tubs: Sequence[Tub], rows: Sequence[Sequence[Array]]) -> Timeline:
    """The same from rows of `row_of`, oldest first."""
    counts = np.array([len(row) + 1 for row in rows])
    table = np.tile(_NOTHING, (len(rows), int(counts.max()), 1))
    for at, row in enumerate(rows):
        if row:
            table[at, : len(row)] = row
    ago = table[:, :, _AT["ago"]]
    before = np.concatenate([ago[:, :1], ago[:, :-1]], axis=1)
    table[:, :, _AT["days"]] = np.round(np.maximum(before - ago, 0.0) / 24.0, _TENTH_MS)
    taps = [source_of(tub) for tub in tubs]
    nil = np.zeros(len(taps))
    hardness, solids = (np.array([tap[key].likely for tap in taps]) for key in ("ch", "tds"))
    columns = {name: np.ascontiguousarray(table[:, :, _AT[name]]) for name in _SCALARS}
    return Timeline(
        **columns,
        kept=table[:, :, len(_SCALARS) :],
        home_ta=np.array([tap["ta"].likely for tap in taps]),
        tap=np.stack([nil, nil, hardness, nil], axis=1),
        thickens=np.stack([nil, solids, hardness, nil], axis=1),
        counts=counts,
    )


def _rows(tub: Tub, history: Sequence[Past]) -> list[Array]:
    events: list[Past] = sorted(history, key=lambda event: -event.hours_ago)
    if tub.filled_hours is not None and not any(isinstance(event, Refill) for event in events):
        events = [Refill(None, tub.filled_hours, tub.source), *(e for e in events if e.hours_ago <= tub.filled_hours)]
    first = events[0].hours_ago if events else 0.0
    rows = [opened(hours) for hours in tub.bottles if hours <= first] + [row_of(tub, event) for event in events]
    return sorted(rows, key=lambda row: -float(row[_AT["ago"]]))


def opened(hours_ago: float) -> Array:
    """The row of a new bottle of strips."""
    row = _NOTHING.copy()
    row[_AT["ago"]], row[_AT["bottle"]] = hours_ago, 1.0
    return row


def row_of(tub: Tub, event: Past) -> Array:
    """The row of an event of this tub."""
    row = _NOTHING.copy()
    row[_AT["ago"]] = event.hours_ago
    match event:
        case Refill():
            source = source_of(tub, event.source)
            whole = event.litres is None or event.litres >= WHOLE * tub.volume
            row[_AT["fresh"]] = 1.0 if whole else (event.litres or 0.0) / tub.volume
            row[_AT["source_ph"]], row[_AT["source_ta"]] = source["ph"].likely, source["ta"].likely
            row[_AT["source_spread"]] = (source["ta"].high - source["ta"].low) / SIDES
        case Soak(bathers=bathers, minutes=minutes):
            row[_AT["jets"]] = minutes / 60.0
            row[_AT["bather_hours"]] = bathers * minutes / 60.0
            row[_AT["splash"]] = bathers * SPLASH / tub.volume
        case Addition():
            _added(row, tub, effect(event.substances).per(tub.volume))
        case Reading():
            _read(row, tub, event)
    return row


def _added(row: Array, tub: Tub, dose: Effect) -> None:
    bromine = tub.sanitizer == "bromine"
    oxygen = dose.oxygen * CL2
    row[_AT["oxidant"]] = dose.as_bromine if bromine else dose.chlorine
    row[_AT["oxidiser"]] = 0.0 if bromine else oxygen
    row[_AT["alkalinity"]] = dose.alkalinity_spent
    row[_AT["dic"]] = dose.dic
    for key, brought in zip(KEPT, (dose.cyanurate, dose.solids, dose.hardness, dose.borate), strict=True):
        row[_AT[key]] = brought


def _read(row: Array, tub: Tub, reading: Reading) -> None:
    strip = reading.method == "strip"
    row[_AT["strip"]] = float(strip)
    if reading.expired:
        return
    for key, name in ((tub.key, "sanitizer"), ("ph", "ph"), ("ta", "ta")):
        interval = reading.intervals(tub.scale).get(key)
        if interval is not None:
            low, high, blur = _bounds(interval, key, _BLUR[reading.method])
            if name == "sanitizer" and strip and interval.likely <= tub.limits.none_below:
                low = -math.inf
            row[_AT[f"{name}_low"]], row[_AT[f"{name}_high"]], row[_AT[f"{name}_blur"]] = low, high, blur


def _bounds(interval: Interval, key: str, share: float) -> tuple[float, float, float]:
    """Bounds with open ends open, and the blur of either: a share of the gap to the next block."""
    low = interval.low if interval.low > 0.0 else -math.inf
    top = interval.high if math.isfinite(interval.high) else 2.0 * interval.likely - interval.low
    width = max(top - interval.low, 0.02 * (PHYSICAL[key][1] - PHYSICAL[key][0]))
    return low, interval.high, share * width
