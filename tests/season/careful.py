"""The policy that the bot follows: the season as it is learned, a card between tests, a plan after each."""

from __future__ import annotations

from collections.abc import Sequence

from dosing import Addition, Past, Plan, Reading, Step
from dosing import Refill as Renewed
from dosing import Soak as Bathing
from dosing.season import Away, Season, Tub, look
from tests.season.policy import (
    Act,
    Aerate,
    Bathed,
    Better,
    Fact,
    Filled,
    Leaving,
    Moment,
    NewBottle,
    Pour,
    Poured,
    Profile,
    Refill,
    Test,
    Tested,
)  # fmt: skip

EVENING = 12.0
"""Hours: what falls due before the next evening is done this evening."""


class Careful:
    """Everything from `dosing.season`; nothing of its own but the order of things."""

    def __init__(self, profile: Profile) -> None:
        self.profile = profile
        self.events: list[tuple[float, Past]] = []
        self.filled = 0.0
        self.bottle = 0.0
        self.away: tuple[float, float] | None = None
        self.steps: list[Step] = []
        self.tested: Reading | None = None
        self.soaked: Bathing | None = None
        self.asked_better = False
        self.season: Season | None = None
        self.last_dose = 0.0

    def told(self, fact: Fact) -> None:
        match fact:
            case Filled(at):
                self.filled, self.steps = at, []
                self.events.append((at, Renewed(None, 0.0)))
            case Tested(at, reading, better):
                self.events.append((at, reading))
                if not better:
                    self.tested = reading
            case Poured(at, _, _, substances, why):
                self.events.append((at, Addition(substances, 0.0)))
                if why in ("soak", "routine"):
                    self.last_dose = at
            case Bathed(at, bathers, minutes):
                self.soaked = Bathing(bathers, minutes, 0.0)
                self.events.append((at + minutes / 60.0, self.soaked))
            case Leaving(at, until):
                self.away = (at, until)
            case NewBottle(at):
                self.bottle, self.asked_better = at, False

    def advise(self, at: float, moment: Moment) -> Sequence[Act]:
        if self.tested is not None:
            self.steps = [step for step in self._plan(at).steps if step.action in ("add", "aerate", "drain")]
            self.tested = None
        if self.steps:
            return [self._act(self.steps.pop(0), at)]
        if moment == "again":
            return ()
        season = self.look(at)
        if moment == "soaked":
            return self._pour(season, at, soaked=True)
        if season.refill.hours < EVENING:
            return [Refill()]
        if season.test.hours < EVENING:
            return [Test()]
        if season.wants_better_ph and not self.asked_better:
            self.asked_better = True
            return [Better()]
        return self._pour(season, at, soaked=False)

    def look(self, at: float) -> Season:
        """The season at this moment."""
        start = max((t for t, e in self.events if isinstance(e, Renewed)), default=0.0)
        start = min(start, at - 24.0 * 90)
        history = [_moved(event, at - when) for when, event in self.events if when >= start]
        self.season = look(self._tub(at), history)
        return self.season

    def _tub(self, at: float) -> Tub:
        away = None
        if self.away is not None and self.away[1] > at:
            away = Away(from_hours=self.away[0] - at, to_hours=self.away[1] - at)
        return Tub(
            volume=self.profile.volume, kit=self.profile.kit, temperature=self.profile.temperature,
            bottle_hours=at - self.bottle, away=away, bathers_a_week=2.0 * self.profile.soaks_per_week,
        )  # fmt: skip

    def _plan(self, at: float) -> Plan:
        season = self.look(at)
        reading = max(
            (e for e in season.one.history if isinstance(e, Reading) and "fc" in e.values), key=lambda e: -e.hours_ago
        )
        return season.plan(reading, "startup" if at - self.filled < 12.0 else "test")

    def _act(self, step: Step, at: float) -> Act:
        if step.action == "aerate":
            self.events.append((at + (step.minutes or 0) / 60.0, Bathing(0, float(step.minutes or 0), 0.0)))
            return Aerate(float(step.minutes or 0))
        if step.action == "drain":
            return Refill()
        assert step.product is not None
        assert step.grams is not None
        chlorine = step.why.code in (
            "sanitizer_low",
            "startup_sanitizer",
            "no_sanitizer",
            "active_chlorine_low",
            "shock",
            "combined_chlorine",
        )
        return Pour(step.product, step.grams, "routine" if chlorine else "balance", float(step.wait_minutes))

    def _pour(self, season: Season, at: float, *, soaked: bool) -> list[Act]:
        card = season.card
        if card is None:
            return []
        if soaked:
            assert self.soaked is not None
            grams = card.after_soak(self.soaked.bathers, self.soaked.minutes)
            return [Pour(card.product, grams, "soak")] if grams > 0 else []
        due = season.dose()
        return [Pour(due.product, due.grams, "routine")] if due is not None else []


def _moved(event: Past, hours: float) -> Past:
    match event:
        case Reading():
            return Reading(event.values, event.method, max(0.0, hours))
        case Addition():
            return Addition(event.substances, max(0.0, hours))
        case Renewed():
            return Renewed(event.litres, max(0.0, hours))
        case Bathing():
            return Bathing(event.bathers, event.minutes, max(0.0, hours))
