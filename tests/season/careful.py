"""The policy that the bot follows: the season as it is learned, a card between tests, a plan after each."""

from __future__ import annotations

from collections.abc import Sequence

from dosing import Addition, Past, Plan, Reading, Step
from dosing import Refill as Renewed
from dosing import Soak as Bathing
from dosing.arrays import Array
from dosing.season import Away, Season, Tub
from dosing.season.belief import Belief
from dosing.season.habits import habits
from dosing.season.one import One
from dosing.season.routine import routine
from dosing.season.timeline import Timeline, lined_up, opened, row_of
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
    Why,
)  # fmt: skip

FILL_DAY = 12.0
"""Hours after a fill in which a plan's retest is done at once: somebody is at the tub."""
TURNS = 2
"""Plans of an evening where acid and air take turns."""
DOSES = 3
"""Doses of sanitizer of an evening, some hours apart, where bathers left more than one can meet."""
EVENING = 12.0
"""Hours: what falls due before the next evening is done this evening."""


class Careful:
    """Everything from `dosing.season`; nothing of its own but the order of things.

    What was believed after the last event is kept, so that a season of looks costs no more than one: `look` computes
    the same from the whole journal.
    """

    def __init__(self, profile: Profile) -> None:
        self.profile = profile
        self.events: list[tuple[float, Past]] = []
        self.rows: list[tuple[float, Array]] = []
        self.belief: Belief | None = None
        self.learned = 0
        self.filled = 0.0
        self.bottles: list[float] = []
        self.away: tuple[float, float] | None = None
        self.steps: list[Step] = []
        self.moment: Moment = "evening"
        self.source: Reading | None = None
        self.tested: Reading | None = None
        self.soaked: tuple[float, Past] | None = None
        self.asked_better = False
        self.poured = self.planned = -100.0
        self.now = 0.0
        self.asked_test = -100.0
        self.more = False
        self.turns = self.doses = 0
        self.read = -100.0

    def told(self, fact: Fact) -> None:
        match fact:
            case Filled(at):
                self.filled, self.steps = at, []
                self._happened(at, Renewed(None, 0.0))
            case Tested(at, reading, better):
                if not better:
                    self.tested, self.read = reading, at
                    self.source = self.source or self._fill_water(reading)
                self._happened(at, reading)
            case Poured(at, product, grams, substances, why):
                if why in ("routine", "soak"):
                    self.poured = at // 24
                if self.steps and (self.steps[0].product, self.steps[0].grams) == (product, grams):
                    self.steps.pop(0)
                self._happened(at, Addition(substances, 0.0))
            case Bathed(at, bathers, minutes):
                self.soaked = at + minutes / 60.0, Bathing(bathers, minutes, 0.0)
                self._happened(*self.soaked)
            case Leaving(at, until):
                self.away = (at, until)
            case NewBottle(at):
                self.bottles.append(at)
                self.asked_better = False
                self.rows.append((at, opened(0.0)))

    def _fill_water(self, reading: Reading) -> Reading | None:
        """The first reading of the first fill, which later fills bring again."""
        poured = any(isinstance(event, Addition) for _, event in self.events)
        values = {key: said for key, said in reading.values.items() if key in ("ta", "ch")}
        return None if poured else Reading(values, reading.method)

    def _happened(self, at: float, event: Past) -> None:
        at = max([at, *(when for when, _ in self.rows[-1:])])
        self.events.append((at, event))
        self.rows.append((at, row_of(self._tub(at), event)))

    def advise(self, at: float, moment: Moment) -> Sequence[Act]:
        self.now = at
        if moment != "again":
            self.moment, self.more, self.doses = moment, False, 0
        if moment == "evening":
            self.turns = 0
        if at - self.planned > 26.0:
            self.steps = []
        if self.tested is not None:
            self._plans(at)
        season = self.look(at)
        if season.wants_better_ph and not self.asked_better:
            self.asked_better = True
            return [Better()]
        if self.steps:
            return [self._act(self.steps[0], at)]
        if self.moment == "soaked":
            return self._pour(season, self._last_soak(at)) if moment == "soaked" or self.more else ()
        if moment == "evening" and season.refill.hours < EVENING:
            return [Refill()]
        fresh = at - self.filled < FILL_DAY and moment == "again"
        if (moment == "evening" or fresh) and season.test.hours < EVENING and self.asked_test < at - 1.0:
            self.asked_test = at
            return [Test()]
        if season.lowers and self.turns < TURNS and self.read < at < self.read + 24.0:
            self._plans(at)
            if self.steps:
                return [self._act(self.steps[0], at)]
        owes = season.one.sanitizer[0] < season.one.least and self.doses < DOSES
        return self._pour(season) if self.more or owes or self.poured < at // 24 else ()

    def _last_soak(self, at: float) -> Bathing | None:
        """Who bathed last, as the history holds it."""
        if self.soaked is None:
            return None
        soak = _moved(self.soaked[1], at - self.soaked[0])
        assert isinstance(soak, Bathing)
        return soak

    def _plans(self, at: float) -> None:
        """The steps of a plan, by the newest test."""
        done = ("add", "aerate", "drain", "retest") if at - self.filled < FILL_DAY else ("add", "aerate", "drain")
        self.steps = [step for step in self._plan(at).steps if step.action in done]
        self.tested, self.planned = None, at
        self.turns += 1

    def look(self, at: float) -> Season:
        """The season at this moment."""
        tub = self._tub(at)
        line = lined_up([tub], [self._aged(self.rows, at)])
        self._learn(tub, line)
        assert self.belief is not None
        belief = self.belief.lived(line, line.events - 1)
        start = max(self.filled, at - 24.0 * 90)
        history = [_moved(event, at - when) for when, event in self.events if when >= start]
        return Season(One(tub, history, line, belief, habits([tub], line), routine([tub], belief.level)))

    def _learn(self, tub: Tub, line: Timeline) -> None:
        """Take in what has happened since the last look."""
        self.belief = self.belief or Belief.before([tub], line)
        for at in range(self.learned, line.events - 1):
            self.belief = self.belief.lived(line, at)
        self.learned = line.events - 1

    @staticmethod
    def _aged(rows: list[tuple[float, Array]], at: float) -> list[Array]:
        out = []
        for when, row in rows:
            aged = row.copy()
            aged[0] = max(0.0, at - when)
            out.append(aged)
        return out

    def _tub(self, at: float) -> Tub:
        away = None
        if self.away is not None and self.away[1] > at:
            away = Away(from_hours=self.away[0] - at, to_hours=self.away[1] - at)
        return Tub(
            volume=self.profile.volume,
            kit=self.profile.kit,
            temperature=self.profile.temperature,
            source=self.source if self.filled > 0.0 else None,
            bottles=tuple(at - opened for opened in self.bottles),
            away=away,
            bathers_a_week=2.0 * self.profile.soaks_per_week,
        )

    def _plan(self, at: float) -> Plan:
        season = self.look(at)
        reading = max(
            (e for e in season.one.history if isinstance(e, Reading) and "fc" in e.values), key=lambda e: -e.hours_ago
        )
        return season.plan(reading, "startup" if at - self.filled < FILL_DAY else "test")

    def _act(self, step: Step, at: float) -> Act:
        if step.action == "aerate":
            self.steps.pop(0)
            self._happened(at + (step.minutes or 0) / 60.0, Bathing(0, float(step.minutes or 0), 0.0))
            return Aerate(float(step.minutes or 0))
        if step.action == "retest":
            self.steps.pop(0)
            return Test()
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

    def _pour(self, season: Season, soak: Bathing | None = None) -> list[Act]:
        due = season.dose(soak)
        if due is None:
            self.more = False
            return []
        oxidises = due.code == "oxidise"
        self.doses += not oxidises
        self.more = oxidises or (due.again_hours is not None and self.doses < DOSES)
        whys: dict[str, Why] = {"after_soak": "soak", "idle": "routine", "oxidise": "shock"}
        wait = 15.0 if oxidises else 60.0 * due.again_hours if due.again_hours and self.more else 30.0
        return [Pour(due.product, due.grams, whys[due.code], wait)]


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
