"""Local time is what people live by: one date and one time of day are one moment, on every day of every zone."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo, available_timezones

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.model.dealer import Quiet
from bot.schedule.local import allowed, at_local, fitting, fitting_time, in_quiet_hours, is_quiet, local_day

ZONES = st.sampled_from(sorted(available_timezones())).map(ZoneInfo)
DAYS = st.dates(date(2000, 1, 1), date(2036, 12, 31))
CLOCKS = st.times().map(lambda clock: clock.replace(second=0, microsecond=0, fold=0))
QUIET = st.builds(Quiet, start=CLOCKS, end=CLOCKS)
MOMENTS = st.datetimes(datetime(2000, 1, 1), datetime(2036, 12, 31)).map(lambda moment: moment.replace(tzinfo=UTC))  # noqa: DTZ001

GAPS = [
    ("Europe/Paris", date(2027, 3, 28), time(2, 30), time(3, 0)),
    ("America/Chicago", date(2027, 3, 14), time(2, 30), time(3, 0)),
    ("Australia/Lord_Howe", date(2027, 10, 3), time(2, 15), time(2, 30)),
    ("America/Havana", date(2027, 3, 14), time(0, 20), time(1, 0)),
]
FOLDS = [
    ("Europe/Paris", date(2027, 10, 31), time(2, 30), timedelta(hours=2)),
    ("America/Chicago", date(2027, 11, 7), time(1, 30), timedelta(hours=-5)),
    ("Australia/Lord_Howe", date(2027, 4, 4), time(1, 45), timedelta(hours=11)),
]


@pytest.mark.parametrize(("name", "day", "clock", "first"), GAPS)
def test_a_time_that_summer_time_skips_is_the_first_that_exists(name: str, day: date, clock: time, first: time) -> None:
    local = at_local(day, clock, ZoneInfo(name)).astimezone(ZoneInfo(name))
    assert (local.date(), local.time()) == (day, first)


@pytest.mark.parametrize(("name", "day", "clock", "offset"), FOLDS)
def test_a_time_that_comes_twice_is_the_first_of_both(name: str, day: date, clock: time, offset: timedelta) -> None:
    local = at_local(day, clock, ZoneInfo(name)).astimezone(ZoneInfo(name))
    assert (local.time(), local.utcoffset()) == (clock, offset)


def test_a_day_that_a_country_left_out_begins_with_the_next_one() -> None:
    apia = ZoneInfo("Pacific/Apia")
    assert at_local(date(2011, 12, 30), time(9), apia).astimezone(apia) == datetime(2011, 12, 31, tzinfo=apia)


def test_nine_in_the_morning_stays_nine_in_the_morning_over_both_changes() -> None:
    paris = ZoneInfo("Europe/Paris")
    days = [date(2027, 3, 26) + timedelta(days=ahead) for ahead in range(250)]
    assert {at_local(day, time(9), paris).astimezone(paris).time() for day in days} == {time(9)}


@given(ZONES, DAYS, CLOCKS)
def test_every_time_of_every_day_is_shown_by_the_clock_or_lies_in_a_gap(zone: ZoneInfo, day: date, clock: time) -> None:
    moment = at_local(day, clock, zone)
    shown = moment.astimezone(zone).replace(tzinfo=None)
    wanted = datetime.combine(day, clock)
    assert shown >= wanted
    if shown != wanted:
        just_before = (moment - timedelta(seconds=1)).astimezone(zone).replace(tzinfo=None)
        assert just_before < wanted


@given(ZONES, DAYS, CLOCKS, CLOCKS)
def test_a_later_time_of_a_day_never_comes_earlier_unless_the_hour_repeats(
    zone: ZoneInfo, day: date, one: time, other: time
) -> None:
    first, second = sorted((one, other))
    moments = at_local(day, first, zone), at_local(day, second, zone)
    repeats = moments[0].astimezone(zone).utcoffset() != moments[1].astimezone(zone).utcoffset()
    assert moments[0] <= moments[1] or repeats


@given(MOMENTS, QUIET, ZONES)
def test_what_is_allowed_is_never_in_the_quiet_hours_nor_more_than_two_days_later(
    moment: datetime, quiet: Quiet, zone: ZoneInfo
) -> None:
    found = allowed(moment, quiet, zone)
    skipped = found.astimezone(zone).time() != quiet.end
    assert found == moment or not (in_quiet_hours(found, quiet, zone) and skipped)
    assert moment <= found <= moment + timedelta(hours=49)


@given(QUIET)
def test_a_fitting_time_is_outside_the_quiet_hours(quiet: Quiet) -> None:
    assert not is_quiet(fitting_time(quiet), quiet)


@given(DAYS, QUIET, ZONES)
def test_a_fitting_moment_lies_on_its_day(day: date, quiet: Quiet, zone: ZoneInfo) -> None:
    moment = fitting(day, quiet, zone)
    assert local_day(moment, zone) - day <= timedelta(days=1)
    assert local_day(moment, zone) >= day


@pytest.mark.parametrize(
    ("clock", "quiet"),
    [(time(23), True), (time(3), True), (time(8, 59), True), (time(9), False), (time(19, 59), False)],
)
def test_quiet_hours_may_run_over_midnight(clock: time, quiet: bool) -> None:
    assert is_quiet(clock, Quiet(start=time(20), end=time(9))) is quiet


def test_equal_ends_mean_no_quiet_hours() -> None:
    assert not is_quiet(time(3), Quiet(start=time(0), end=time(0)))
