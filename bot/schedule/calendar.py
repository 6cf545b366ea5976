"""The one calendar of a tub's care: what its owner is reminded of, and what follows it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import get_args

from bot.model.dealer import Dealer
from bot.model.enclosure import Task
from bot.model.fact import Entry, ReminderName
from bot.model.person import Person
from bot.model.tub import Tub
from bot.schedule.care import Care, Reason, has_water
from bot.schedule.local import local_day
from bot.schedule.reminders import reminders_of

TASKS: tuple[Task, ...] = get_args(Task)
ONCE: frozenset[Task] = frozenset({"dose", "purge", "refill", "winter", "replace"})
"""Tasks of which a calendar only holds the next one."""
HORIZON = timedelta(days=92)
MOST_OF_A_TASK = 8
OVERDUE = timedelta(days=7)
"""So far behind the day on which it falls due a test may be on the calendar, because it was put off."""


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
    return sorted(_days(care), key=lambda day: day.at)


def _days(care: Care) -> Iterator[CareDay]:
    dues = reminders_of(care.person, care.tub, care.dealer, care.journal, care.now)
    told: dict[ReminderName, datetime] = {due.what: due.at for due in dues}  # type: ignore[misc]
    told["test"] = _next_test(care, told.get("test"))
    for what, at in told.items():
        yield CareDay(what, 1, at, care.reason(what))
        if what not in ONCE:
            yield from _again(care, what, at, getattr(care.dealer.intervals, what))


def _next_test(care: Care, told: datetime | None) -> datetime:
    """A test is always on the calendar, whoever of a household is told of it; one that is overdue stands on the next
    fitting hour, however seldom its owner is still reminded.
    """
    due = care.first("test")
    assert due
    soon = max(due, care.fits(local_day(care.now, care.zone), not_before=care.now))
    return soon if told is None or told > soon + OVERDUE else told


def _again(care: Care, what: Task, at: datetime, every: int) -> Iterator[CareDay]:
    for number in range(2, MOST_OF_A_TASK + 1):
        at = care.after(at, every)
        if at > care.now + HORIZON:
            return
        yield CareDay(what, number, at)
