"""When each care task is due by the journal and by what is expected of the water: the one calendar of a tub.

Pure: from the journal, the settings and the outlook to days. What is done with them (reminders) is the caller's.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import cached_property
from zoneinfo import ZoneInfo

from bot.model.dealer import Dealer
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
from bot.schedule.journal import facts, filled_at, last, last_at
from bot.schedule.latitude import latitude
from bot.schedule.local import fitting, local_day
from bot.schedule.season import Outlook, outlook_of

FIRST_WEEK = (1, 2, 4, 7)
"""Days after the start-up on which fresh water is tested: pH climbs as it warms and the jets run (common practice)."""
LITRES_PER_BATHER = 11.36
"""Days between water changes = litres / (11.36 x bathers a day): three US gallons each, as public-tub codes have it."""
LEAST_DAYS = 7
A_DAY = timedelta(days=1)
PURGED = timedelta(days=14)
"""So long before a change of water a purge of the pipes counts for it (common practice)."""
FROST_LATITUDE = 28.0
"""Degrees from the equator from which on a winter may bring frost to a tub (common practice)."""
WINTER_BEGINS = {True: (11, 1), False: (5, 1)}
"""Month and day by which a tub is made ready for frost, north and south of the equator (common practice)."""
WINTER_WAITS = timedelta(days=60)
"""So long after that day there is still something to make ready (common practice)."""
BETWEEN_TESTS = timedelta(days=3)
"""So much a forecast leaves between two tests: more is asked of nobody (common practice)."""
AT_ONCE = frozenset({"after_party", "bad_reading", "lowering_alkalinity"})
"""Reasons for a test that do not wait for that."""
FORESEEN = AT_ONCE | {"forecast_sanitizer", "forecast_ph", "forecast_alkalinity"}
"""Reasons for a test that only the water of this tub gives; the others are counted in days."""


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a task falls on its day: a code and the numbers that belong to it."""

    code: str
    numbers: Mapping[str, float] = field(default_factory=dict)


def has_water(journal: Sequence[Entry]) -> bool:
    """Whether the tub holds water, as far as the journal tells."""
    return water_since(journal) is not None


def water_since(journal: Sequence[Entry]) -> datetime | None:
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
    since = water_since(journal)
    days = (now - since).total_seconds() / 86400 if since else 0
    if days < 14:
        return 0.0
    return sum(fact.bathers for entry, fact in facts(journal, Soaked) if since and entry.at >= since) / days


