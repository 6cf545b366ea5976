"""When a person is reminded of what: computed anew from the journal whenever it grows, never kept beside it.

Each care task is counted from what happened last. A reminder that stays without an answer is sent again after a growing
gap and then no more; whatever is done begins the count anew.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import get_args
from zoneinfo import ZoneInfo

from bot.model.dealer import Dealer
from bot.model.due import Due
from bot.model.fact import (
    Added,
    CartridgeChanged,
    Entry,
    FilterCared,
    ReadingTaken,
    ReminderAnswered,
    ReminderName,
    Soaked,
    StartedUp,
    TestWanted,
)
from bot.model.person import Person
from bot.model.tub import Tub
from bot.model.zones import zone
from bot.schedule.journal import facts, filled_at, in_danger, last, last_at, open_cases, open_plan
from bot.schedule.local import allowed, fitting, in_quiet_hours, local_day

NAMES: tuple[ReminderName, ...] = get_args(ReminderName)
FIRST_WEEK = (1, 2, 4, 7)
"""Days after the start-up on which fresh water is tested: pH climbs as it warms and the jets run (common practice)."""
SILENCE = (2, 5)
"""Days after which an unanswered reminder is sent again; then it is not sent any more."""
LITRES_PER_BATHER = 11.36
"""Days between water changes = litres / (11.36 x bathers a day): three US gallons each, as public-tub codes have it."""
LEAST_DAYS = 7
PLAN_LASTS = timedelta(hours=24)
"""A plan names no dose longer than that after its test."""
LATE = timedelta(hours=1)
"""How late a reminder may leave before it waits for the next fitting hour."""
MERGED_WITHIN = timedelta(hours=1)
"""Reminders of one person that come so close together are one message."""


def reminder_key(tub: Tub, person: Person, what: ReminderName) -> str:
    """The key of a due row: setting it again moves it."""
    return f"r.{tub.key}.{person.key}.{what}"


def reminders_of(person: Person, tub: Tub, dealer: Dealer, journal: Sequence[Entry], now: datetime) -> tuple[Due, ...]:
    """What `person` is to be reminded of and when, by the standing journal of the tub. Nothing for people who want or
    get no messages, and nothing before there is water in the tub.
    """
    if person.role != "owner" or person.standing != "active" or not has_water(journal):
        return ()
    calendar = _Calendar(person, tub, dealer, journal, now)
    return tuple(
        Due(
            key=reminder_key(tub, person, what),
            dealer=dealer.key,
            kind="reminder",
            what=what,
            person=person.key,
            tub=tub.key,
            at=at,
        )
        for what in NAMES
        if (at := calendar.due(what)) is not None
    )


def next_of(
    what: ReminderName, person: Person, tub: Tub, dealer: Dealer, journal: Sequence[Entry], now: datetime
) -> datetime | None:
    """When `person` is reminded of one task; None if not at all."""
    dues = reminders_of(person, tub, dealer, journal, now)
    return next((due.at for due in dues if due.what == what), None)


def falls_due(
    what: ReminderName, person: Person, tub: Tub, dealer: Dealer, journal: Sequence[Entry], now: datetime
) -> date | None:
    """The day on which a task falls due for `person` by the standing journal alone, whatever was said to its reminders;
    it may lie in the past. None for a task that this tub does not have, or before there is water in it.
    """
    if not has_water(journal):
        return None
    moment = _Calendar(person, tub, dealer, journal, now).falls_due(what)
    return None if moment is None else local_day(moment, zone(person.zone))


def has_water(journal: Sequence[Entry]) -> bool:
    """Whether the tub holds water, as far as the journal tells."""
    return _water_since(journal) is not None


def _water_since(journal: Sequence[Entry]) -> datetime | None:
    """When the water was filled in; where nobody said, when it was first heard of."""
    filled = filled_at(journal)
    if filled:
        return filled
    signs = [entry.at for entry, _ in facts(journal, ReadingTaken, lambda fact: not fact.source)]
    signs += [entry.at for kind in (Added, Soaked, StartedUp, TestWanted) for entry, _ in facts(journal, kind)]
    return min(signs, default=None)


def water_days(tub: Tub, dealer: Dealer, journal: Sequence[Entry], now: datetime) -> int:
    """How many days the water lasts: the dealer's interval, or sooner by the number of bathers."""
    limit = dealer.intervals.refill
    bathers = _bathers_a_day(tub, journal, now)
    if not tub.volume or not bathers:
        return limit
    return max(LEAST_DAYS, min(limit, int(tub.volume / (LITRES_PER_BATHER * bathers))))


def _bathers_a_day(tub: Tub, journal: Sequence[Entry], now: datetime) -> float:
    """As the owner said; where nobody did, as it was in this fill, once that is two weeks old."""
    if tub.bathers and tub.soaks_per_week:
        return tub.bathers * tub.soaks_per_week / 7
    since = _water_since(journal)
    days = (now - since).total_seconds() / 86400 if since else 0
    if days < 14:
        return 0.0
    return sum(fact.bathers for entry, fact in facts(journal, Soaked) if since and entry.at >= since) / days


