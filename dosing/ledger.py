"""What is booked of this water: readings and doses of the past carried forward to now.

Alkalinity, hardness, cyanurate and borate change only by what goes in and out, so an old reading plus the doses since
says where they are now, a little wider each day. Sanitizer and pH are not carried: bathers, heat and air move them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise
from statistics import median
from typing import Literal

from dosing.arrows import ACIDS, ALKALIES, BROMIDES, CARBONATES, OXIDISER, Effect, effect
from dosing.history import Addition, Past, Refill, Soak
from dosing.readings import PHYSICAL, Interval, Reading, Scale

CARRIED = ("ta", "ch", "cya", "borate")
WHOLE = 0.9
"""A refill of so great a share counts as a whole one (common practice)."""
DOSE_NOISE = 0.15
"""Share by which a spoon, a label and a stated volume may together be off (common practice)."""
# Down and up in mg/L a day, with top-up, splash and oxidant use that nobody wrote down (common practice).
_DRIFT = {"ta": (6.0, 4.0), "ch": (2.0, 3.0), "cya": (1.0, 0.2), "borate": (0.5, 0.1)}
_CHLORINE_HALF_LIFE_HOURS = 12.0
_ROUTINE_HOURS = 14 * 24.0
"""So far back doses tell the tub's present routine."""
_SITTING_HOURS = 6.0
"""Doses no farther apart belong to one sitting."""

Trend = Literal["steady", "climbing", "bouncing"]


