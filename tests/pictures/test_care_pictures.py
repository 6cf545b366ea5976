"""A chart and a calendar for a phone, and a calendar file that any program reads the same way."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from dateutil.parser import isoparse
from icalendar import Calendar

from bot.model.enclosure import CalendarDrawing, CalendarFile, Chart, Mark, Panel, Planned, Row, Task
from bot.pictures.make import make

NOW = datetime(2027, 3, 20, 8, tzinfo=UTC)
BERLIN = ZoneInfo("Europe/Berlin")


def size(content: bytes) -> tuple[int, int]:
    assert content.startswith(b"\x89PNG\r\n\x1a\n")
    return int.from_bytes(content[16:20]), int.from_bytes(content[20:24])


def mark(days: float, low: float | None, likely: float, high: float | None) -> Mark:
    return Mark(at=NOW - timedelta(days=days), low=low, likely=likely, high=high)


def chart(*marks: Mark, rows: tuple[Row, ...] = ()) -> Chart:
    return Chart(
        title="Your water",
        fine="in range",
        panels=(Panel(name="pH", fine=(7.2, 7.8), marks=marks), Panel(name="none", fine=(3.0, 10.0), marks=())),
        rows=rows,
        since=NOW - timedelta(days=20),
        until=NOW,
        language="en",
        zone="Europe/Berlin",
    )


def test_a_chart_is_as_wide_as_a_phone_and_grows_with_what_happened() -> None:
    marks = (mark(9, 7.0, 7.2, 7.5), mark(4, 8.1, 8.4, None), mark(1, None, 6.7, 6.8))
    plain = make(chart(*marks))
    busy = make(chart(*marks, rows=(Row(name="Bathed", at=(NOW - timedelta(days=3),)),)))
    assert plain.form == "picture"
    assert size(plain.content)[0] == size(busy.content)[0] == 864
    assert size(busy.content)[1] > size(plain.content)[1]


def test_a_chart_without_a_reading_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one reading"):
        make(chart())


def planned(task: Task, number: int, at: datetime, name: str = "Test the water; rinse, too") -> Planned:
    return Planned(task=task, number=number, day=at.astimezone(BERLIN).date(), at=at, name=name, why="why, then")


def test_a_calendar_picture_is_as_wide_as_a_phone() -> None:
    days = tuple(planned("test", 1 + week, NOW + timedelta(weeks=week)) for week in range(3))
    made = make(CalendarDrawing(title="Care", planned=days, today=date(2027, 3, 20), language="de"))
    width, height = size(made.content)
    assert width == 864
    assert height > width


def file(*days: Planned, made: datetime = NOW, tests: int = 2) -> bytes:
    value = CalendarFile(
        name="brimful.ics",
        title="Care",
        tub="t-secret",
        planned=days,
        numbers={"test": tests, "refill": 1},
        made=made,
        zone="Europe/Berlin",
        language="en",
    )
    return make(value).content


def at_six(day: int, month: int = 3) -> datetime:
    return datetime(2027, month, day, 18, tzinfo=BERLIN)


def test_a_program_that_reads_the_file_shows_six_in_the_evening_before_and_after_the_change_of_clocks() -> None:
    content = file(planned("test", 1, at_six(27)), planned("test", 2, at_six(3, 4)))
    events = [event for event in Calendar.from_ical(content).walk("VEVENT") if event["STATUS"] == "CONFIRMED"]
    shown = [event.decoded("DTSTART").astimezone(BERLIN) for event in events]
    assert [(moment.hour, moment.day) for moment in shown] == [(18, 27), (18, 3)]
    raw = [row.partition(b":")[2].decode() for row in content.splitlines() if row.startswith(b"DTSTART:2")]
    assert [isoparse(text).astimezone(BERLIN).hour for text in raw] == [18, 18]
    assert b"VTIMEZONE" not in content


def test_a_newer_file_moves_the_events_of_the_older_one_and_cancels_what_is_off() -> None:
    older = Calendar.from_ical(file(planned("test", 1, at_six(27)), planned("test", 2, at_six(30))))
    newer = Calendar.from_ical(file(planned("test", 1, at_six(25)), made=NOW + timedelta(hours=1)))
    first = {str(event["UID"]): event for event in older.walk("VEVENT")}
    second = {str(event["UID"]): event for event in newer.walk("VEVENT")}
    assert first.keys() == second.keys()
    assert all(second[uid]["SEQUENCE"] > first[uid]["SEQUENCE"] for uid in first)
    assert sorted(str(event["STATUS"]) for event in second.values()) == ["CANCELLED", "CANCELLED", "CONFIRMED"]
    assert b"t-secret" not in file(planned("test", 1, at_six(27)))


def test_the_file_keeps_to_the_standard() -> None:
    content = file(planned("refill", 1, at_six(27), "Wasser wechseln: " + "sehr lang, " * 20))
    assert all(len(row) <= 75 for row in content.split(b"\r\n"))
    calendar = Calendar.from_ical(content)
    assert str(calendar["VERSION"]) == "2.0"
    for event in calendar.walk("VEVENT"):
        assert {"UID", "DTSTAMP", "DTSTART", "SUMMARY", "SEQUENCE"} <= set(event)
        assert event.decoded("DTSTART") < event.decoded("DTEND")
