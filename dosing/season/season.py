"""The season of one tub: what it does, where its water is, the card, the next test, the next refill."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np

from dosing.history import Addition, Past, Refill, Soak
from dosing.job import Purpose
from dosing.limits import Limits
from dosing.planner import plan
from dosing.readings import Reading, Said
from dosing.region import hocl_at_worst
from dosing.season.ahead import TENTH, Forecast, forecast
from dosing.season.aims import Course, aimed
from dosing.season.belief import Belief
from dosing.season.card import Card, CardCode, NoCard, chosen, rounded, step_of, strength
from dosing.season.drift import ALKALINITY, CREEP, JETS, PAD, PH, RESTS
from dosing.season.due import Due, earliest
from dosing.season.habits import Habits
from dosing.season.priors import EVAPORATION, OFFSET, loss_of
from dosing.season.refill import Worn, refill_due
from dosing.season.routine import Routine
from dosing.season.timeline import KEPT, Timeline
from dosing.season.tub import Estimate, Tub
from dosing.steps import Doubt, Plan

Sure = Literal["guess", "learning", "known"]
DoseCode = Literal["after_soak", "idle"]
_SITTING_HOURS = 6.0


@dataclass(frozen=True, slots=True)
class Learned:
    """What a tub does. `loss` is the fraction of sanitizer lost in a day at rest, `demand` g of Cl2 that one bather
    uses in an hour; `air` and `rest` the shares of the excess carbon dioxide lost in an hour of jets and in a day
    without; `alkalinity` mg/L that it moves by itself in a week; `ph_offset` what this bottle's pH pad reads too high.
    """

    loss: Estimate
    demand: Estimate
    air: Estimate
    rest: Estimate
    alkalinity: Estimate
    ph_offset: Estimate
    soaks_a_week: float
    bather_hours_a_week: float
    readings: int
    sure: Sure


@dataclass(frozen=True, slots=True)
class Books:
    """mg/L in the water (solids over the fill's), and what is gained a day. `active` HOCl at the likely free chlorine
    by the unfavourable convention, `wanted` what 3 mg/L gives at 30 mg/L of cyanurate (mg/L as Cl2).
    """

    cya: Estimate
    solids: Estimate
    hardness: Estimate
    borate: Estimate
    per_day: Mapping[str, float]
    active: float
    wanted: float


@dataclass(frozen=True, slots=True)
class Dose:
    """Grams of a product now; `level` mg/L of sanitizer before, `predicted` after."""

    product: str
    grams: float
    code: DoseCode
    level: Estimate
    predicted: Estimate


@dataclass(frozen=True)
class Season:
    """One tub. Everything is computed from its journal when it is asked for."""

    tub: Tub
    history: Sequence[Past]
    line: Timeline
    belief: Belief
    habits: Habits
    routine: Routine

    # -- what it does, and where it is

    @cached_property
    def learned(self) -> Learned:
        """What this tub does."""
        level, balance = self.belief.level, self.belief.balance
        grams = self.tub.volume / 1000.0 / self._factor
        count = int(np.sum(~np.isnan(self.line.sanitizer_low)))
        low, mid, high = (float(level.rates(share)[0]) for share in (0.1, 0.5, 0.9))
        width = math.log(high / low) / (2.0 * TENTH * loss_of(self.tub).spread)
        sure: Sure = "guess" if not count or width > 0.9 else "learning" if width > 0.5 else "known"
        drift = self._gaussian(CREEP)
        return Learned(
            Estimate(*(1.0 - math.exp(-rate) for rate in (low, mid, high))),
            Estimate(*(grams * float(level.demands(share)[0]) for share in (0.1, 0.5, 0.9))),
            self._share(JETS),
            self._share(RESTS),
            Estimate(7.0 * drift.low, 7.0 * drift.likely, 7.0 * drift.high),
            self._gaussian(PAD),
            round(7.0 * float(self.habits.soaks[0]), 2),
            round(7.0 * float(self.habits.bather_hours_a_day[0]), 2),
            count,
            sure,
        )

    @cached_property
    def now(self) -> Mapping[str, Estimate]:
        """Where the water is, by everything that is known: "fc" or "br", "ph", "ta"."""
        found = forecast(self.belief, self.habits, None, [0.0], [self.tub])
        return {name: _estimate(found, key, 0) for name, key in self._names}

    @cached_property
    def books(self) -> Books:
        """What has gathered in this water."""
        held, root = self.belief.held[0], np.sqrt(self.belief.unsure[0])
        four = [
            Estimate(*(round(max(0.0, float(mid + z * one)), 2) for z in (-TENTH, 0.0, TENTH)))
            for mid, one in zip(held, root, strict=True)
        ]
        ph = min(max(float(self.belief.balance.mean[0, PH]), 6.8), 8.4)
        temperature, limits = self.tub.temperature, self.tub.limits
        level = 0.0 if self.tub.key == "br" else self.now["fc"].likely
        active = hocl_at_worst(max(level, 0.01), four[0].likely, ph, temperature)
        wanted = hocl_at_worst(limits.chlorine_fine[0], limits.cyanurate_warn, ph, temperature)
        return Books(*four, per_day=self._gains, active=round(active, 4), wanted=round(wanted, 4))

    def forecast(self, hours: Sequence[float], *, follow_card: bool = True) -> Forecast:
        """The water at these hours from now, while the card is followed or nothing is added."""
        found = forecast(self.belief, self.habits, self.routine if follow_card else None, hours, [self.tub]).of(0)
        return found.named(dict((key, name) for name, key in self._names))

    # -- the routine

    @cached_property
    def no_card(self) -> NoCard | None:
        """Why there is no card; None where there is one."""
        read = self._last_read
        if read is None:
            return "no_reading"
        if read.hours_ago > 24.0 * self.tub.test_days:
            return "test_overdue"
        if self._base < self._least - 0.5:
            return "reading_not_fine"
        if self._product is None:
            return "no_product"
        return None

    @cached_property
    def card(self) -> Card | None:
        """The personal card."""
        if self.no_card is not None or self._product is None or self._last_read is None:
            return None
        each = strength(self.tub, self._product)
        step = step_of(self._product)
        most = self._rises / each
        routine = {name: float(getattr(self.routine, name)[0]) for name in ("days", "idle", "each_soak", "peak")}
        trough = routine["peak"] - routine["idle"]

        def grams(mg_per_litre: float) -> float:
            return rounded(mg_per_litre / each, step, most)

        return Card(
            product=self._product.key,
            each_soak=grams(routine["each_soak"]),
            each_bather_hour=round(float(self.routine.each_bather_hour[0]) / each, 2),
            idle_days=int(routine["days"]),
            idle=grams(routine["idle"]),
            first_idle_hours=self._hours_down_to(trough),
            before_holiday=grams(self._top - 0.5 - trough),
            after_holiday=grams(routine["peak"]),
            most=rounded(most, step, most),
            rises=round(self._rises, 2),
            good_for_hours=max(0.0, 24.0 * self.tub.test_days - self._last_read.hours_ago),
            step=step,
            code=self._card_code(),
        )

    def dose(self, soak: Soak | None = None) -> Dose | None:
        """What to add now: after this soak (not yet in the history), or, without one, because it is time."""
        card, product = self.card, self._product
        if card is None or product is None:
            return None
        level = self.belief.level
        if soak is not None:
            level = level.bathed(np.array([soak.bathers * soak.minutes / 60.0]))
        each, peak = strength(self.tub, product), float(self.routine.peak[0])
        mean = float(np.sum(level.weight * level.mean))
        spread = math.sqrt(float(np.sum(level.weight * (level.variance + (level.mean - mean) ** 2))))
        worth = 0.5 * float(self.routine.idle[0]) if soak is None else 0.0
        wanted = min(peak - mean, self._rises, (self._top - max(0.0, mean + spread)) / 1.1)
        grams = rounded(wanted / each, card.step, card.most)
        if wanted <= max(worth, 0.3) or grams <= 0:
            return None
        before = _gauss(mean, spread)
        after = _gauss(mean + grams * each, math.hypot(spread, 0.17 * grams * each))
        return Dose(product.key, grams, "idle" if soak is None else "after_soak", before, after)

    # -- tests, plans, refills

    @cached_property
    def test(self) -> Due:
        """When to test next."""
        read = self._last_read
        since = math.inf if read is None else read.hours_ago
        fill = self._fill_hours
        if read is None or (fill is not None and fill < since):
            return Due(0.0, "nothing_read" if read is None else "after_refill")
        out = [Due(24.0 * self.tub.test_days - since, "at_least_weekly", {"days": self.tub.test_days})]
        if fill is not None:
            days = [day for day in FIRST_WEEK if 24.0 * day - fill > -since + 12.0]
            out += [Due(24.0 * days[0] - fill, "first_week", {"day": float(days[0])})] if days else []
        party = sum(
            e.bathers * e.minutes / 60.0 for e in self.history if isinstance(e, Soak) and e.hours_ago < min(since, 36.0)
        )
        if party >= PARTY_BATHER_HOURS:
            out.append(Due(16.0, "after_party", {"bather_hours": round(party, 1)}))
        if not self._fine(read):
            out.append(Due(BAD_READING_HOURS - since, "bad_reading"))
        out += self._leaves(since)
        return earliest(out)

    def plan(self, reading: Reading, purpose: Purpose = "test") -> Plan:
        """The plan for a reading that is the newest of the history: what is known of this tub narrows it.

        Where the reading itself is doubted, the plan is that of the reading as it was said.
        """
        history = [event for event in self.history if event is not reading]
        known = {
            "volume": self.tub.volume, "sanitizer": self.tub.sanitizer, "kit": self.tub.kit, "scale": self.tub.scale,
            "history": history, "temperature": self.tub.temperature, "purpose": purpose,
        }  # fmt: skip
        plain = plan(reading=reading, limits=self.tub.limits, **known)  # type: ignore[arg-type]
        if purpose != "test" or plain.status == "withheld" or {doubt.code for doubt in plain.doubts} & _STANDS:
            return plain
        return plan(reading=self.reading(reading), limits=self.limits, **known)  # type: ignore[arg-type]

    def reading(self, reading: Reading) -> Reading:
        """A reading narrowed by what is known of this tub, and without what the bottle's pad is off."""
        values = dict(reading.values)
        for name, _ in self._names:
            if name in values:
                now = self.now[name]
                low, high = max(0.0, now.low), max(0.01, now.high)
                values[name] = Said("range", round(low, 3), round(max(high, low + 0.002), 3))
        return Reading(values, reading.method, reading.hours_ago, reading.after_dose, reading.expired)

    @cached_property
    def limits(self) -> Limits:
        """Limits for a plan, with aims that keep pH and alkalinity in range until the next test."""
        ahead = forecast(self.belief, self.habits, self.routine, [24.0 * HORIZON_DAYS], [self.tub])
        now = self.belief.balance
        root = (float(ahead.high["ph"][0, 0]) - float(ahead.likely["ph"][0, 0])) / TENTH
        return aimed(
            self.tub.limits,
            Course(
                float(ahead.likely["ph"][0, 0] - now.mean[0, PH]),
                root,
                float(ahead.likely["ta"][0, 0]) - self.now["ta"].likely,
                (float(ahead.high["ta"][0, 0]) - float(ahead.likely["ta"][0, 0])) / TENTH,
            ),
        )

    @cached_property
    def wants_better_ph(self) -> bool:
        """Whether a better pH (a shop's, a drop test) would tell more than further strips of this bottle."""
        spread = math.sqrt(float(self.belief.balance.spread[0, PAD, PAD]))
        strips = sum(isinstance(e, Reading) and e.method == "strip" for e in self.history)
        return spread > 0.6 * OFFSET and strips >= 2

    @cached_property
    def refill(self) -> Due:
        """When to change the water, and why."""
        age = self._fill_hours if self._fill_hours is not None else max((e.hours_ago for e in self.history), default=0.0)
        held = self.belief.held[0]
        bathers = float(self.habits.soaks[0] * self.habits.bathers[0])
        return refill_due(self.tub, Worn(age / 24.0, bathers, dict(zip(KEPT, map(float, held), strict=True)), self._gains))

    @cached_property
    def doubts(self) -> tuple[Doubt, ...]:
        """What should be told, beside the doubts of a single reading."""
        out = []
        books, limits = self.books, self.tub.limits
        if self.tub.key == "fc" and books.cya.likely > limits.cyanurate_warn and books.active < books.wanted:
            aim = min(limits.chlorine_bathing[1], limits.chlorine_fine[0] * books.cya.likely / limits.cyanurate_warn)
            out.append(Doubt("active_chlorine_low", "fc", {"fc": round(self.now["fc"].likely, 1), "cya": round(books.cya.likely), "aim": round(aim, 1)}))  # type: ignore[arg-type]
        return tuple(out)

    # -- from the journal

    @property
    def _names(self) -> tuple[tuple[str, str], ...]:
        return (self.tub.key, "sanitizer"), ("ph", "ph"), ("ta", "ta")

    @property
    def _factor(self) -> float:
        return 2.2538 if self.tub.key == "br" else 1.0

    @property
    def _top(self) -> float:
        limits = self.tub.limits
        return limits.bromine_bound if self.tub.key == "br" else limits.chlorine_bound

    @property
    def _least(self) -> float:
        limits = self.tub.limits
        return (limits.bromine_fine if self.tub.key == "br" else limits.chlorine_fine)[0]

    @property
    def _fine_top(self) -> float:
        limits = self.tub.limits
        return (limits.bromine_fine if self.tub.key == "br" else limits.chlorine_fine)[1]

    @cached_property
    def _last_read(self) -> Reading | None:
        found = [e for e in self.history if isinstance(e, Reading) and self.tub.key in e.values and not e.expired]
        return min(found, key=lambda e: e.hours_ago, default=None)

    @cached_property
    def _base(self) -> float:
        """What the last reading found, with what was added in the same sitting."""
        read = self._last_read
        if read is None:
            return 0.0
        found = read.intervals(self.tub.scale)[self.tub.key].likely
        line = self.line
        same = (line.ago[0] <= read.hours_ago) & (line.ago[0] >= read.hours_ago - _SITTING_HOURS)
        return found + float(np.sum(line.oxidant[0][same]))

    @cached_property
    def _rises(self) -> float:
        """mg/L that one dose of the routine may bring: with no loss since the test it ends at the bound or below."""
        return max(0.0, self._top - min(max(self._base, 0.0), self._fine_top))

    @cached_property
    def _product(self):  # type: ignore[no-untyped-def]
        return chosen(self.tub, float(self.belief.held[0, 0]))

    @cached_property
    def _fill_hours(self) -> float | None:
        whole = self.line.ago[0][self.line.fresh[0] >= 1.0]
        return float(whole[-1]) if whole.size else None

    @cached_property
    def _gains(self) -> Mapping[str, float]:
        """mg/L a day over the last four weeks, or since the fill."""
        line = self.line
        since = min(28 * 24.0, self._fill_hours if self._fill_hours is not None else math.inf, float(line.ago[0, 0]))
        if since < 24.0:
            return dict.fromkeys(KEPT, 0.0)
        lately = line.ago[0] <= since
        splashed = float(line.splash[0][lately].sum()) * (line.tap[0] - self.belief.held[0])
        moved = (line.kept[0][lately].sum(axis=0) + splashed) / (since / 24.0) + EVAPORATION * line.thickens[0]
        return dict(zip(KEPT, (round(float(one), 4) for one in moved), strict=True))

    def _gaussian(self, which: int) -> Estimate:
        balance = self.belief.balance
        return _gauss(float(balance.mean[0, which]), math.sqrt(float(balance.spread[0, which, which])))

    def _share(self, which: int) -> Estimate:
        logs = self._gaussian(which)
        return Estimate(*(1.0 - math.exp(-math.exp(part)) for part in (logs.low, logs.likely, logs.high)))

    def _hours_down_to(self, wanted: float) -> float:
        """Hours until the likely level is down to `wanted`, nobody bathing."""
        level = float(self.belief.level.likely()[0])
        rate = float(self.belief.level.rates(0.5)[0])
        return round(24.0 * max(0.0, math.log(max(level, 1e-3) / wanted)) / rate, 1)

    def _card_code(self) -> CardCode:
        return "first" if self.learned.readings <= 1 else "as_before"

    def _fine(self, reading: Reading) -> bool:
        found = reading.intervals(self.tub.scale)
        sanitizer, ph = found.get(self.tub.key), found.get("ph")
        low = sanitizer is not None and sanitizer.likely < 0.5 * self._least
        high = sanitizer is not None and sanitizer.likely > self._top
        return not (low or high or (ph is not None and not 7.0 <= ph.likely <= 8.0))

    def _leaves(self, since: float) -> list[Due]:
        """When the forecast says that something is likely enough to leave its range."""
        hours = np.arange(24.0, 24.0 * self.tub.test_days + 1.0, 24.0)
        ahead = forecast(self.belief, self.habits, self.routine, hours, [self.tub])
        out = []
        for key, code, most in (
            ("sanitizer", "forecast_sanitizer", 0.25), ("ph", "forecast_ph", 0.25), ("ta", "forecast_alkalinity", 0.25)
        ):  # fmt: skip
            outside = 1.0 - ahead.fine[key][0]
            at = int(np.argmax(outside > most)) if np.any(outside > most) else -1
            if at >= 0:
                due = max(float(hours[at]), TESTS_APART_HOURS - since)
                out.append(Due(due, code, {"chance": round(float(outside[at]), 2)}))  # type: ignore[arg-type]
        return out


FIRST_WEEK = (1, 2, 4, 7)
"""Days after a fill on which fresh water is tested: pH climbs as it warms and the jets run (common practice)."""
PARTY_BATHER_HOURS = 4.0
BAD_READING_HOURS = 48.0
TESTS_APART_HOURS = 84.0
"""Two tests a week at most, where nothing is wrong."""
HORIZON_DAYS = 5.0
_STANDS = {
    "bleached_pad", "ph_dye_falsified", "strips_expired", "change_impossible", "pair_impossible", "no_response",
    "free_above_total", "volume_implausible", "still_bromine", "cyanurate_without_source",
}  # fmt: skip


def _gauss(mean: float, spread: float) -> Estimate:
    return Estimate(mean - TENTH * spread, mean, mean + TENTH * spread)


def _estimate(found: Forecast, key: str, at: int) -> Estimate:
    low, likely, high = (float(part[key][0, at]) for part in (found.low, found.likely, found.high))
    return Estimate(low, likely, high)