@dataclass(frozen=True)
class Care:
    """The care of one tub as one person is told of it."""

    person: Person
    tub: Tub
    dealer: Dealer
    journal: Sequence[Entry]
    now: datetime

    @cached_property
    def zone(self) -> ZoneInfo:
        """The person's own."""
        return zone(self.person.zone)

    @cached_property
    def outlook(self) -> Outlook | None:
        """What is expected of the water, where that can be said."""
        return outlook_of(self.tub, self.dealer, self.journal)

    @cached_property
    def start(self) -> datetime:
        """When this water's life began: its start-up, or its fill. AssertionError where there is no water."""
        since = water_since(self.journal)
        assert since is not None
        started = last_at(self.journal, StartedUp)
        return max(since, started) if started else since

    def first(self, what: ReminderName) -> datetime | None:
        """When a task is due for the first time since it was done; None if never."""
        own: dict[str, Callable[[], datetime | None]] = {
            "test": self._test,
            "dose": self._dose,
            "refill": self._refill,
            "purge": self._purge,
            "winter": self._winter,
        }
        if what in own:
            return own[what]()
        if what == "cartridge" and not self.tub.cartridge:
            return None
        return self.after(self.since(what), getattr(self.dealer.intervals, what))

    def since(self, what: ReminderName) -> datetime:
        """From when a task is counted: it was done last, or this water began. A filter's care outlives the water."""
        done = self.done(what)
        if done is None:
            return min(entry.at for entry in self.journal) if what in ("replace", "cover", "winter") else self.start
        return max(done, self.start) if what in ("test", "dose", "shock") else done

    def done(self, what: ReminderName) -> datetime | None:
        """When a task was done last. A dose for days without bathing begins anew with any addition, test or soak."""
        match what:
            case "test":
                done = last_at(self.journal, ReadingTaken, lambda fact: not fact.source)
            case "dose":
                done = max(
                    filter(None, (last_at(self.journal, kind) for kind in (Added, ReadingTaken, Soaked))), default=None
                )
            case "shock":
                done = last_at(self.journal, Added, lambda fact: fact.shock)
            case "rinse":
                done = last_at(self.journal, FilterCared)
            case "soak":
                done = last_at(self.journal, FilterCared, lambda fact: fact.what != "rinse")
            case "replace":
                done = last_at(self.journal, FilterCared, lambda fact: fact.what == "replace")
            case "cartridge":
                done = last_at(self.journal, CartridgeChanged)
            case "refill" | "purge":
                done = filled_at(self.journal)
            case "cover" | "winter":
                done = None
        said = last_at(self.journal, ReminderAnswered, lambda fact: fact.what == what and fact.answer == "done")
        moments = [moment for moment in (done, said) if moment]
        return max(moments, default=None)

    def after(self, moment: datetime, days: int) -> datetime:
        """The fitting moment so many days after another."""
        return self.fits(local_day(moment, self.zone) + timedelta(days=days))

    def fits(self, day: date, not_before: datetime | None = None) -> datetime:
        """The fitting moment of a day; of the next day where that would be before `not_before`."""
        moment = fitting(day, self.person.quiet, self.zone)
        if not_before and moment < not_before:
            return fitting(day + timedelta(days=1), self.person.quiet, self.zone)
        return moment

    def first_week(self, after: date) -> Iterator[date]:
        """The test days of the first week that lie after `after`; none where nobody knows when that week was."""
        if filled_at(self.journal) is None and last_at(self.journal, StartedUp) is None:
            return iter(())
        start = local_day(self.start, self.zone)
        return (day for days in FIRST_WEEK if (day := start + timedelta(days=days)) > after)

    def _test(self) -> datetime:
        tested = self.done("test")
        counted = [self.fits(day) for day in self.first_week(local_day(tested or self.start, self.zone))]
        if not counted or (tested and tested > self.start):
            counted.append(self.after(tested or self.start, self.dealer.intervals.test))
        wanted = last(self.journal, TestWanted)
        if wanted and wanted[0].at >= max(tested or self.start, water_since(self.journal) or self.start):
            counted.append(wanted[1].at)
        foreseen = self._foreseen_test()
        return min([*counted, foreseen] if foreseen else counted)

    def _foreseen_test(self) -> datetime | None:
        """When the water may leave its range by what is known of this tub; None where only days are counted. The hour
        that fits lies before that moment, or soon after it.
        """
        tested = self.done("test")
        if self.outlook is None or tested is None or self.outlook.test.code not in FORESEEN:
            return None
        if next(self.first_week(local_day(tested, self.zone)), None):
            return None
        at = self.outlook.moment(self.outlook.test)
        if self.outlook.test.code not in AT_ONCE:
            at = max(at, tested + BETWEEN_TESTS)
        moment = self.fits(local_day(at, self.zone))
        before = self.fits(local_day(at, self.zone) - A_DAY)
        return before if moment > at + A_DAY / 2 and before > tested + A_DAY / 2 else moment

    def _refill(self) -> datetime:
        """The earliest of what wears the water out, or the dealer's interval where nothing of it is known."""
        if self.outlook is None:
            return self.after(self.since("refill"), water_days(self.tub, self.dealer, self.journal, self.now))
        return self.fits(local_day(self.outlook.moment(self.outlook.refill), self.zone))

    def _purge(self) -> datetime | None:
        """The evening before the water is changed, so that the cleaner works overnight at most; none once it is done,
        nor when the change is due already: its first step is a purge.
        """
        refill = self._refill()
        purged = last_at(self.journal, ReminderAnswered, lambda fact: fact.what == "purge" and fact.answer == "done")
        if self.now >= refill or (purged and refill - purged < PURGED):
            return None
        return self.fits(local_day(refill, self.zone) - A_DAY)

    def _winter(self) -> datetime | None:
        """When the tub is made ready for frost, where a winter may bring it: this autumn's day until it is done or the
        winter is under way, then the next one's.
        """
        north = latitude(self.person.zone)
        if north is None or abs(north) < FROST_LATITUDE:
            return None
        month, day = WINTER_BEGINS[north > 0]
        since, today = local_day(self.since("winter"), self.zone), local_day(self.now, self.zone)
        autumns = (date(year, month, day) for year in range(today.year - 1, today.year + 3))
        return next(self.fits(autumn) for autumn in autumns if autumn > since and autumn > today - WINTER_WAITS)

    def reason(self, what: ReminderName) -> Reason | None:
        """Why a test or a change of water is due when it is, where there is more to say than that its days are over."""
        if self.outlook is None:
            return None
        if what == "refill":
            return Reason(self.outlook.refill.code, self.outlook.refill.numbers)
        foreseen = self._foreseen_test() if what == "test" else None
        if foreseen is None or foreseen > self._test():
            return None
        return Reason(self.outlook.test.code, self.outlook.test.numbers)

    def _dose(self) -> datetime | None:
        """The first dose of the routine if nobody bathes, not on the day on which something was done with the water;
        none on the day of the next test, which decides anew, nor after it, unless that day passed without one.
        """
        if self.outlook is None or self.outlook.idle_at is None:
            return None
        day = max(local_day(self.outlook.idle_at, self.zone), local_day(self.since("dose"), self.zone) + A_DAY)
        test, today = local_day(self._test(), self.zone), local_day(self.now, self.zone)
        if test < today:
            return self.fits(max(day, today))
        return self.fits(day) if day < test else None
