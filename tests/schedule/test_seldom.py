"""What comes seldom and is reminded of all the same: filter element, purge, cover, frost."""

from datetime import UTC, datetime, timedelta

import pytest

from bot.model.dealer import Dealer
from bot.model.fact import Filled, FilterCared, Plain, ReadingTaken, ReminderAnswered, StartedUp
from bot.model.person import Person
from bot.schedule.calendar import calendar_of
from bot.schedule.reminders import reminders_of
from dosing import Said
from tests.schedule.test_reminders import DEALER, FILL, TUB, journal

BERLIN, MANILA, SYDNEY = "Europe/Berlin", "Asia/Manila", "Australia/Sydney"
"""Frost in November; none; frost in May."""
TESTED = ReadingTaken(values={"fc": Said.value(5.0)}, method="strip")
STARTED: list[tuple[float, Plain]] = [(0, Filled()), (0.1, StartedUp())]


def when(what: str, told: list[tuple[float, Plain]], day: float, where: str = BERLIN) -> datetime | None:
    """When somebody who lives there is reminded of it."""
    person = Person(key="ada", dealer=DEALER.key, name="Ada", role="owner", zone=where)
    dealer = Dealer.model_validate({**DEALER.model_dump(), "intervals": {"refill": 120}})
    dues = reminders_of(person, TUB, dealer, journal(*STARTED, *told), FILL + timedelta(days=day))
    return next((due.at for due in dues if due.what == what), None)


def days(moment: datetime | None) -> int | None:
    return None if moment is None else round((moment - FILL).total_seconds() / 86400)


def said(what: str, answer: str) -> ReminderAnswered:
    return ReminderAnswered.model_validate({"what": what, "answer": answer})


@pytest.mark.parametrize(("what", "every"), [("replace", 365), ("cover", 90)])
def test_filter_element_and_cover_are_counted_from_when_they_were_done(what: str, every: int) -> None:
    assert days(when(what, [], 1)) == pytest.approx(every, abs=1)
    assert days(when(what, [(100, said(what, "done"))], 101)) == pytest.approx(100 + every, abs=1)


def test_a_new_filter_element_told_of_in_words_counts() -> None:
    assert days(when("replace", [(50, FilterCared(what="replace"))], 51)) == pytest.approx(415, abs=1)


def test_the_pipes_are_purged_on_the_evening_before_the_water_is_changed_and_once() -> None:
    refill, purge = when("refill", [], 100), when("purge", [], 100)
    assert refill
    assert purge
    assert refill - purge == timedelta(days=1)
    assert when("purge", [(117, said("purge", "done"))], 117.5) is None
    assert when("purge", [], 121) is None


@pytest.mark.parametrize(("where", "month"), [(BERLIN, 11), (SYDNEY, 5), (MANILA, None)])
def test_frost_is_spoken_of_before_the_winter_of_where_somebody_lives(where: str, month: int | None) -> None:
    found = when("winter", [], 10, where)
    assert (found.month if found else None) == month


def test_who_is_ready_for_frost_hears_of_it_again_in_a_year() -> None:
    autumn = (datetime(2027, 11, 2, tzinfo=UTC) - FILL) / timedelta(days=1)
    found = when("winter", [(autumn, said("winter", "done"))], autumn + 1)
    assert found
    assert (found.year, found.month) == (2028, 11)
    late = when("winter", [(autumn, said("winter", "sent"))], autumn + 1)
    assert late
    assert late.year == 2027


def test_each_is_on_the_calendar_as_it_is_reminded_of() -> None:
    person = Person(key="ada", dealer=DEALER.key, name="Ada", role="owner", zone=BERLIN)
    shown = {day.what for day in calendar_of(person, TUB, DEALER, journal(*STARTED, (1, TESTED)), FILL)}
    assert {"replace", "purge", "cover", "winter"} <= shown