@dataclass(frozen=True, slots=True)
class Ledger:
    """The history of one tub, oldest first, and what it adds up to. `volume` in litres, None while unknown."""

    events: tuple[Past, ...]
    volume: float | None
    scale: Scale
    _since_fill: tuple[Past, ...] = field(init=False, default=())

    def __post_init__(self) -> None:
        last = max((i for i, event in enumerate(self.events) if self._whole(event)), default=-1)
        object.__setattr__(self, "_since_fill", self.events[max(last, 0) :])

    @classmethod
    def of(cls, history: Sequence[Past], volume: float | None, scale: Scale) -> Ledger:
        """A history in any order."""
        return cls(tuple(sorted(history, key=lambda event: -event.hours_ago)), volume, scale)

    def _whole(self, event: Past) -> bool:
        if not isinstance(event, Refill):
            return False
        return event.litres is None or (self.volume is not None and event.litres >= WHOLE * self.volume)

    @property
    def since_fill(self) -> tuple[Past, ...]:
        """Everything from the last whole fill on; everything known if no fill is."""
        return self._since_fill

    @property
    def fill(self) -> Refill | None:
        """The last whole fill, if it is known."""
        first = self.since_fill[0] if self.since_fill else None
        return first if isinstance(first, Refill) and self._whole(first) else None

    @property
    def source(self) -> Reading | None:
        """What the fill water tested at, by the latest refill that says so."""
        return next((e.source for e in reversed(self.events) if isinstance(e, Refill) and e.source), None)

    @property
    def readings(self) -> list[Reading]:
        """The readings since the last whole fill, oldest first."""
        return [event for event in self.since_fill if isinstance(event, Reading)]

    @property
    def additions(self) -> list[Addition]:
        """The additions since the last whole fill, oldest first."""
        return [event for event in self.since_fill if isinstance(event, Addition)]

    def grams(self, names: Sequence[str], within_hours: float = float("inf")) -> float:
        """Grams of these substances that went in within so many hours."""
        recent = (a for a in self.additions if a.hours_ago <= within_hours)
        return float(sum(a.substances.get(name, 0.0) for a in recent for name in names))

    def rise(self, addition: Addition) -> Effect:
        """What an addition did to this tub, in mg/L. Nothing while the volume is unknown."""
        return _effect(tuple(addition.substances.items())).per(self.volume or float("inf"))

    def chlorine_left(self, within_hours: float = 72.0) -> float:
        """What may be left of the chlorine (mg/L) dosed since; by half every 12 h (common practice)."""
        recent = (a for a in self.additions if a.hours_ago <= within_hours)
        left = (self.rise(a).chlorine * math.exp2(-a.hours_ago / _CHLORINE_HALF_LIFE_HOURS) for a in recent)
        return sum(left)

    def hours_since_sanitizer(self) -> float | None:
        """Hours since sanitizer was last added or read to be there; None if nothing is known."""
        hours = [a.hours_ago for a in self.additions if effect(a.substances).sanitizes]
        for reading in self.readings:
            found = reading.intervals(self.scale)
            if any(found[key].low >= 1.0 for key in ("fc", "br") if key in found):
                hours.append(reading.hours_ago)
        return min(hours, default=None)

    def hours_to_next_dose(self, at_most: float) -> float:
        """Hours until sanitizer is due again by the last fortnight's routine; `at_most` without one, or long overdue.

        Doses of one sitting count once; a routine takes three. Nil, so that nothing is forecast, for a tub of which no
        day is known yet, and within a sitting: the retest of a dose shows what it did, what the water uses up is seen
        at the next test, and nobody chases a pad twice in an hour.
        """
        doses = [a.hours_ago for a in self.additions if a.hours_ago <= _ROUTINE_HOURS and self.rise(a).sanitizes]
        known = [*doses, *(reading.hours_ago for reading in self.readings)]
        if max(known, default=0.0) < at_most or min(doses, default=math.inf) <= _SITTING_HOURS:
            return 0.0
        sittings = [hours for before, hours in pairwise([math.inf, *doses]) if before - hours > _SITTING_HOURS]
        if len(sittings) < 3:
            return at_most
        usual = median(before - hours for before, hours in pairwise(sittings))
        due = usual - doses[-1]
        return min(max(due, 0.0), at_most) if due > -usual else at_most

    def used_by_bathers(self, within_hours: float, grams_per_hour: float) -> float:
        """mg/L of chlorine that bathers of the last so many hours have used up; 0 while the volume is unknown."""
        soaks = (e for e in self.since_fill if isinstance(e, Soak) and e.hours_ago < within_hours)
        hours = sum(soak.bathers * soak.minutes / 60.0 for soak in soaks)
        return hours * grams_per_hour * 1000.0 / self.volume if self.volume else 0.0

    def acid_doses(self, within_hours: float) -> int:
        """How many times acid went in within so many hours."""
        recent = (a for a in self.additions if a.hours_ago <= within_hours)
        return sum(any(name in ACIDS and grams > 0 for name, grams in a.substances.items()) for a in recent)

    def bromide_grams(self) -> float:
        """Grams of bromide salts and bromine donors in this fill."""
        return self.grams(BROMIDES)

    def oxidiser(self, within_hours: float) -> tuple[float, float] | None:
        """Hours since monopersulfate last went in, and its grams, within so many hours."""
        recent = [a for a in self.additions if a.hours_ago <= within_hours and a.substances.get(OXIDISER, 0.0) > 0]
        return (recent[-1].hours_ago, sum(a.substances[OXIDISER] for a in recent)) if recent else None

    def without_newest(self, key: str) -> Ledger:
        """The same history as if the newest reading of `key` had not been taken."""
        newest = next((event for event in reversed(self.readings) if key in event.values), None)
        return Ledger(tuple(event for event in self.events if event is not newest), self.volume, self.scale)

    def carry(self, key: str) -> Interval | None:
        """Where a conserved key ("ta", "ch", "cya", "borate") is now by past readings and doses; None if unknown."""
        state: Interval | None = None
        at = 0.0
        for event in self.since_fill:
            if state is not None:
                state = _drifted(key, state, at - event.hours_ago)
            state, at = self._after(key, state, event), event.hours_ago
        return _drifted(key, state, at) if state is not None else None

    def _after(self, key: str, state: Interval | None, event: Past) -> Interval | None:
        if isinstance(event, Reading):
            read = _closed(event.intervals(self.scale).get(key), key)
            return state if read is None else (read if state is None else read.meet(state) or read)
        if isinstance(event, Refill):
            return self._refilled(key, state, event)
        if isinstance(event, Addition) and state is not None:
            change = self.rise(event)
            ends = sorted((change.of(key), change.spent_of(key)))
            low, high = ends[0] - abs(ends[0]) * DOSE_NOISE, ends[1] + abs(ends[1]) * DOSE_NOISE
            low, high = max(0.0, state.low + low), max(0.0, state.high + high)
            return Interval(low, high, min(max(state.likely + change.spent_of(key), low), high))
        return state

    def _refilled(self, key: str, state: Interval | None, refill: Refill) -> Interval | None:
        fresh = _closed(refill.source.intervals(self.scale).get(key), key) if refill.source else None
        if fresh is None and key in {"cya", "borate"}:
            fresh = Interval(0.0, 0.0)
        if self._whole(refill) or fresh is None:
            return fresh
        if state is None or self.volume is None or refill.litres is None:
            return None
        share = refill.litres / self.volume
        kept, new = state.scaled(1 - share), fresh.scaled(share)
        return Interval(kept.low + new.low, kept.high + new.high, kept.likely + new.likely)

    def ph_trend(self, now: Reading | None) -> Trend:
        """Whether pH climbs or bounces by the last readings; steady until three say otherwise."""
        tests = [*self.readings[-4:], *([now] if now else [])]
        found = [r.intervals(self.scale)["ph"].likely for r in tests if "ph" in r.values]
        moves = [round(b - a, 6) for a, b in pairwise(found)]
        if len(moves) < 2:
            return "steady"
        if sum(abs(m) >= 0.4 for m in moves) >= 2 and max(moves) > 0 > min(moves):
            return "bouncing"
        return "climbing" if min(moves) >= 0 and round(found[-1] - found[0], 6) >= 0.3 else "steady"

    def doses_without_effect(self, now: Reading) -> tuple[str, int]:
        """The key that shows the same value after most corrective doses in a row, up to `now`, and how many."""
        streaks = {key: self._streak(key, now) for key in ("ta", "ph", "fc", "br", "ch")}
        key = max(streaks, key=lambda name: streaks[name])
        return key, streaks[key]

    def _streak(self, key: str, now: Reading) -> int:
        if key not in now.values:
            return 0
        tests = [r for r in (*self.readings, now) if key in r.values]
        count, direction, moved = 0, 0.0, 0.0
        for earlier, later in reversed(list(pairwise(tests))):
            since = min(earlier.hours_ago, later.hours_ago + _TELLS_WITHIN[key])
            between = [a for a in self.additions if later.hours_ago <= a.hours_ago <= since]
            push = sum(_push(key, a) for a in between)
            if earlier.values[key] != later.values[key] or push == 0 or push * direction < 0:
                break
            if self._undone(key, push, earlier.hours_ago, later.hours_ago):
                break
            count, direction = count + 1, push
            moved += sum(self.rise(a).alkalinity for a in between)
        return 0 if key == "ta" and abs(moved) < self._hides(now) else count

    def _undone(self, key: str, push: float, since: float, until: float) -> bool:
        """Whether what a dose did was taken back before the reading: acid by jets that ran only to drive carbon dioxide
        out, sanitizer by those who bathed.
        """
        soaks = [e for e in self.events if isinstance(e, Soak) and until <= e.hours_ago <= since]
        aired, bathed = any(e.bathers == 0 for e in soaks), any(e.bathers > 0 for e in soaks)
        return (push < 0 and key == "ph" and aired) or (push > 0 and key in ("fc", "br") and bathed)

    def _hides(self, now: Reading) -> float:
        """mg/L that alkalinity may move without another pad being named."""
        pad = now.intervals(self.scale)["ta"]
        return pad.high - pad.low if math.isfinite(pad.high) else pad.likely - pad.low


