"""The one calendar of a tub's care: what its owner is reminded of, what follows it, and what no message comes for."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import get_args

from bot.model.dealer import Dealer
from bot.model.enclosure import Task
from bot.model.fact import Entry, FilterCared, ReminderName
from bot.model.person import Person
from bot.model.tub import Tub
from bot.schedule.care import Care, Reason, has_water
from bot.schedule.journal import last_at
from bot.schedule.latitude import latitude
from bot.schedule.local import local_day
from bot.schedule.reminders import reminders_of

TASKS: tuple[Task, ...] = get_args(Task)
ONCE: frozenset[Task] = frozenset({"dose", "purge", "refill", "winter", "replace"})
"""Tasks of which a calendar only holds the next one."""
HORIZON = timedelta(days=92)
MOST_OF_A_TASK = 8
REPLACE_DAYS, COVER_DAYS = 365, 90
"""How long a filter element lasts, and how often a cover is cleaned, dried and proofed (common practice)."""
FROST_LATITUDE = 28.0
"""Degrees from the equator from which on a winter may bring frost to a tub (common practice)."""
WINTER_BEGINS = {True: (11, 1), False: (5, 1)}
"""Month and day by which a tub is made ready for frost, north and south of the equator (common practice)."""


@dataclass(frozen=True, slots=True)
class CareDay:
    """A task on the calendar. `number` counts those of one kind from 1; a reason has only the first, if any."""

    what: Task
    number: int
    at: datetime
    reason: Reason | None = None


def calendar_of(person: Person, tub: Tub, dealer: Dealer, journal: Sequence[Entry], now: datetime) -> list[CareDay]:
    """The tub's care in the months to come, by day, in the person's own hours; empty before there is water."""
    if not has_water(journal):
        return []
    care = Care(person, tub, dealer, journal, now)
    days = [*_reminded(care), *_unsaid(care)]
    return sorted(days, key=lambda day: day.at)


def _reminded(care: Care) -> Iterator[CareDay]:
    for due in reminders_of(care.person, care.tub, care.dealer, care.journal, care.now):
        what: ReminderName = due.what  # type: ignore[assignment]
        yield CareDay(what, 1, due.at, care.reason(what))
        if what not in ONCE:
            yield from _again(care, what, due.at, getattr(care.dealer.intervals, what))


def _again(care: Care, what: Task, at: datetime, every: int) -> Iterator[CareDay]:
    for number in range(2, MOST_OF_A_TASK + 1):
        at = care.after(at, every)
        if at > care.now + HORIZON:
            return
        yield CareDay(what, number, at)


def _unsaid(care: Care) -> Iterator[CareDay]:
    """What is on the calendar and brings no message."""
    refill = care.first("refill")
    if refill and refill - timedelta(days=1) > care.now:
        yield CareDay("purge", 1, care.fits(local_day(refill, care.zone) - timedelta(days=1)))
    began = min(entry.at for entry in care.journal)
    replaced = last_at(care.journal, FilterCared, lambda fact: fact.what == "replace") or began
    yield CareDay("replace", 1, _next(care, replaced, REPLACE_DAYS))
    cover = _next(care, began, COVER_DAYS)
    yield CareDay("cover", 1, cover)
    yield from _again(care, "cover", cover, COVER_DAYS)
    if (winter := _winter(care)) is not None:
        yield CareDay("winter", 1, winter)


def _next(care: Care, since: datetime, every: int) -> datetime:
    """The first of the days counted from `since` that lies ahead."""
    passed = max(0, (care.now - since).days // every)
    at = care.after(since, every * (passed + 1))
    return at if at > care.now else care.after(since, every * (passed + 2))


def _winter(care: Care) -> datetime | None:
    """The next autumn's day, where a winter may bring frost."""
    north = latitude(care.person.zone)
    if north is None or abs(north) < FROST_LATITUDE:
        return None
    month, day = WINTER_BEGINS[north > 0]
    today = local_day(care.now, care.zone)
    this_year = date(today.year, month, day)
    return care.fits(this_year if this_year > today else date(today.year + 1, month, day))
