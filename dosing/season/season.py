"""The season of one tub: what it does, where its water is, the card, the next test, the next refill."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from dosing.arrays import values
from dosing.arrows import CHLORINES, STABILISED
from dosing.history import Soak
from dosing.job import Purpose
from dosing.limits import Limits
from dosing.planner import plan
from dosing.products import Kit
from dosing.readings import Reading, Said
from dosing.season.ahead import Forecast
from dosing.season.aims import aims, lowers, startup
from dosing.season.books import Books, Finding, books, cyanurate_findings
from dosing.season.card import Card, Dose, NoCard, card_of, dose_now, holiday_dose, regular_oxidiser, why_no_card
from dosing.season.drift import PAD
from dosing.season.due import Due
from dosing.season.learned import Learned, learned
from dosing.season.one import One
from dosing.season.priors import ALKALINITY_PAD, OFFSET
from dosing.season.refill import Worn, refill_due
from dosing.season.testing import test_due
from dosing.season.timeline import KEPT
from dosing.season.tub import TENTH, Estimate, Tub
from dosing.season.volume import volume_finding
from dosing.steps import Plan

_STANDS = {
    "bleached_pad", "ph_dye_falsified", "strips_expired", "change_impossible", "pair_impossible", "no_response",
    "free_above_total", "volume_implausible", "still_bromine", "cyanurate_without_source",
}  # fmt: skip
"""Doubts about a reading under which it is planned as it was said."""
_DYES = 0.9
"""Share of the sanitizer that falsifies dyes up to which a pad of so much, which reaches farther down, is no doubt."""
_YEAR_HOURS = 8760.0
_UNKNOWN_PAD = 0.6
"""Share of the prior's spread from which the bottle's offset counts as unknown."""
_WIDE = 1.55
"""A dose has to be right for so many times the middle four fifths of pH: 95 of 100, and no doses after all are as
wrong as they may be.
"""


@dataclass(frozen=True)
class Season:
    """One tub. Everything is computed from its journal when it is asked for."""

    one: One

    @property
    def tub(self) -> Tub:
        """As it was described."""
        return self.one.tub

    @cached_property
    def learned(self) -> Learned:
        """What this tub does."""
        return learned(self.one)

    @cached_property
    def now(self) -> Mapping[str, Estimate]:
        """Where the water is, by everything that is known: "fc" or "br", "ph", "ta"."""
        found = self.forecast([0.0], follow_card=False)
        parts = (found.low, found.likely, found.high)
        return {key: Estimate(*(float(part[key][0]) for part in parts)) for key in (self.tub.key, "ph", "ta")}

    def forecast(self, hours: Sequence[float], *, follow_card: bool = True) -> Forecast:
        """The water at these hours from now, while the card is followed or nothing is added; arrays (hours,).

        Raises ValueError for hours that are not 0 to 8760: nobody knows water for longer than a year.
        """
        values("hours ahead", hours, low=0.0, high=_YEAR_HOURS, unit="h")
        return self.one.ahead(hours, follow_card=follow_card).named({"sanitizer": self.tub.key, "ph": "ph", "ta": "ta"})

    @cached_property
    def books(self) -> Books:
        """What has gathered in this water."""
        return books(self.one, self.now[self.tub.key].likely)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """What should be told, beside the doubts of a single reading."""
        booked = cyanurate_findings(self.one, self.books, self.now[self.tub.key].likely)
        return (*volume_finding(self.one), *booked)

    @property
    def no_card(self) -> NoCard | None:
        """Why there is no card; None where there is one."""
        return why_no_card(self.one)

    @cached_property
    def card(self) -> Card | None:
        """The personal card."""
        return card_of(self.one)

    def dose(self, soak: Soak | None = None) -> Dose | None:
        """What to add now by what is believed of the level: after this soak (not yet in the history), or because it is
        time. None where nothing is needed, or there is no card.
        """
        return None if self.card is None else dose_now(self.one, self.card, soak)

    def regular_oxidiser(self) -> Dose | None:
        """What to oxidise with now because it is time; None where pH does not allow it, or there is no card or no
        oxidiser.
        """
        return None if self.card is None else regular_oxidiser(self.one)

    def holiday_dose(self) -> Dose | None:
        """What to add on the evening before a holiday; None where nothing is needed, or there is no card."""
        return None if self.card is None else holiday_dose(self.one)

    @cached_property
    def test(self) -> Due:
        """When to test next, and why."""
        return test_due(self.one)

    @cached_property
    def refill(self) -> Due:
        """When to change the water, and why."""
        held = dict(zip(KEPT, map(float, self.one.belief.held[0]), strict=True))
        bathers = float(self.one.habits.soaks[0] * self.one.habits.bathers[0])
        return refill_due(self.tub, Worn(self.one.age_hours / 24.0, bathers, held, self.one.gains))

    @cached_property
    def limits(self) -> Limits:
        """Limits for a plan, with aims that keep pH and alkalinity in range until the next test."""
        return aims(self.one)

    def reading(self, reading: Reading) -> Reading:
        """A reading narrowed by what is known of this tub, without what the bottle's pad is off, and without the lift
        of pH that fresh chlorine gives and takes back.
        """
        narrowed = dict(reading.values)
        for key, now in self.now.items():
            if key in narrowed:
                less = self.one.lift if key == "ph" else 0.0
                side = min(now.likely - now.low, now.high - now.likely) * (_WIDE if key == "ph" else 1.0)
                side = max(side, TENTH * ALKALINITY_PAD * now.likely) if key == "ta" else side
                low = round(max(0.0, now.likely - side - less), 3)
                narrowed[key] = Said("range", low, max(low, round(now.likely + side - less, 3)) + 0.002)
        return Reading(narrowed, reading.method, 0.0, reading.after_dose, reading.expired)

    @property
    def lowers(self) -> bool:
        """Whether acid and air should take turns: after a plan's last step another may be asked for the same evening,
        and the next one, with the same reading while it is younger than a day.
        """
        return lowers(self.one)

    def plan(self, reading: Reading, purpose: Purpose = "test") -> Plan:
        """The plan for a reading that the history holds as its newest: what is known of this tub narrows it, and brings
        one of some hours ago up to now.

        Where the reading itself is doubted, the plan is that of the reading as it was said.
        """
        limits = startup(self.tub.limits) if purpose == "startup" else self.tub.limits
        plain = self._plan(reading, purpose, limits)
        stands = {doubt.code for doubt in plain.doubts} & _STANDS
        if self.now[self.tub.key].likely < _DYES * limits.dye_limit(self.tub.key):
            stands -= {"ph_dye_falsified"}
        if purpose != "test" or plain.status == "withheld" or stands:
            return plain
        return self._plan(self.reading(reading), purpose, self.limits, said=reading)

    @property
    def kit(self) -> Kit:
        """What a plan for a test may use: no stabilised chlorine where the kit has another."""
        stabilised = [p.key for p in self.tub.kit.products if set(p.substances) & STABILISED]
        others = [p for p in self.tub.kit.products if p.main in CHLORINES and p.key not in stabilised]
        return self.tub.kit.without(*stabilised) if others else self.tub.kit

    def _plan(self, reading: Reading, purpose: Purpose, limits: Limits, said: Reading | None = None) -> Plan:
        return plan(
            volume=self.tub.volume,
            sanitizer=self.tub.sanitizer,
            reading=reading,
            kit=self.tub.kit if said is None else self.kit,
            scale=self.tub.scale,
            history=[event for event in self.one.history if event is not (said or reading)],
            temperature=self.tub.temperature,
            purpose=purpose,
            limits=limits,
        )

    @cached_property
    def wants_better_ph(self) -> bool:
        """Whether a better pH (a shop's, a drop test) would tell more than further strips of this bottle."""
        spread = math.sqrt(float(self.one.belief.balance.spread[0, PAD, PAD]))
        strips = sum(isinstance(e, Reading) and e.method == "strip" for e in self.one.history)
        return spread > _UNKNOWN_PAD * OFFSET and strips >= 1