@lru_cache(maxsize=512)
def _effect(substances: tuple[tuple[str, float], ...]) -> Effect:
    return effect(dict(substances))


_TELLS_WITHIN = {"fc": 12.0, "br": 12.0, "ph": 48.0, "ta": 72.0, "ch": 72.0}
"""Hours after a dose in which a pad still shows it; later, use and drift may have undone it (common practice)."""


def _push(key: str, addition: Addition) -> float:
    """Which way an addition pushes a key on purpose: its sign counts, not its size."""
    if key in ("ph", "ta"):
        raises = CARBONATES if key == "ph" else ALKALIES
        return sum(grams * ((name in raises) - (name in ACIDS)) for name, grams in addition.substances.items())
    done = effect(addition.substances)
    return {"fc": done.chlorine, "br": done.as_bromine, "ch": done.hardness}[key]


def _drifted(key: str, state: Interval, hours: float) -> Interval:
    down, up = _DRIFT[key]
    days = max(0.0, hours) / 24.0
    low = max(0.0, state.low - down * days)
    return Interval(low, min(state.high + up * days, max(PHYSICAL[key][1], state.high)), max(low, state.likely))


def _closed(interval: Interval | None, key: str) -> Interval | None:
    return None if interval is None else interval.clipped(0.0, max(PHYSICAL[key][1], interval.low))
