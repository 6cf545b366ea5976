"""The calendar as an iCalendar file (RFC 5545), for any calendar program.

An event keeps its UID for good: the third test to come is the same event in every file, so a newer file moves it
instead of adding another. SEQUENCE grows with the time at which a file is made; what is not planned any more is
cancelled in its place. Moments are in UTC (RFC 5545, 3.3.5, form 2): no rule of any zone has to be written or
understood, and a program shows them by its own clock.
"""

import hashlib
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from icalendar import Calendar, Event

from bot.model.enclosure import CalendarFile, Planned, Task

TAKES = timedelta(minutes=30)
"""How long an event with a time of day is shown to take."""
BEGAN = datetime(2020, 1, 1, tzinfo=UTC)
"""SEQUENCE is counted in minutes from here: it fits into 32 bits for four thousand years."""
MAKER = "-//Brimful//Care calendar//EN"


def calendar_file(file: CalendarFile) -> bytes:
    """The file's bytes."""
    calendar = Calendar()
    calendar.add("prodid", MAKER)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", file.title)
    calendar.add("x-wr-timezone", file.zone)
    planned = {(one.task, one.number): one for one in file.planned}
    for task, numbers in file.numbers.items():
        for number in range(1, numbers + 1):
            one = planned.get((task, number))
            calendar.add_component(_cancelled(file, task, number) if one is None else _event(file, one))
    return bytes(calendar.to_ical())


def uid_of(tub: str, task: Task, number: int) -> str:
    """The name of an event for good; the tub's key stays with us, only its digest goes out."""
    return f"{task}-{number}-{hashlib.sha256(tub.encode()).hexdigest()[:20]}@brimful"


def _event(file: CalendarFile, planned: Planned) -> Event:
    event = _named(file, planned.task, planned.number)
    event.add("summary", planned.name)
    if planned.why:
        event.add("description", planned.why)
    if planned.at is None:
        event.add("dtstart", planned.day)
        event.add("dtend", planned.day + timedelta(days=1))
        event.add("transp", "TRANSPARENT")
    else:
        event.add("dtstart", planned.at.astimezone(UTC))
        event.add("dtend", (planned.at + TAKES).astimezone(UTC))
    event.add("status", "CONFIRMED")
    return event


def _cancelled(file: CalendarFile, task: Task, number: int) -> Event:
    event = _named(file, task, number)
    day: date = file.made.astimezone(ZoneInfo(file.zone)).date()
    event.add("summary", file.title)
    event.add("dtstart", day)
    event.add("dtend", day + timedelta(days=1))
    event.add("status", "CANCELLED")
    return event


def _named(file: CalendarFile, task: Task, number: int) -> Event:
    event = Event()
    event.add("uid", uid_of(file.tub, task, number))
    event.add("dtstamp", file.made.astimezone(UTC))
    event.add("last-modified", file.made.astimezone(UTC))
    event.add("sequence", int((file.made - BEGAN) / timedelta(minutes=1)))
    return event