@dataclass(frozen=True)
class _Calendar:
    person: Person
    tub: Tub
    dealer: Dealer
    journal: Sequence[Entry]
    now: datetime

    @property
    def zone(self) -> ZoneInfo:
        return zone(self.person.zone)

    @property
    def start(self) -> datetime:
        """When this water's life began: its start-up, or its fill."""
        since = _water_since(self.journal)
        assert since is not None
        started = last_at(self.journal, StartedUp)
        return max(since, started) if started else since

    def due(self, what: ReminderName) -> datetime | None:
        if self._not_mine(what):
            return None
        planned = self._planned(what)
        if planned is None:
            return None
        paused = self.person.paused_until
        if paused and planned < paused:
            planned = self._fits(local_day(paused, self.zone), not_before=paused)
        if what == "shock" and planned <= self.now and self._water_is_worked_on():
            return self._fits(local_day(self.now, self.zone) + timedelta(days=1))
        return self._leaves(planned)

    def _water_is_worked_on(self) -> bool:
        """Whether a plan from today is open, or water that is not fit: a shock by the calendar would come on top."""
        plan = open_plan(self.journal)
        if plan and self.now - plan[0].at < PLAN_LASTS:
            return True
        return any(fact.klass in ("danger", "water") for _, fact in open_cases(self.journal))

    def _planned(self, what: ReminderName) -> datetime | None:
        """When the reminder is due by the journal alone, what was answered to it and how often it was sent."""
        since = self._since(what)
        first = self.falls_due(what)
        if first is None:
            return None
        later = self._answer(what, "later", since)
        if later and later[1].until:
            since = later[0].at
            first = self._fits(local_day(later[1].until, self.zone), not_before=later[0].at)
        sent = [entry.at for entry, _ in self._mine(what, "sent") if entry.at > since]
        return self._again(what, sent) if sent else first

    def falls_due(self, what: ReminderName) -> datetime | None:
        """When a task is due for the first time since it was done."""
        intervals = self.dealer.intervals
        match what:
            case "test":
                return self._test()
            case "cartridge" if not self.tub.cartridge:
                return None
            case "refill":
                return self._after(self._since(what), water_days(self.tub, self.dealer, self.journal, self.now))
            case _:
                return self._after(self._since(what), getattr(intervals, what))

    def _since(self, what: ReminderName) -> datetime:
        """From when a task is counted: it was done last, or this water began. A filter's care outlives the water."""
        done = self._done(what)
        if done is None:
            return self.start
        return max(done, self.start) if what in ("test", "shock") else done

    def _test(self) -> datetime:
        tested = self._done("test")
        counted = [self._fits(day) for day in self._first_week(local_day(tested or self.start, self.zone))]
        if not counted or (tested and tested > self.start):
            counted.append(self._after(tested or self.start, self.dealer.intervals.test))
        wanted = last(self.journal, TestWanted)
        if wanted and wanted[0].at >= max(tested or self.start, _water_since(self.journal) or self.start):
            counted.append(wanted[1].at)
        return min(counted)

    def _first_week(self, after: date) -> Iterator[date]:
        """The test days of the first week that lie after `after`; none where nobody knows when that week was."""
        if filled_at(self.journal) is None and last_at(self.journal, StartedUp) is None:
            return iter(())
        start = local_day(self.start, self.zone)
        return (day for days in FIRST_WEEK if (day := start + timedelta(days=days)) > after)

    def _again(self, what: ReminderName, sent: list[datetime]) -> datetime | None:
        """When to remind again after reminders that nobody answered."""
        newest = local_day(max(sent), self.zone)
        days = list(self._first_week(newest))[:1] if what == "test" else []
        if len(sent) <= len(SILENCE):
            days.append(newest + timedelta(days=SILENCE[len(sent) - 1]))
        return self._fits(min(days)) if days else None

    def _done(self, what: ReminderName) -> datetime | None:
        """When a task was done last in this water; a cartridge and a filter outlive it."""
        match what:
            case "test":
                done = last_at(self.journal, ReadingTaken, lambda fact: not fact.source)
            case "shock":
                done = last_at(self.journal, Added, lambda fact: fact.shock)
            case "rinse":
                done = last_at(self.journal, FilterCared)
            case "soak":
                done = last_at(self.journal, FilterCared, lambda fact: fact.what != "rinse")
            case "cartridge":
                done = last_at(self.journal, CartridgeChanged)
            case "refill":
                done = filled_at(self.journal)
        said = last_at(self.journal, ReminderAnswered, lambda fact: fact.what == what and fact.answer == "done")
        moments = [moment for moment in (done, said) if moment]
        return max(moments, default=None)

    def _mine(self, what: ReminderName, *answers: str) -> list[tuple[Entry, ReminderAnswered]]:
        said = facts(self.journal, ReminderAnswered, lambda fact: fact.what == what and fact.answer in answers)
        return [(entry, fact) for entry, fact in said if entry.person == self.person.key]

    def _not_mine(self, what: ReminderName) -> bool:
        said = self._mine(what, "done", "later", "not_mine")
        return bool(said) and said[-1][1].answer == "not_mine"

    def _answer(self, what: ReminderName, answer: str, since: datetime) -> tuple[Entry, ReminderAnswered] | None:
        said = [(entry, fact) for entry, fact in self._mine(what, answer) if entry.at >= since]
        return said[-1] if said else None

    def _after(self, moment: datetime, days: int) -> datetime:
        return self._fits(local_day(moment, self.zone) + timedelta(days=days))

    def _fits(self, day: date, not_before: datetime | None = None) -> datetime:
        """The fitting moment of a day; of the next day where that would be before `not_before`."""
        moment = fitting(day, self.person.quiet, self.zone)
        if not_before and moment < not_before:
            return fitting(day + timedelta(days=1), self.person.quiet, self.zone)
        return moment

    def _leaves(self, planned: datetime) -> datetime:
        """`planned`, out of the quiet hours; one that was missed waits for the next fitting hour."""
        planned = allowed(planned, self.person.quiet, self.zone)
        if planned > self.now:
            return planned
        held = in_danger(self.journal) or in_quiet_hours(self.now, self.person.quiet, self.zone)
        today = local_day(self.now, self.zone)
        for chance in (planned, self._fits(today)):
            if self.now - LATE < chance and (chance > self.now or not held):
                return chance
        return self._fits(today + timedelta(days=1))
