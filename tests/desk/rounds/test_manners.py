from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.desk.rounds.choice import deciding
from bot.desk.rounds.manners import delayed, leaves_at, left_out
from bot.model.dealer import Bulk, Dealer, Quiet
from bot.model.person import Address, Person
from bot.model.round import Candidate, Put, Round, RoundKind, Skip, Timing, Wait
from bot.model.zones import zone
from bot.schedule.local import in_quiet_hours

NOW = datetime(2027, 3, 1, 12, tzinfo=UTC)
HOUSE = Dealer(key="house", name="Tidewell Tubs", bulk=Bulk(days=7))
QUIET = Quiet(start=time(20), end=time(9))
ZONES = ["Europe/Berlin", "Europe/Lisbon", "America/Phoenix", "America/New_York", "Australia/Lord_Howe", "Asia/Kolkata"]


MOMENTS = st.integers(0, 700 * 1440).map(lambda minutes: datetime(2026, 1, 1, tzinfo=UTC) + timedelta(minutes=minutes))


def somebody(last_bulk: datetime | None = None, **person: Any) -> Candidate:
    fields = {"address": Address(channel="x", chat="1"), "agreed_at": NOW, **person}
    return Candidate(Person(key="p", dealer="house", name="Ada Byrne", **fields), None, last_bulk=last_bulk)


def a_round(kind: RoundKind = "reminder", **fields: Any) -> Round:
    return Round(key="r", dealer="house", by=None, kind=kind, texts={"en": "Hi {name}"}, made_at=NOW, **fields)


@pytest.mark.parametrize(
    ("candidate", "reminder", "safety", "recall"),
    [
        (somebody(), None, None, None),
        (somebody(standing="stopped"), "stopped", "stopped", None),
        (somebody(standing="blocked"), "blocked", "blocked", "blocked"),
        (somebody(address=None), "no_chat", "no_chat", "no_chat"),
        (somebody(agreed_at=None), "not_agreed", None, None),
        (somebody(paused_until=NOW + timedelta(days=1)), "paused", None, None),
        (somebody(paused_until=NOW), None, None, None),
        (somebody(last_bulk=NOW - timedelta(days=6)), "recent", None, None),
        (somebody(last_bulk=NOW - timedelta(days=7)), None, None, None),
    ],
)
def test_who_is_left_out_of_what(candidate: Candidate, reminder: str | None, safety: str | None, recall: str | None):
    whys = [left_out(kind, candidate, HOUSE, NOW) for kind in ("reminder", "safety", "recall")]
    assert whys == [reminder, safety, recall]


@pytest.mark.parametrize(
    ("name", "leaves"),
    [
        ("Europe/Berlin", "2026-10-25T08:00+00:00"),
        ("Europe/Lisbon", "2026-10-25T09:00+00:00"),
        ("America/Phoenix", "2026-10-25T16:00+00:00"),
        ("America/New_York", "2026-10-25T13:00+00:00"),
    ],
)
def test_a_message_sent_in_the_morning_leaves_when_each_owners_own_quiet_hours_end(name: str, leaves: str):
    """On the day on which clocks change in Europe."""
    sent = datetime(2026, 10, 25, 6, 30, tzinfo=UTC)
    assert leaves_at(a_round(), name, QUIET, 0, sent) == datetime.fromisoformat(leaves)
    assert leaves_at(a_round("safety"), name, QUIET, 0, sent) == sent


@given(
    name=st.sampled_from(ZONES),
    now=MOMENTS,
    start=st.times(),
    end=st.times(),
    timing=st.sampled_from(
        [
            Timing(),
            Timing(how="local", clock=time(2, 30)),
            Timing(how="local", clock=time(10)),
            Timing(how="spread", hours=9),
        ]
    ),
    share=st.floats(0, 1),
)
def test_no_reminder_ever_leaves_in_quiet_hours_or_before_its_time(
    name: str, now: datetime, start: time, end: time, timing: Timing, share: float
):
    quiet = Quiet(start=start.replace(second=0, microsecond=0), end=end.replace(second=0, microsecond=0))
    at = leaves_at(a_round(timing=timing), name, quiet, share, now)
    assert now <= at <= now + timedelta(days=3)
    if quiet.start != quiet.end:
        assert not in_quiet_hours(at, quiet, zone(name))


@given(name=st.sampled_from(ZONES), now=MOMENTS)
def test_a_time_of_day_is_that_of_each_owners_own_zone(name: str, now: datetime):
    at = leaves_at(a_round(timing=Timing(how="local", clock=time(10))), name, QUIET, 0, now)
    assert at.astimezone(zone(name)).time() == time(10)
    assert at - now <= timedelta(days=1, hours=1)


def test_a_day_may_be_named_and_one_that_has_passed_is_the_next_that_comes():
    timing = Timing(how="local", day=date(2027, 3, 9), clock=time(10))
    assert leaves_at(a_round(timing=timing), "UTC", QUIET, 0, NOW) == datetime(2027, 3, 9, 10, tzinfo=UTC)
    timing = Timing(how="local", day=date(2027, 3, 1), clock=time(10))
    assert leaves_at(a_round(timing=timing), "UTC", QUIET, 0, NOW) == datetime(2027, 3, 2, 10, tzinfo=UTC)


def test_what_was_planned_for_a_time_keeps_it_when_it_is_looked_at_again():
    timing = Timing(how="local", clock=time(10))
    began = a_round(timing=timing, started_at=NOW)
    first = leaves_at(began, "UTC", QUIET, 0, NOW)
    assert leaves_at(began, "UTC", QUIET, 0, first) == first


def test_a_round_is_spread_over_its_hours():
    spread = a_round(timing=Timing(how="spread", hours=4), started_at=NOW)
    assert [leaves_at(spread, "UTC", QUIET, share, NOW).hour for share in (0, 0.25, 0.5)] == [12, 13, 14]


def test_the_preview_counts_those_whom_quiet_hours_put_off_by_zone_and_time():
    places = {("Europe/Berlin", time(20), time(9)): 5, ("Asia/Kolkata", time(17), time(9)): 2}
    assert [(name, count) for name, _, count in delayed(a_round(), places, NOW)] == [("Asia/Kolkata", 2)]
    assert list(delayed(a_round("recall"), places, NOW)) == []


def test_what_is_decided_when_somebodys_turn_has_come():
    decide = deciding(a_round(started_at=NOW), HOUSE, NOW)
    assert decide(somebody(standing="stopped")) == Skip("stopped")
    assert isinstance(decide(somebody(zone="America/Phoenix", quiet=QUIET)), Wait)
    put = decide(somebody(quiet=QUIET))
    assert isinstance(put, Put)
    assert (put.message.to, put.message.lane, put.message.round) == ("p", "bulk", "r")


def test_who_has_done_it_meanwhile_is_left_alone():
    again = a_round(started_at=NOW, whom={"untested": 14})
    assert deciding(again, HOUSE, NOW)(somebody()) == Skip("settled")
